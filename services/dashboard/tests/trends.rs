//! How a dimension runs from piece to piece, over HTTP: published sets fed as readings give the published limits.
#![allow(clippy::unwrap_used, reason = "whatever fails here fails the test")]

mod common;

use common::many::{WIDTH, adopt, groups, judged, made_often, widths, with_mean};
use common::served::{Served, served_after, served_with};
use common::{id, piece};
use serde_json::Value;
use shared_types::*;

/// NIST/SEMATECH e-Handbook 6.3.2.2: flow rates of ten batches.
const FLOW: [&str; 10] = [
    "49.6", "47.6", "49.9", "51.3", "47.8", "51.2", "52.6", "52.4", "53.6", "52.1",
];

fn path(rest: &str) -> String {
    format!("/trends/B2/{WIDTH}{rest}")
}

async fn json(served: &Served, rest: &str) -> Value {
    let answer = served.get(&format!("/api{}", path(rest))).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    serde_json::from_str(&answer.body).unwrap()
}

/// In millimetres, exactly.
#[track_caller]
fn near(found: &Value, right: &str, off: &str) {
    let pm = |text: &str| Length::parse(text).unwrap().pm();
    let found = found.as_str().expect("a length");
    let apart = (pm(found) - pm(&format!("{right} mm"))).abs();
    assert!(
        apart <= pm(&format!("{off} mm")),
        "{found}, expected {right}"
    );
}

async fn flow() -> Served {
    served_after(|spine| {
        adopt(spine, made_often(30, "50 mm", ["44 mm", "56 mm"]));
        widths(spine, &FLOW);
    })
    .await
}

#[tokio::test]
async fn the_handbooks_batches_give_the_handbooks_limits_of_individuals() {
    let served = flow().await;
    let chart = json(&served, "").await;
    assert_eq!(chart["chart"], "individuals");
    let (readings, ranges) = (&chart["charts"][0], &chart["charts"][1]);
    // Centre 50.81, mean moving range 1.8778, limits 55.8041 and 45.8159 with d2 rounded to 1.128.
    near(&readings["centre"], "50.81", "0.000000001");
    near(&readings["points"][0]["upper"], "55.8041", "0.002");
    near(&readings["points"][0]["lower"], "45.8159", "0.002");
    near(&ranges["centre"], "1.8778", "0.00005");
    assert_eq!(ranges["points"][0]["number"], 2);
    // Readings are exact text, in the order they were measured.
    let values: Vec<&str> = chart["points"]
        .as_array()
        .unwrap()
        .iter()
        .map(|point| point["value"].as_str().unwrap())
        .collect();
    assert_eq!(values, FLOW.map(|digits| format!("{digits} mm")));

    let page = served.get(&path("")).await;
    assert_eq!(page.status, 200);
    for said in [
        "Measured on 10 of 30 pieces",
        "centre <b>50.81 mm</b>",
        "Trial limits: from 10 points",
        "guidance, not acceptance",
        "10 readings are few, take this as a hint: Ppk may be anything from",
        "href=\"/trends\"",
        "href=\"/\"",
    ] {
        let body = page.body.to_lowercase();
        assert!(body.contains(&said.to_lowercase()), "{said}: {}", page.body);
    }
    assert!(!page.body.contains("<script"), "no script is needed");
}

#[tokio::test]
async fn the_handbooks_wafers_give_the_handbooks_limits_of_means_and_ranges() {
    // NIST/SEMATECH e-Handbook, CCXBAR.DAT: twenty days of five wafers, here twenty pieces measured five times.
    let data = include_str!("../../trends/tests/data/CCXBAR.DAT");
    let wafers: Vec<&str> = data
        .lines()
        .skip(25)
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert_eq!(wafers.len(), 100);
    let days: Vec<Vec<&str>> = wafers.chunks(5).map(<[&str]>::to_vec).collect();
    let served = served_after(|spine| {
        let plan = made_often(20, "23.7 mm", ["20 mm", "27 mm"]);
        adopt(spine, with_mean(plan, 5));
        groups(spine, &days);
    })
    .await;
    // Of the characteristic that is read and of its mean alike.
    for rest in ["", ".mean"] {
        let chart = json(&served, rest).await;
        assert_eq!(chart["chart"], "means-ranges");
        let (means, ranges) = (&chart["charts"][0], &chart["charts"][1]);
        near(&means["centre"], "23.726", "0.000000001");
        near(&ranges["centre"], "2.05", "0.000000001");
        // The handbook's A2 is 0.577.
        near(&means["points"][0]["lower"], "22.54315", "0.0005");
        near(&means["points"][0]["upper"], "24.90885", "0.0005");
        assert_eq!(chart["figures"]["readings"], 100);
    }
    let deviations = json(&served, "?chart=means-deviations").await;
    near(&deviations["charts"][0]["centre"], "23.726", "0.000000001");
    assert_eq!(deviations["charts"][1]["what"], "standard deviations");
    let page = served.get(&path("")).await.body;
    assert!(page.contains("100 readings are enough to go by"), "{page}");
    // Single readings of each piece can be asked for all the same: the last stands.
    let single = json(&served, "?chart=individuals").await;
    assert_eq!(single["figures"]["readings"], 20);
}

