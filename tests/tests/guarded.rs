//! Decision rules through the real program: a guarded dimension that only its mean decides, a ratio that refuses the
//! gauge, what the screen, the record and the API say of both, and the same after a restart.
#![allow(missing_docs, clippy::unwrap_used)]

use std::collections::BTreeMap;

use oddleg_tests::daemon::Daemon;
use oddleg_tests::program;
use oddleg_tests::workshop::Workshop;
use serde_json::{Value, json};

/// u of what lasts 0.02 mm, of what repeats 0.03 mm; the figures are those of inspection's own tests.
const KNOWN: &str = r#"
[gauge.caliper-2]
title = "Caliper 300 mm"
bench = "bench-1"
kind = "caliper"
via = "serial"
port = "gauges/caliper-2"
unit = "mm"

[[gauge.caliper-2.uncertainty]]
name = "certificate"
value = "0.04 mm"
spread = "expanded 2"
source = "invented"

[[gauge.caliper-2.uncertainty]]
name = "hand"
value = "0.03 mm"
spread = "normal"
source = "invented"
repeats = true
"#;

const RULES: &str = r#"
[[decision]]
of = "blank.*"
rule = "guarded"

[[decision]]
of = "blank.height"
rule = "ratio 8"
"#;

fn bench(daemon: &Daemon) -> Value {
    daemon.person.get("/api/bench?bench=bench-1")
}

#[test]
fn an_undecided_dimension_stays_open_until_its_mean_is_proved_and_a_coarse_gauge_is_refused() {
    let workshop = Workshop::plate(KNOWN);
    let part = workshop.path().join("parts/P1.toml");
    let written = std::fs::read_to_string(&part).unwrap();
    std::fs::write(&part, format!("{written}{RULES}")).unwrap();
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    let mut caliper = daemon.plug("caliper-2", &workshop.port("caliper-2"));
    daemon.person.post(
        "/api/bench",
        &json!({"bench": "bench-1", "piece": "P1/1", "stage": "blank"}),
    );
    // 286 ± 0.5 mm: 286.46 lies 0.04 mm inside, and a mean of five is what proves it (ISO 14253-1:2017, g = 1.65 u).
    for n in 1..=4 {
        daemon.hears(&mut caliper, b"286.46 mm\r");
        let last = &bench(&daemon)["last"];
        assert_eq!(last["verdict"], "undecided", "{n}: {last}");
        assert_eq!(last["grounds"]["to_settle"]["readings"], 5);
        assert_eq!(bench(&daemon)["due"]["id"], "blank.width");
    }
    let page = daemon.person.text("/bench/bench-1");
    assert!(page.contains("measure it once more"), "{page}");
    let proved = daemon.hears(&mut caliper, b"286.46 mm\r");
    let last = bench(&daemon)["last"].clone();
    assert_eq!(last["verdict"], "pass", "{last}");
    assert_eq!(last["grounds"]["mean"]["of"].as_array().unwrap().len(), 5);
    assert_eq!(last["grounds"]["uncertainty"], "0.02408319 mm");
    // T 1 mm over 4 × 0.036056 mm is 6.9 to 1.
    daemon.hears(&mut caliper, b"171.00 mm\r");
    let last = bench(&daemon)["last"].clone();
    assert_eq!(last["verdict"], "undecided", "{last}");
    assert_eq!(last["grounds"]["lacking"], json!({"too-coarse": 69}));
    assert!(daemon.person.text("/bench/bench-1").contains("6.9 to 1"));
    // The same after a restart, on the screen and in the record.
    let before = bench(&daemon)["progress"].clone();
    drop(daemon);
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    assert_eq!(bench(&daemon)["progress"], before);
    let out = workshop.path().join("build.csv");
    let run = program::run(["record".as_ref(), workshop.path(), "--out".as_ref(), &out]);
    assert_eq!(run.code, Some(0), "{}", run.complained);
    let row: BTreeMap<String, String> = csv::Reader::from_path(&out)
        .unwrap()
        .deserialize::<BTreeMap<String, String>>()
        .map(Result::unwrap)
        .find(|row| row["seq"] == proved.to_string() && row["kind"] == "observation")
        .unwrap();
    assert_eq!(
        (row["rule"].as_str(), row["verdict"].as_str()),
        ("guarded 95 %", "pass")
    );
    assert!(
        row["judged_mean"].starts_with("286.46 mm of entries "),
        "{row:?}"
    );
    assert_eq!(row["accept_upper"], "286.4602 mm");
    assert!(row["chance"].ends_with("likely within"), "{row:?}");
}

#[test]
fn every_mistake_in_rules_and_uncertainties_is_told_with_its_line() {
    let wrong = r#"
[gauge.caliper-2]
bench = "bench-1"
kind = "caliper"
via = "serial"
port = "gauges/caliper-2"
unit = "mm"
typed_from = ["caliper-1"]

[[gauge.caliper-2.uncertainty]]
name = "certificate"
value = "0.04 deg"
spread = "expanded"
source = ""
"#;
    let workshop = Workshop::plate(wrong);
    let part = workshop.path().join("parts/P1.toml");
    let written = std::fs::read_to_string(&part).unwrap();
    let rules = "\n[[decision]]\nof = \"blank.with\"\nrule = \"guarded 50 %\"\n\n[[decision]]\nof = \"blank.widht\"\nrule = \"plain\"\n";
    std::fs::write(&part, format!("{written}{rules}")).unwrap();
    let config = workshop.path().join("oddleg.toml");
    let written = std::fs::read_to_string(&config).unwrap();
    let written = written.replace("units = \"mm\"", "units = \"mm\"\ndecision = \"strict\"");
    std::fs::write(&config, written).unwrap();
    let run = program::run(["check".as_ref(), workshop.path()]);
    assert_eq!(run.code, Some(64));
    let told = format!("{}{}", run.said, run.complained);
    for what in [
        "build.decision: found \"strict\"",
        "typed_from: only a gauge with via = \"typed\" has it",
        "uncertainty.value: found 0°02'24\", expected a length above zero",
        "spread: found \"expanded\"",
        "source: found an empty text",
        "rule: found \"guarded 50 %\"",
        "decision.of: found \"blank.widht\", which names nothing of this part",
        "did you mean \"blank.width\"?",
    ] {
        assert!(told.contains(what), "{what}\n{told}");
    }
}
