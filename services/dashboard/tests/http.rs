//! What a person and a program do over HTTP, over a real listener with a real history underneath.
#![allow(clippy::unwrap_used, reason = "whatever fails here fails the test")]

mod common;

use std::sync::Arc;

use common::served::{Served, served, served_with, until};
use common::{Spine, gauge, play};
use dashboard::{Dashboard, serve};
use shared_types::{Event, Unit};
use tokio::net::TcpListener;
use tokio::sync::{mpsc, watch};
use tokio_util::sync::CancellationToken;

#[tokio::test]
async fn a_typed_reading_is_answered_by_its_entry_and_then_on_the_page_the_api_and_the_record() {
    let served = served("pass").await;
    let answer = served
        .json(
            "/api/readings",
            r#"{"gauge":"typed","text":"14.02 mm","id":"a1"}"#,
        )
        .await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let seq = served.newest.borrow().0;
    assert_eq!(answer.body, format!("{{\"seq\":{seq}}}"));

    let page = served.get("/").await;
    assert!(page.body.contains("14.02"), "the number");
    assert!(
        page.body.contains("<strong>too large</strong>"),
        "the verdict in words"
    );
    assert!(
        page.body
            .contains("0.526 mm over its limit. It will be trimmed"),
        "what to do"
    );
    assert!(
        page.body.contains("Go on: 8 · angle of the top flange"),
        "the way on"
    );

    let state: serde_json::Value =
        serde_json::from_str(&served.get("/api/bench").await.body).unwrap();
    assert_eq!(state["last"]["verdict"], "too-large");
    assert_eq!(state["due"]["why"], "just-failed");
    assert_eq!(state["seq"], seq);

    let csv = served.get("/api/record.csv").await;
    assert!(
        csv.body
            .contains(",B2/3,formed,7,height of the top flange,14.02 mm,"),
        "{}",
        csv.body
    );
    let record: serde_json::Value =
        serde_json::from_str(&served.get("/api/record.json").await.body).unwrap();
    let entries = record["entries"].as_array().unwrap();
    assert_eq!(entries.len() as u64, seq);
    let note = record["checkpoint"].as_str().unwrap();
    let checkpoint: history::Checkpoint = note.parse().expect("a checkpoint");
    let bodies: Vec<&str> = entries
        .iter()
        .map(|e| e["body"].as_str().unwrap())
        .collect();
    history::verify_bodies(&bodies, &checkpoint).expect("the record proves itself");
    let cut = &bodies[..bodies.len() - 1];
    assert!(
        history::verify_bodies(cut, &checkpoint).is_err(),
        "a cut record does not"
    );
}

#[tokio::test]
async fn without_javascript_a_form_posts_and_leads_back_to_the_bench() {
    let served = served("pass").await;
    let kind = "application/x-www-form-urlencoded";
    let origin = format!("Origin: http://localhost:{}\r\n", served.port);
    let answer = served
        .post(
            "/api/bench",
            kind,
            "bench=bench-1&next=formed.angle.bottom",
            &origin,
        )
        .await;
    assert_eq!(answer.status, 303);
    assert!(answer.has("location: /bench/bench-1"), "{}", answer.head);
    let page = served.get("/bench/bench-1").await;
    assert!(
        page.body.contains("Measure now, as you picked"),
        "the page a form leads back to shows it"
    );
}

