//! Pairs, computed characteristics, match-fit and changed part files, through the real program from the part
//! file to the record. The Saltmarsh parts are invented.
#![allow(missing_docs, clippy::unwrap_used)]

use std::path::Path;

use oddleg_tests::daemon::Daemon;
use oddleg_tests::person::Person;
use oddleg_tests::program;
use oddleg_tests::workshop::Workshop;
use serde_json::{Value, json};

/// A frame whose opening is measured twice and taken as the mean.
fn frame(plus: &str) -> String {
    format!(
        r#"
part = "S2"
title = "Frame with an opening"
quantity = 2

[sheet]
alloy = "5052-H32"
thickness = "0.032 in"

[[characteristic]]
id = "opening.width"
name = "width of the opening"
stage = "formed"
nominal = "286 mm"
plus = "{plus}"
minus = "1 mm"
how = "Inside jaws."

[[derived]]
id = "opening.mean"
name = "mean width of the opening"
mean = "formed.opening.width"
readings = 2
"#
    )
}

/// A web that goes into it, in pairs.
const WEB: &str = r#"
part = "K9"
title = "Web for the frame"
quantity = 2
hands = "pair"

[sheet]
alloy = "5052-H32"
thickness = "0.032 in"

[fit]
into = "S2"
clearance = "0.5 mm"
source = "measured"
width = "formed.opening.width"

[[fit.gap]]
edges = ["left"]
count = 1
largest = "1.0 mm"

[panel]
given = "opening"
height = "171 mm"
"#;

fn lay(person: &Person, piece: &str, stage: &str) {
    person.post(
        "/api/bench",
        &json!({"piece": piece, "stage": stage, "bench": "bench-1"}),
    );
}

fn types(person: &Person, text: &str) -> Value {
    let seq = person.post("/api/readings", &json!({"gauge": "keypad-1", "text": text}));
    person.entry(seq)["finding"].take()
}

fn refused(person: &Person, body: &Value) -> String {
    let (status, problem) = person.try_post("/api/bench", body).unwrap();
    assert_eq!(status, 409, "{problem}");
    problem["detail"].as_str().unwrap().to_owned()
}

/// The kinds of events after an entry, but for gauges that come and go.
fn since(person: &Person, seq: u64) -> Vec<String> {
    let entries = person.get(&format!("/api/history?after={seq}&limit=100"));
    let entries = entries["entries"].as_array().unwrap().iter();
    entries
        .map(|entry| {
            let event = entry["event"].as_object().unwrap();
            event.keys().next().unwrap().clone()
        })
        .filter(|kind| kind != "gauge-seen")
        .collect()
}

fn started(dir: &Path) -> Daemon {
    Daemon::start(&program::oddleg(), dir)
}