#[tokio::test]
async fn each_set_of_rules_marks_its_own_points_by_number_shape_and_words() {
    // Eight above the centre: Western Electric's fourth rule; Nelson asks for nine, ISO 7870-2 for seven.
    let digits = [
        "49.0", "49.1", "48.9", "49.0", "49.1", "48.9", "49.0", "49.1", "50.9", "51.1", "51.0",
        "50.9", "51.1", "51.0", "50.9", "51.1",
    ];
    let served = served_after(|spine| {
        adopt(spine, made_often(30, "50 mm", ["44 mm", "51.05 mm"]));
        widths(spine, &digits);
    })
    .await;
    let rules = async |set: &str| {
        let chart = json(&served, &format!("?rules={set}")).await;
        let found = chart["offences"].as_array().unwrap().clone();
        let of = |rule: u64| {
            let mut found = found.iter().filter(|offence| offence["rule"] == rule);
            found.next().map(|offence| offence["points"].clone())
        };
        [of(2), of(4)]
    };
    let run = |length: usize| Some(Value::from((1..=length).collect::<Vec<_>>()));
    assert_eq!(rules("western-electric").await[1], run(8));
    assert_eq!(rules("nelson").await[0], None);
    assert_eq!(rules("iso-7870-2").await[0], run(7));
    let page = served.get(&path("")).await.body;
    assert!(
        page.contains("Rule 4 of Western Electric 1956, eight points on one side of the centre line: 1 (B2/1) to 8 (B2/8)"),
        "{page}"
    );
    // Runs that overlap are one.
    assert!(page.contains("centre line: 9 (B2/9) to 16 (B2/16)"));
    assert!(page.contains("class=\"ring\""), "a shape");
    assert!(page.contains("▲ too large"), "a verdict in words");
    assert_eq!(page.matches("class=\"point over\"").count(), 3);
}

#[tokio::test]
async fn what_is_too_few_is_said_and_not_drawn() {
    let served = served_after(|spine| {
        adopt(spine, made_often(30, "50 mm", ["44 mm", "56 mm"]));
        widths(spine, &FLOW[..7]);
    })
    .await;
    let page = served.get(&path("")).await.body;
    for said in [
        "No limits: 7 points are too few to take limits from, expected 8 or more",
        "No Cp, Cpk, Pp or Ppk: 7 measured, which is too few to say anything; expected 10 or more",
        "No tolerance interval: 7 measured",
    ] {
        assert!(page.contains(said), "{said}: {page}");
    }
    assert!(!page.contains("class=\"control\" d=\"M"), "no limit line");
    let none = served.get("/trends/B2/blank.width").await;
    assert_eq!(none.status, 200);
    assert!(none.body.contains("Not drawn: nothing is measured yet."));
    // The same everywhere is no scatter to go by.
    let served = served_after(|spine| {
        adopt(spine, made_often(30, "50 mm", ["44 mm", "56 mm"]));
        widths(spine, &["50.0"; 12]);
    })
    .await;
    let page = served.get(&path("")).await.body;
    assert!(
        page.contains("all values are alike, expected some scatter, use a finer gauge"),
        "{page}"
    );
}

