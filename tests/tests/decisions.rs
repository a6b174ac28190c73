//! Where fails end and what waits for the first article, on the whole line: by HTTP, in a real browser, after a
//! restart, and in the record. The parts are invented.
#![allow(missing_docs, clippy::unwrap_used)]

#[allow(dead_code, reason = "another test uses the rest")]
mod browser;

use std::collections::BTreeMap;
use std::path::Path;

use browser::Browser;
use oddleg_tests::daemon::Daemon;
use oddleg_tests::person::Person;
use oddleg_tests::workshop::Workshop;
use oddleg_tests::{program, wait};
use serde_json::{Value, json};

/// A workshop of plates in which other pieces wait for the first article.
fn plates() -> Workshop {
    let workshop = Workshop::plate("");
    let config = workshop.path().join("oddleg.toml");
    let text = std::fs::read_to_string(&config).unwrap();
    assert!(text.contains("first_article = \"off\""));
    std::fs::write(&config, text.replace("first_article = \"off\"", "")).unwrap();
    workshop
}

fn started(dir: &Path) -> Daemon {
    Daemon::start(&program::oddleg(), dir)
}

fn lay(person: &Person, piece: &str) -> (u16, Value) {
    let body = json!({"bench": "bench-1", "piece": piece, "stage": "blank"});
    person.try_post("/api/bench", &body).unwrap()
}

fn types(person: &Person, text: &str) -> u64 {
    person.post("/api/readings", &json!({"gauge": "keypad-1", "text": text}))
}

fn piece(person: &Person, name: &str) -> Value {
    let pieces = person.get("/api/pieces");
    let mut all = pieces["pieces"].as_array().unwrap().iter();
    all.find(|p| p["piece"] == name).unwrap().clone()
}

/// The rows of the record of a kind.
fn rows(dir: &Path, kind: &str) -> Vec<BTreeMap<String, String>> {
    let out = dir.join("record.csv");
    let run = program::run(["record".as_ref(), dir, "--out".as_ref(), &out]);
    assert_eq!(run.code, Some(0), "{}", run.complained);
    let mut rows = csv::Reader::from_path(&out).unwrap();
    let all = rows.deserialize::<BTreeMap<String, String>>();
    all.map(Result::unwrap)
        .filter(|row| row["kind"] == kind)
        .collect()
}