#[test]
fn a_web_is_judged_by_the_opening_measured_and_the_record_says_so_and_what_was_computed() {
    let workshop = Workshop::new("");
    let parts = workshop.path().join("parts");
    std::fs::write(parts.join("S2.toml"), frame("1 mm")).unwrap();
    std::fs::write(parts.join("K9.toml"), WEB).unwrap();
    let daemon = started(workshop.path());
    let person = daemon.person.clone();
    lay(&person, "S2/1", "formed");
    let first = types(&person, "286.6 mm");
    assert!(first["judged"].get("derived").is_none(), "{first}");
    let opening = person.newest();
    let second = types(&person, "286.6 mm");
    let mean = &second["judged"]["derived"][0];
    assert_eq!(mean["characteristic"], "formed.opening.mean");
    assert_eq!(mean["from"], json!([opening, opening + 1]));
    assert_eq!(mean["verdict"], "pass");
    // The plan's web is 285 mm wide; this one is made for an opening 0.6 mm wider.
    assert!(
        refused(&person, &json!({"piece": "K9/1R", "stage": "fit-up"})).contains("say which S2")
    );
    let named = person.post("/api/bench", &json!({"piece": "K9/1R", "mate": "S2/1"}));
    let moved = person.entry(named)["finding"]["fitted"]["nominals"].take();
    let moved = moved.as_array().unwrap();
    let width = moved
        .iter()
        .find(|n| n["characteristic"] == "blank.width")
        .unwrap();
    assert_eq!(width["nominal"], json!({"pm": 285_600_000_000_u64}));
    assert_eq!(width["from"], opening + 1, "the reading that stands");
    lay(&person, "K9/1R", "blank");
    person.post("/api/bench", &json!({"next": "blank.width"}));
    let judged = types(&person, "285.6 mm");
    assert_eq!(judged["judged"]["characteristic"], "blank.width");
    assert_eq!(judged["judged"]["verdict"], "pass");
    assert_eq!(judged["judged"]["fitted"], named);
    lay(&person, "K9/1R", "fit-up");
    let gap = types(&person, "0.5 mm");
    assert_eq!(gap["judged"]["into"], "S2/1", "{gap}");
    let page = person.text("/bench/bench-1");
    assert!(page.contains(&format!(
        "Judged by the measured opening of S2/1, entry {named}."
    )));
    assert!(page.contains("<span class=\"hand\">right</span>"));
    assert_eq!(daemon.stop(), Some(0));

    let out = workshop.path().join("build.csv");
    let dir = workshop.path();
    let run = program::run(["record".as_ref(), dir, "--out".as_ref(), out.as_path()]);
    assert_eq!(run.code, Some(0), "{}", run.complained);
    let csv = std::fs::read_to_string(&out).unwrap();
    assert!(
        csv.contains(&format!("by the measured opening of S2/1, entry {named}")),
        "{csv}"
    );
    assert!(
        csv.lines()
            .any(|l| l.starts_with("computed,") && l.contains("formed.opening.mean")),
        "{csv}"
    );
    let run = program::run(["verify".as_ref(), dir]);
    assert_eq!(run.code, Some(0), "{}", run.complained);
    let run = program::run(["nominals".as_ref(), dir, "K9".as_ref()]);
    assert!(
        run.said.contains("made in pairs, 2: K9/1L is a left piece"),
        "{}",
        run.said
    );
    assert!(
        run.said
            .contains("moves one for one with formed.opening.width"),
        "{}",
        run.said
    );
}

#[test]
fn a_changed_part_file_is_told_of_and_one_that_is_gone_is_withdrawn_once() {
    let workshop = Workshop::new("");
    let parts = workshop.path().join("parts");
    std::fs::write(parts.join("S2.toml"), frame("1 mm")).unwrap();
    let daemon = started(workshop.path());
    lay(&daemon.person, "S2/1", "formed");
    for _ in 0..2 {
        types(&daemon.person, "286.6 mm");
    }
    let before = daemon.person.newest();
    assert_eq!(daemon.stop(), Some(0));

    std::fs::write(parts.join("S2.toml"), frame("0.5 mm")).unwrap();
    let daemon = started(workshop.path());
    assert_eq!(since(&daemon.person, before), ["opened", "adopted"]);
    let page = daemon.person.text("/bench/bench-1");
    assert!(page.contains("Limits changed since: "), "{page}");
    let bench = daemon.person.get("/api/bench");
    assert_eq!(bench["outdated"][0], "formed.opening.width");
    assert_eq!(bench["progress"][0]["verdict"], "pass", "as it was judged");
    let before = daemon.person.newest();
    assert_eq!(daemon.stop(), Some(0));

    std::fs::remove_file(parts.join("S2.toml")).unwrap();
    let daemon = started(workshop.path());
    assert_eq!(since(&daemon.person, before), ["opened", "withdrawn"]);
    let says = refused(&daemon.person, &json!({"piece": "S2/2", "stage": "formed"}));
    assert!(
        says.contains("the file of part S2 is no longer in this build"),
        "{says}"
    );
    lay(&daemon.person, "S2/1", "formed");
    assert!(
        daemon
            .person
            .text("/bench/bench-1")
            .contains("The file of part S2 is no longer in this build.")
    );
    let before = daemon.person.newest();
    assert_eq!(daemon.stop(), Some(0));
    let daemon = started(workshop.path());
    assert_eq!(since(&daemon.person, before), ["opened"], "withdrawn once");
    let before = daemon.person.newest();
    assert_eq!(daemon.stop(), Some(0));

    std::fs::write(parts.join("S2.toml"), frame("0.5 mm")).unwrap();
    let daemon = started(workshop.path());
    assert_eq!(since(&daemon.person, before), ["opened", "adopted"]);
    lay(&daemon.person, "S2/2", "formed");
    assert_eq!(daemon.stop(), Some(0));
}