#[tokio::test]
async fn the_interval_holds_as_many_pieces_as_are_asked_for() {
    let served = flow().await;
    // k2 for ten readings, 95 % of all pieces, 95 % confidence, exact: 3.393 (ISO 16269-6, from memory).
    let factor = |chart: &Value| chart["figures"]["tolerance_interval"]["factor"].as_f64();
    let usual = json(&served, "").await;
    assert!((3.392..3.394).contains(&factor(&usual).unwrap()));
    let more = json(&served, "?coverage=99&confidence=95").await;
    assert!(factor(&more) > factor(&usual));
    for (rest, said) in [
        (
            "?coverage=42",
            "coverage: found \"42\", expected one of 90, 95, 99",
        ),
        (
            "?rules=mine",
            "expected one of western-electric, nelson, iso-7870-2",
        ),
        ("?chart=pie", "expected one of individuals"),
        ("?speed=1", "unknown field"),
    ] {
        let answer = served.get(&format!("/api{}", path(rest))).await;
        assert_eq!(answer.status, 422, "{rest}");
        let plain = answer.body.replace('\\', "");
        assert!(plain.contains(said), "{}", answer.body);
    }
    assert_eq!(served.get("/trends/B2/none").await.status, 404);
    assert_eq!(served.get("/trends/%3Cb%3E/none").await.status, 404);
}

#[tokio::test]
async fn only_what_stands_counts_and_what_was_wanted_otherwise_is_left_out() {
    let served = served_after(|spine| {
        adopt(spine, made_often(30, "51 mm", ["50 mm", "52 mm"]));
        widths(spine, &["50.9", "51.1"]);
        adopt(spine, made_often(30, "50 mm", ["44 mm", "56 mm"]));
        for digits in ["48.0", "49.5"] {
            common::many::read(spine, WIDTH, "B2/4", digits);
        }
        let voided = common::many::read(spine, WIDTH, "B2/5", "50.5");
        let void = Event::Voided {
            bench: common::bench(),
            reading: voided,
            reason: "the jaws slipped".to_owned(),
        };
        spine.write(void, Finding::Noted);
        // Measured again by the plan in force: the last of all.
        common::many::read(spine, WIDTH, "B2/1", "50.1");
    })
    .await;
    let chart = json(&served, "").await;
    let points: Vec<(&str, &str)> = chart["points"]
        .as_array()
        .unwrap()
        .iter()
        .map(|p| (p["piece"].as_str().unwrap(), p["value"].as_str().unwrap()))
        .collect();
    assert_eq!(points, [("B2/4", "49.5 mm"), ("B2/1", "50.1 mm")]);
    assert_eq!(chart["left_out"], 1);
    let page = served.get(&path("")).await.body;
    assert!(page.contains("1 value is left out"), "{page}");
}

#[tokio::test]
async fn a_nominal_that_moved_with_the_mating_piece_is_charted_without_the_movement() {
    let served = served_after(|spine| {
        let mut plan = made_often(30, "50 mm", ["49 mm", "51 mm"]);
        let q = |text| Quantity::parse(text).unwrap();
        plan.characteristics[2].follows = Some(Follows {
            characteristic: id("formed.opening.width"),
            planned: q("51 mm"),
        });
        adopt(spine, plan);
        let mated = spine.write(
            Event::Mated {
                bench: common::bench(),
                piece: piece("B2/1"),
                mate: piece("S2/1"),
            },
            Finding::Fitted {
                nominals: vec![FittedNominal {
                    characteristic: id(WIDTH),
                    nominal: q("50.4 mm"),
                    limits: Limits::new(Some(q("49.4 mm")), Some(q("51.4 mm"))).unwrap(),
                    from: Seq(1),
                }],
            },
        );
        judged(spine, WIDTH, "B2/1", "50.5", Some(mated), Vec::new());
        common::many::read(spine, WIDTH, "B2/2", "50.2");
    })
    .await;
    let chart = json(&served, "").await;
    assert_eq!(chart["points"][0]["value"], "50.5 mm");
    assert_eq!(chart["points"][0]["charted"], "50.1 mm");
    assert_eq!(chart["points"][1]["charted"], "50.2 mm");
    let page = served.get(&path("")).await.body;
    assert!(page.contains("Charted is each value less that movement"));
}

#[tokio::test]
async fn the_list_leads_to_every_dimension_that_is_measured_and_hostile_names_are_escaped() {
    let title = "<script>alert(1)</script> & \"B2\"";
    let served = served_with("fail", title, 1, true).await;
    let list = served.get("/trends").await;
    assert_eq!(list.status, 200);
    let href = format!("href=\"{}\"", path(""));
    assert!(list.body.contains(&href), "{}", list.body);
    assert!(list.body.contains("1 piece, 1 out of limits"));
    assert!(list.body.contains("not measured on any piece yet"));
    let page = served.get(&path("")).await;
    for body in [&list.body, &page.body] {
        assert!(!body.contains("<script>"));
        assert!(body.contains("&lt;script&gt;alert(1)"));
    }
    let bench = served.get("/").await.body;
    assert!(bench.contains("href=\"/trends\""), "a way there");
}
