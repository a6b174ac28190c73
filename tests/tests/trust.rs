//! Trust in a gauge, through the real program: a check that fails, what it puts in doubt, and a gauge that falls
//! silent.
#![allow(missing_docs, clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::path::Path;

use oddleg_tests::daemon::Daemon;
use oddleg_tests::workshop::Workshop;
use oddleg_tests::{program, wait};
use serde_json::json;

const CHECKED: &str = r#"
[gauge.caliper-2]
title = "Caliper 300 mm"
bench = "bench-1"
kind = "caliper"
via = "serial"
port = "gauges/caliper-2"
unit = "mm"
serial_number = "invented 17"
resolution = "0.01 mm"
limit_of_error = "DIN 862"
check_every = "7 days"
check_against = { "gauge block 25" = "25 mm" }
"#;

/// The entries the record has in doubt, each with the check that puts it there.
fn in_doubt(dir: &Path) -> Vec<(String, String)> {
    let out = dir.join("build.csv");
    let run = program::run(["record".as_ref(), dir, "--out".as_ref(), &out]);
    assert_eq!(run.code, Some(0), "{}", run.complained);
    csv::Reader::from_path(&out)
        .unwrap()
        .deserialize::<BTreeMap<String, String>>()
        .map(Result::unwrap)
        .filter(|row| !row["suspect"].is_empty())
        .map(|row| (row["seq"].clone(), row["suspect"].clone()))
        .collect()
}

#[test]
fn a_failed_check_puts_all_since_the_last_good_one_in_doubt_on_the_page_and_in_the_record() {
    let workshop = Workshop::plate(CHECKED);
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    let person = &daemon.person;
    let mut caliper = daemon.plug("caliper-2", &workshop.port("caliper-2"));
    person.works_at("bench-1");
    person.post(
        "/api/bench",
        &json!({"bench": "bench-1", "piece": "P1/1", "stage": "blank"}),
    );
    let begin = || {
        let check = json!({"gauge": "caliper-2", "against": "gauge block 25"});
        person.post("/api/checks", &check)
    };
    daemon.hears(&mut caliper, b"286.10 mm\r");
    begin();
    daemon.hears(&mut caliper, b"25.01 mm\r");
    let doubted = daemon.hears(&mut caliper, b"171.20 mm\r");
    assert_eq!(in_doubt(workshop.path()), [], "the gauge was right so far");

    begin();
    let failed = daemon.hears(&mut caliper, b"25.04 mm\r");
    let finding = &person.entry(failed)["finding"]["checked"];
    assert_eq!(finding["verdict"], "too-large", "{finding}");
    let page = person.text("/bench/bench-1");
    assert!(page.contains("Do not trust Caliper 300 mm"));
    assert!(page.contains("1 reading of Caliper 300 mm in doubt"));
    assert!(page.contains(&format!("entry {doubted}")));
    let by = format!("by the failed check of its gauge, entry {failed}");
    assert_eq!(in_doubt(workshop.path()), [(doubted.to_string(), by)]);

    // A restart folds the same out of the history; and what is voided is in no doubt.
    drop(daemon);
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    let person = &daemon.person;
    assert!(person.text("/bench/bench-1").contains("in doubt"));
    person.post(
        "/api/voids",
        &json!({"reading": doubted, "reason": "the gauge failed its check"}),
    );
    assert_eq!(in_doubt(workshop.path()), []);
    assert!(!person.text("/bench/bench-1").contains("in doubt"));
}

#[test]
fn a_gauge_that_should_be_heard_and_is_not_is_said_to_be_silent_until_it_is_heard_again() {
    let workshop =
        Workshop::plate(&CHECKED.replace("check_every", "silent_after = \"5 s\"\ncheck_every"));
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    let mut caliper = daemon.plug("caliper-2", &workshop.port("caliper-2"));
    let is = |state: &str| {
        wait::until(state, || {
            (daemon.person.gauge_state("caliper-2") == state).then_some(())
        });
    };
    is("connected");
    is("silent");
    daemon.hears(&mut caliper, b"286.10 mm\r");
    is("connected");
}
