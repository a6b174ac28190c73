//! The demo as a newcomer runs it: it tells the story it is meant to tell, and leaves nothing behind.
#![allow(missing_docs, clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

use history::Reader;
use oddleg_tests::{program, wait};
use shared_types::{Event, Seq};

const EXPECTED: &str = include_str!("../../demo-readings/saltmarsh.expected");

/// As `saltmarsh.expected` has it: what a gauge sent, its coming and going, in the order of the history.
fn told(dir: &Path) -> Vec<String> {
    let out = dir.join("build.csv");
    let run = program::run(["record".as_ref(), dir, "--out".as_ref(), &out]);
    assert_eq!(run.code, Some(0), "{}", run.complained);
    let mut told = BTreeMap::new();
    let mut rows = csv::Reader::from_path(&out).unwrap();
    for row in rows.deserialize::<BTreeMap<String, String>>() {
        let row = row.unwrap();
        // How much of a stream is passed over between two readings is no part of the story.
        let is_passed_over = row["came"].starts_with("no reading, ");
        if row["kind"] == "observation" && !is_passed_over {
            // A spreadsheet must not take `+12.90` for a formula: the record puts an apostrophe before it.
            let raw = row["raw"].trim_start_matches('\'');
            let in_the_end = match row["counts"].as_str() {
                "yes" => format!("{} {}", row["characteristic"], row["verdict"]),
                _ => "counts for nothing".to_owned(),
            };
            let line = [&row["gauge"], raw, &row["came"], in_the_end.as_str()].join(" | ");
            told.insert(row["seq"].parse().unwrap(), line);
        }
    }
    for (seq, gauge, state) in plugs(dir) {
        told.insert(seq, format!("{gauge} | {state}"));
    }
    told.into_values().collect()
}

/// Coming and going of gauges after the first piece was laid down.
fn plugs(dir: &Path) -> Vec<(u64, String, String)> {
    let entries = Reader::open(dir).unwrap().after(Seq(0), 1000).unwrap();
    entries
        .iter()
        .skip_while(|entry| !matches!(entry.fact.event, Event::Laid { .. }))
        .filter_map(|entry| match &entry.fact.event {
            Event::GaugeSeen { gauge, state } => Some((
                entry.seq.0,
                gauge.to_string(),
                format!("{state:?}").to_lowercase(),
            )),
            _ => None,
        })
        .collect()
}

/// Columns are aligned for people.
fn without_alignment(line: &str) -> String {
    line.split('|')
        .map(str::trim)
        .collect::<Vec<_>>()
        .join(" | ")
}

#[test]
fn the_capture_leads_to_exactly_what_stands_beside_it() {
    let expected: Vec<String> = EXPECTED
        .lines()
        .filter(|line| !line.starts_with('#') && !line.is_empty())
        .map(without_alignment)
        .collect();
    let tmp = tempfile::tempdir().unwrap();
    let dir = tmp.path().join("build");
    let run = program::run([
        "demo",
        "--once",
        "--pace",
        "1000",
        "--listen",
        "127.0.0.1:0",
        "--dir",
        dir.to_str().unwrap(),
    ]);
    assert_eq!(run.code, Some(0), "{}", run.complained);
    // The address is the real one, not the port 0 that was asked for.
    assert!(
        run.said.contains("http://127.0.0.1:") && !run.said.contains(":0/"),
        "{}",
        run.said
    );
    let told = told(&dir);
    assert_eq!(told, expected, "\n{}\n", told.join("\n"));
    // The story has every kind of trouble that the screen must be able to show.
    for kind in [
        "held: ",
        "too large",
        "too small",
        "garbled: ",
        "unplugged",
        "keypad-1 | 1/2 in | judged: pass",
    ] {
        assert!(
            expected.iter().any(|line| line.contains(kind)),
            "nothing is {kind}"
        );
    }
}

/// The demo plays the capture through ports, MQTT and HTTP; `oddleg replay` runs it through the spine alone.
#[test]
fn a_replay_of_the_capture_leads_to_the_same() {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../demo-readings");
    let tmp = tempfile::tempdir().unwrap();
    let kept = tmp.path().join("kept");
    let run = program::run([
        "replay",
        root,
        &format!("{root}/saltmarsh.capture"),
        "--keep",
        kept.to_str().unwrap(),
    ]);
    assert_eq!(run.code, Some(0), "{}", run.complained);
    let expected: Vec<String> = EXPECTED
        .lines()
        .filter(|line| !line.starts_with('#') && !line.is_empty())
        .map(without_alignment)
        .collect();
    let told = told(&kept);
    assert_eq!(told, expected, "\n{}\n", told.join("\n"));
}

#[test]
fn without_a_directory_of_its_own_nothing_is_left_behind() {
    let tmp = tempfile::tempdir().unwrap();
    let run = Command::new(program::oddleg())
        .args([
            "demo",
            "--once",
            "--pace",
            "1000",
            "--listen",
            "127.0.0.1:0",
        ])
        .env("TMPDIR", tmp.path())
        .output()
        .unwrap();
    assert!(
        run.status.success(),
        "{}",
        String::from_utf8_lossy(&run.stderr)
    );
    assert_eq!(names(tmp.path()), Vec::<String>::new());
}

#[test]
fn interrupted_half_way_it_cleans_up_as_well() {
    let tmp = tempfile::tempdir().unwrap();
    let mut demo = Command::new(program::oddleg())
        .args(["demo", "--listen", "127.0.0.1:0"])
        .env("TMPDIR", tmp.path())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut said = BufReader::new(demo.stdout.take().unwrap()).lines();
    // It plays: a reading has been sent, and most are still to come.
    let sends = said
        .by_ref()
        .map_while(Result::ok)
        .any(|line| line.contains("caliper-1 sends"));
    assert!(sends);
    assert_eq!(names(tmp.path()).len(), 1, "the build has to be somewhere");
    let pid = rustix::process::Pid::from_child(&demo);
    rustix::process::kill_process(pid, rustix::process::Signal::INT).unwrap();
    let ended = wait::until("the demo to end", || demo.try_wait().unwrap());
    assert_eq!(ended.code(), Some(0));
    assert_eq!(names(tmp.path()), Vec::<String>::new());
}

#[test]
fn a_directory_with_anything_in_it_is_refused_and_stays_as_it_is() {
    let tmp = tempfile::tempdir().unwrap();
    std::fs::write(tmp.path().join("oddleg.toml"), "somebody's own").unwrap();
    let run = program::run([
        "demo",
        "--once",
        "--pace",
        "1000",
        "--listen",
        "127.0.0.1:0",
        "--dir",
        tmp.path().to_str().unwrap(),
    ]);
    assert_eq!(run.code, Some(74));
    assert!(
        run.complained.contains(
            "is not empty; the demo never touches a build of yours, name a new directory"
        ),
        "{}",
        run.complained
    );
    assert_eq!(names(tmp.path()), ["oddleg.toml"]);
    let kept = std::fs::read_to_string(tmp.path().join("oddleg.toml")).unwrap();
    assert_eq!(kept, "somebody's own");
}

fn names(dir: &Path) -> Vec<String> {
    let names = std::fs::read_dir(dir).unwrap();
    names
        .map(|name| name.unwrap().file_name().into_string().unwrap())
        .collect()
}
