//! A gauge study through the real program, guided from its first reading to its page.
#![allow(missing_docs, clippy::unwrap_used)]

use std::collections::HashMap;

use oddleg_tests::daemon::Daemon;
use oddleg_tests::program;
use oddleg_tests::workshop::Workshop;
use serde_json::{Value, json};

/// The study of ten pieces, three appraisers and three trials of AIAG's MSA manual (from memory, recomputed), as kept
/// beside the statistics that are tested with it.
const STUDY: &str = include_str!("../../services/trends/tests/data/gauge_study_10x3x3.csv");

const CALIPER: &str = r#"
[gauge.caliper-2]
title = "Caliper 300 mm"
bench = "bench-1"
kind = "caliper"
via = "serial"
port = "gauges/caliper-2"
unit = "mm"
"#;

/// By appraiser and piece, the readings in their order.
fn published() -> HashMap<(String, u64), Vec<&'static str>> {
    let mut values: HashMap<_, Vec<&str>> = HashMap::new();
    for line in STUDY.lines().skip(1) {
        let words: Vec<&str> = line.split(',').collect();
        let place = (words[0].to_owned(), words[2].parse().unwrap());
        values.entry(place).or_default().push(words[3]);
    }
    values
}

/// What the study under way asks for, as programs see it.
fn asked(daemon: &Daemon) -> Value {
    let bench = daemon.person.get("/api/bench?bench=bench-1");
    let gauges = bench["gauges"].as_array().unwrap().clone();
    let of_caliper = gauges.into_iter().find(|gauge| gauge["id"] == "caliper-2");
    of_caliper.unwrap()["study"].clone()
}

#[test]
fn the_published_study_measured_as_the_screen_asks_gives_the_published_figures() {
    let values = published();
    let workshop = Workshop::plate(CALIPER);
    let mut daemon = Daemon::start(&program::oddleg(), workshop.path());
    let mut caliper = daemon.plug("caliper-2", &workshop.port("caliper-2"));
    let begin = json!({
        "bench": "bench-1", "gauge": "caliper-2", "of": "ten <b>strips</b>", "appraisers": "A, B, C",
        "pieces": 10, "trials": 3, "width": "8 mm",
    });
    let begun = daemon.person.post("/api/studies", &begin);
    let address = format!("/studies/{begun}");
    let page = daemon.person.text(&address);
    assert!(
        page.contains("0 of 90") && !page.contains("<b>strips"),
        "{page}"
    );
    for done in 0..90 {
        if done == 40 {
            // Nobody remembers over a stop that readings were of a study; it is gone on with.
            drop(caliper);
            drop(daemon);
            daemon = Daemon::start(&program::oddleg(), workshop.path());
            caliper = daemon.plug("caliper-2", &workshop.port("caliper-2"));
            assert_eq!(asked(&daemon), Value::Null);
            let resume = json!({"bench": "bench-1", "gauge": "caliper-2", "resume": begun});
            daemon.person.post("/api/studies", &resume);
        }
        let asks = asked(&daemon);
        assert_eq!(asks["done"], done);
        let place = (
            asks["appraiser"].as_str().unwrap().to_owned(),
            asks["piece"].as_u64().unwrap(),
        );
        if done % 20 == 1 {
            let says = format!("{} measures piece {}", place.0, place.1);
            assert!(daemon.person.text("/bench/bench-1").contains(&says));
        }
        let trial = usize::try_from(asks["trial"].as_u64().unwrap()).unwrap();
        let shows = format!("{} mm", values[&place][trial - 1]);
        // Through the cable or typed, what the gauge shows is the same.
        if done % 9 == 0 {
            daemon.hears(&mut caliper, format!("{shows}\r").as_bytes());
        } else {
            let typed = json!({"gauge": "caliper-2", "text": shows});
            daemon.person.post("/api/readings", &typed);
        }
    }
    assert_eq!(asked(&daemon), Value::Null, "the last reading ends it");
    let page = daemon.person.text(&address);
    // By ranges 0.20188, 0.22963, 0.30575, 1.10456 and 26.68 %, printed from rounded steps and so right to 2e-4; by variance 0.199933, 0.226838, 0.302373, 1.042327 and
    // 27.86 %. Of a tolerance of 8 mm, 6 GRR is 22.93 % and 22.68 %.
    for figure in [
        "0.2019 mm",
        "0.2297 mm",
        "0.3058 mm",
        "1.1045 mm",
        "26.7 %",
        "0.1999 mm",
        "0.2268 mm",
        "0.3024 mm",
        "1.0423 mm",
        "27.9 %",
        "22.9 %",
        "22.7 %",
        "60 degrees of freedom",
    ] {
        assert!(page.contains(figure), "{figure} in {page}");
    }
    let record = daemon.person.get("/api/record.json");
    let study = &record["studies"][0];
    assert_eq!(
        (&study["entry"], &study["complete"]),
        (&json!(begun), &json!(true))
    );
    let readings = study["readings"].as_array().unwrap();
    assert_eq!(readings.len(), 90);
    assert_eq!(record["pieces"], json!([]), "none of it is of a piece");
}