#[test]
fn a_fail_is_decided_other_pieces_wait_and_all_of_it_is_there_after_a_restart_and_in_the_record() {
    let workshop = plates();
    let dir = workshop.path();
    let daemon = started(dir);
    let person = &daemon.person;
    // Nobody is named: a reading is recorded all the same, and the screen says so.
    assert_eq!(lay(person, "P1/1").0, 200);
    let fail = types(person, "287.9 mm");
    assert!(
        person
            .text("/bench/bench-1")
            .contains("Nobody is named at this bench.")
    );
    let as_is = |by: Option<&str>| {
        let mut body = json!({
            "bench": "bench-1", "characteristic": "blank.width", "reading": fail,
            "disposition": "use-as-is", "reason": "the skin covers it",
        });
        if let Some(by) = by {
            body["by"] = json!(by);
        }
        person.try_post("/api/dispositions", &body).unwrap()
    };
    let (status, problem) = as_is(None);
    assert_eq!(status, 409, "{problem}");
    assert!(
        problem["detail"]
            .as_str()
            .unwrap()
            .contains("nobody is named"),
        "{problem}"
    );
    assert_eq!(as_is(Some("MK")).0, 200);
    person.works_at("bench-1");
    // One dimension is open: the next piece waits, says for what, and is begun for a reason.
    let (status, problem) = lay(person, "P1/2");
    assert_eq!(status, 409, "{problem}");
    assert_eq!(
        problem["detail"],
        "P1/2 waits for the first article P1/1, which still lacks 1 of 2 at stage blank; finish P1/1 first, or state the reason for beginning P1/2 now"
    );
    assert_eq!(
        piece(person, "P1/2")["waits_for"],
        "the first article P1/1, which lacks 1 of 2 at stage blank"
    );
    let early = json!({"bench": "bench-1", "piece": "P1/2", "stage": "blank", "reason": "the sheet is here today"});
    let early = person.post("/api/bench", &early);
    // Measured until it passed, on the second.
    types(person, "287.8 mm");
    types(person, "286.1 mm");
    person.post(
        "/api/dispositions",
        &json!({"bench": "bench-1", "disposition": "scrap", "reason": "cracked", "by": "RH"}),
    );
    assert_eq!(lay(person, "P1/2").0, 409, "scrapped");
    assert_eq!(lay(person, "P1/1").0, 200);
    let released = types(person, "171.2 mm");
    assert_eq!(piece(person, "P1/1")["complete"], true);
    assert_eq!(lay(person, "P1/3").0, 200, "released");
    let before = [person.get("/api/pieces"), person.get("/api/bench")];
    assert_eq!(daemon.stop(), Some(0));

    let daemon = started(dir);
    let after = [
        daemon.person.get("/api/pieces"),
        daemon.person.get("/api/bench"),
    ];
    assert_eq!(before[0]["pieces"], after[0]["pieces"]);
    for field in [
        "operator", "piece", "complete", "scrapped", "progress", "due",
    ] {
        assert_eq!(before[1][field], after[1][field], "{field}");
    }
    assert_eq!(daemon.stop(), Some(0));

    let decided = rows(dir, "disposition");
    let told: Vec<_> = decided
        .iter()
        .map(|r| [&r["piece"], &r["came"], &r["decided_by"], &r["note"]].map(String::as_str))
        .collect();
    let as_is = format!(
        "use as is of entry {fail} (for the builder's own record; the plans, the designer and the inspector decide)"
    );
    assert_eq!(
        told,
        [
            ["P1/1", &as_is, "MK", "the skin covers it"],
            ["P1/2", "scrap", "RH", "cracked"]
        ]
    );
    let begun = rows(dir, "begun early");
    assert_eq!(
        (
            begun[0]["seq"].as_str(),
            begun[0]["operator"].as_str(),
            begun[0]["note"].as_str()
        ),
        (early.to_string().as_str(), "MK", "the sheet is here today")
    );
    assert_eq!(
        rows(dir, "first article")[0]["note"],
        format!("released by entry {released}")
    );
    let pieces: Vec<_> = rows(dir, "piece")
        .into_iter()
        .map(|r| (r["piece"].clone(), r["note"].clone()))
        .collect();
    assert_eq!(
        pieces[0],
        ("P1/1".into(), "complete: nothing is open".into())
    );
    assert!(pieces[1].1.starts_with("scrapped by RH"), "{pieces:?}");
    let until: Vec<_> = rows(dir, "observation")
        .into_iter()
        .map(|r| r["until_it_passed"].clone())
        .filter(|t| !t.is_empty())
        .collect();
    assert_eq!(until.len(), 1, "{until:?}");
    assert!(until[0].contains("287.8 mm, too large"), "{until:?}");
}

#[test]
fn a_fail_is_decided_and_the_next_piece_refused_and_begun_on_a_phone() {
    let workshop = plates();
    let daemon = started(workshop.path());
    daemon.person.works_at("bench-1");
    assert_eq!(lay(&daemon.person, "P1/1").0, 200);
    types(&daemon.person, "287.9 mm");
    let browser = Browser::phone(360);
    browser.open(&format!("{}/", daemon.person.base));
    let shows = |section: &str, words: &str| {
        wait::until(words, || {
            browser.text(section).contains(words).then_some(())
        });
    };
    assert!(browser.text("#s-decide").contains("What becomes of it?"));
    browser.press("#dispose-1-why");
    browser.write("the skin covers it");
    browser.press("#dispose-1-use-as-is");
    shows("#s-decide", "used as it is: the skin covers it");
    // The next piece is refused where the form says no reason, and the page says why.
    browser.press("#lay-down summary");
    browser.ask("(document.querySelector('#piece').value = 'P1/2')");
    browser.press("#lay");
    shows("#refused", "P1/2 waits for the first article P1/1");
    browser.press("#lay-why");
    browser.write("the sheet is here today");
    browser.press("#lay");
    shows("#s-top", "P1/2");
    shows(
        "#s-decide",
        "begun before its first article was released: the sheet is here today",
    );
    assert_eq!(
        browser.ask("document.documentElement.scrollWidth <= innerWidth"),
        true
    );
}