#[tokio::test]
async fn a_held_reading_is_assigned_in_another_unit_and_a_judged_one_voided() {
    let served = served("held").await;
    let state: serde_json::Value =
        serde_json::from_str(&served.get("/api/bench").await.body).unwrap();
    let seq = state["held"][1]["seq"].as_u64().unwrap();
    let path = format!("/api/held/{seq}");
    let body = r#"{"bench":"bench-1","characteristic":"formed.height.top","unit":"in"}"#;
    assert_eq!(served.json(&path, body).await.status, 200);
    let state: serde_json::Value =
        serde_json::from_str(&served.get("/api/bench").await.body).unwrap();
    assert_eq!(state["progress"][6]["verdict"], "pass");
    assert_eq!(state["held"].as_array().unwrap().len(), 1);
    // Digits in a form, a number in JSON: both name an entry.
    let form = format!("reading={seq}&reason=the+jaws+slipped");
    let answer = served
        .post("/api/voids", "application/x-www-form-urlencoded", &form, "")
        .await;
    assert_eq!(answer.status, 303, "{}", answer.body);
    let again = format!(r#"{{"reading":{seq},"reason":"twice"}}"#);
    assert_eq!(
        served.json("/api/voids", &again).await.status,
        404,
        "it does not count any more"
    );
}

#[tokio::test]
async fn a_held_angle_says_what_it_would_be_from_the_other_leg_and_is_judged_so() {
    let served = served("leg").await;
    let page = served.get("/bench/bench-1").await.body;
    for says in [
        "see which leg the angle gauge lay on",
        "as shown, 119.5°",
        "as 60.5°, 180° minus what was shown",
        "as -29.5°, 90° minus what was shown",
        r#"name="form" value="supplement""#,
    ] {
        assert!(page.contains(says), "{says} is not on the page");
    }
    let state: serde_json::Value =
        serde_json::from_str(&served.get("/api/bench").await.body).unwrap();
    let held = &state["held"][0];
    assert_eq!(held["candidates"][0].get("form"), None);
    assert_eq!(held["candidates"][1]["form"], "supplement");
    assert_eq!(held["candidates"][1]["value"], "60°30'00\"");
    let path = format!("/api/held/{}", held["seq"]);
    let body = |form: &str| {
        format!(r#"{{"bench":"bench-1","characteristic":"formed.angle.bottom","form":"{form}"}}"#)
    };
    let refused = served.json(&path, &body("upside-down")).await;
    assert_eq!(refused.status, 422);
    assert!(refused.body.contains("complement, supplement, other-sign"));
    assert_eq!(served.json(&path, &body("supplement")).await.status, 200);
    let state: serde_json::Value =
        serde_json::from_str(&served.get("/api/bench").await.body).unwrap();
    assert_eq!(state["last"]["value"], "60°30'00\"");
    assert_eq!(state["last"]["verdict"], "too-small");
}

#[tokio::test]
async fn a_gauge_that_seems_not_zeroed_says_by_how_much_and_since_when_and_offers_the_check() {
    let served = served("zero").await;
    let page = served.get("/bench/bench-1").await.body;
    for says in [
        "all out by the same amount",
        "All too large by about <strong>1.32 mm</strong>",
        "stays as it is judged; nothing is corrected",
        "the gauge is right, the part is off",
        r#"name="against" value="zero""#,
    ] {
        assert!(page.contains(says), "{says} is not on the page");
    }
    let state: serde_json::Value =
        serde_json::from_str(&served.get("/api/bench").await.body).unwrap();
    assert_eq!(state["held"][0]["offset"]["by"], "1.32 mm");
    assert_eq!(state["held"][0]["offset"]["readings"][1], 10);
}

#[tokio::test]
async fn a_live_stream_gives_the_truth_at_once_and_every_commit_after_with_its_number() {
    let served = served("pass").await;
    let mut live = served.live().await;
    let first = until(&mut live, "s-foot").await;
    assert!(
        first.contains(&format!("id: {}", served.newest.borrow().0)),
        "{first}"
    );
    let answer = served
        .json("/api/readings", r#"{"gauge":"typed","text":"12.7 mm"}"#)
        .await;
    assert_eq!(answer.status, 200);
    let seq = served.newest.borrow().0;
    let next = until(&mut live, &format!("id: {seq}")).await + &until(&mut live, "s-foot").await;
    assert!(next.contains("12.70"), "{next}");
}

#[tokio::test]
async fn with_several_benches_the_first_page_asks_which() {
    let served = served_with("pass", "Float bulkhead, bay 2", 2, true).await;
    let page = served.get("/").await;
    assert!(page.body.contains("Which bench is this?"));
    assert!(page.body.contains("href=\"/bench/bench-2\""));
    assert!(
        served
            .get("/bench/bench-2")
            .await
            .body
            .contains("Nothing lies here")
    );
    assert_eq!(served.get("/?bench=bench-2").await.status, 200);
    assert_eq!(
        served.get("/api/bench").await.status,
        422,
        "a program must say which"
    );
}

#[tokio::test]
async fn nothing_is_shown_before_it_is_committed() {
    // The state handed over at start ends before the newest entry of the history: what is on disk and
    // announced is shown, what was never committed cannot be.
    let dir = tempfile::tempdir().unwrap();
    let mut spine = Spine::open(dir.path(), "Float bulkhead, bay 2", 1);
    play(&mut spine, "pass");
    let shop = spine.shop.clone();
    let (announce, newest) = watch::channel(shop.seq);
    let (sink, mut events) = mpsc::channel(8);
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let port = listener.local_addr().unwrap().port();
    let stop = CancellationToken::new();
    let dashboard = Dashboard {
        dir: dir.path().to_owned(),
        sink,
        newest: newest.clone(),
        fresh: Arc::default(),
        shop,
        type_in: Arc::new(common::type_in),
        asking: dashboard::Asking::default(),
        links: None,
        hosts: Vec::new(),
    };
    let serving = tokio::spawn(serve(listener, dashboard, stop.clone()));
    let served = Served {
        port,
        stop,
        serving,
        newest,
        dir,
    };
    let mut live = served.live().await;
    until(&mut live, "s-foot").await;
    // In the queue, with no commit: no screen has it.
    let posting = served.json("/api/readings", r#"{"gauge":"typed","text":"12.43 mm"}"#);
    let looking = async {
        let submission = events.recv().await.expect("the act");
        assert!(
            !served.get("/").await.body.contains("12.43"),
            "not on disk, not on the page"
        );
        let seq = spine.put(submission.event).unwrap();
        announce.send_replace(seq);
        submission
            .receipt
            .tell(shared_types::Outcome::Committed(seq));
    };
    let (answer, ()) = tokio::join!(posting, looking);
    assert_eq!(answer.status, 200);
    until(&mut live, "12.43").await;
    // Committed by another door, with no post at all.
    let seq = spine
        .put(common::reads("caliper-1", "12.56", Unit::Millimetre))
        .unwrap();
    announce.send_replace(seq);
    until(&mut live, "12.56").await;
    let gone = spine
        .put(Event::GaugeSeen {
            gauge: gauge("caliper-1"),
            state: shared_types::GaugeState::Unplugged,
        })
        .unwrap();
    announce.send_replace(gone);
    until(&mut live, "unplugged").await;
}

#[tokio::test]
async fn the_page_of_a_right_hand_piece_speaks_of_it_and_of_what_its_plan_has_changed_since() {
    let served = served("pair").await;
    let page = served.get("/bench/bench-1").await.body;
    for says in [
        // As title and in the list of pieces in words; as the name a program posts with its letter.
        "<span class=\"hand\">right</span>",
        "<option value=\"B2/1L\">B2/1 left</option>",
        "<option value=\"B2/3R\" selected>B2/3 right (lies here)</option>",
        "on the right piece",
        // What is computed, from which readings, and what it completes.
        "115.52 mm, too large",
        "from 286.02 mm (1) less 170.50 mm (2)",
        "Completes 20 · difference of the two, on the right piece: 115.52 mm, too large.",
        "computed from 1 and 2",
        "Limits changed since: 1 reading of B2/3 right was judged by the revision of",
        "Goes into S2",
        "Judged by the plan. Say which S2 it is tried in.",
        "(its file is gone)",
    ] {
        assert!(page.contains(says), "{says} is not on the page:\n{page}");
    }
    assert!(
        !page.contains("judged by other limits"),
        "the last reading is of the second, whose limits are as they were"
    );
    assert!(
        !page.contains("name=\"next\" value=\"formed.difference\""),
        "what is computed cannot be picked"
    );
    assert!(
        !page.contains("value=\"S2/1\">S2/1</option>"),
        "a piece of a part whose file is gone cannot be begun"
    );
    // The flange that the left piece has on its left is on the right here, in words and on the small picture.
    let next = r#"{"next":"formed.height.left"}"#;
    assert_eq!(served.json("/api/bench", next).await.status, 200);
    let turned = served.get("/bench/bench-1").await.body;
    assert!(turned.contains("the right side marked"), "{turned}");
    let bench: serde_json::Value =
        serde_json::from_str(&served.get("/api/bench").await.body).unwrap();
    assert_eq!(bench["spoken"], "B2/3 right");
    assert_eq!(bench["outdated"].as_array().unwrap().len(), 1);
    let pieces: serde_json::Value =
        serde_json::from_str(&served.get("/api/pieces").await.body).unwrap();
    let named: Vec<&str> = pieces["pieces"].as_array().unwrap()[..3]
        .iter()
        .map(|piece| piece["piece"].as_str().unwrap())
        .collect();
    assert_eq!(named, ["B2/1L", "B2/1R", "B2/2L"]);
}

#[tokio::test]
async fn a_mating_piece_is_named_for_what_lies_there_or_for_the_piece_given() {
    let served = served("pair").await;
    for (body, piece) in [
        (r#"{"mate":"S2/1"}"#, "B2/3R"),
        (r#"{"piece":"B2/4L","mate":"S2/2"}"#, "B2/4L"),
    ] {
        let answer = served.json("/api/bench", body).await;
        assert_eq!(answer.status, 200, "{}", answer.body);
        let after = served.newest.borrow().0 - 1;
        let path = format!("/api/history?after={after}");
        let entries: serde_json::Value =
            serde_json::from_str(&served.get(&path).await.body).unwrap();
        assert_eq!(entries["entries"][0]["event"]["mated"]["piece"], piece);
    }
    for body in [
        r#"{"mate":"S2/1","stage":"fit-up"}"#,
        r#"{"mate":"S2/1","next":"formed.height.top"}"#,
        r#"{"mate":"S2/one"}"#,
    ] {
        assert_eq!(served.json("/api/bench", body).await.status, 422, "{body}");
    }
}

#[tokio::test]
async fn a_dimension_that_no_view_shows_is_said_to_have_no_drawing() {
    let served = served("pass").await;
    let undrawn = "No drawing shows this dimension";
    let lay = r#"{"piece":"B2/4","stage":"blank"}"#;
    for (act, said) in [
        (lay, false),
        (r#"{"next":"blank.height"}"#, true),
        (r#"{"next":"blank.width"}"#, false),
    ] {
        let answer = served.json("/api/bench", act).await;
        assert_eq!(answer.status, 200, "{}", answer.body);
        let page = served.get("/").await.body;
        assert_eq!(page.contains(undrawn), said, "{act}");
    }
}
