//! What a person wrote wrongly is told at once, with its place, and nothing is opened; what a program
//! asks wrongly is refused with its reason, and nothing is written.
#![allow(missing_docs, clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::io::Read as _;
use std::net::TcpListener;
use std::path::Path;

use oddleg_tests::daemon::Daemon;
use oddleg_tests::person::{Answer, Person};
use oddleg_tests::program::{self, Run};
use oddleg_tests::workshop::Workshop;
use oddleg_tests::Plugged;
use serde_json::{Value, json};

const CONFIG: &str = "oddleg.toml";
const PART: &str = "parts/B2.toml";

/// A workshop after each `(file, what, instead)` was replaced once; an empty `what` is put at the end.
fn workshop(changes: &[(&str, &str, &str)]) -> Workshop {
    let workshop = Workshop::new("");
    for (file, what, instead) in changes {
        let path = workshop.path().join(file);
        let text = std::fs::read_to_string(&path).unwrap_or_default();
        assert!(text.contains(what), "{what:?} is not in {file}");
        let changed = if what.is_empty() { format!("{text}{instead}") } else { text.replacen(what, instead, 1) };
        std::fs::write(path, changed).unwrap();
    }
    workshop
}

fn check(dir: &Path) -> Run {
    program::run(["check".as_ref(), dir])
}

/// Every file below `dir` with its bytes.
fn files(dir: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in std::fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        let name = path.display().to_string();
        if path.is_dir() {
            found.append(&mut files(&path));
        } else if path.is_file() {
            found.insert(name, std::fs::read(&path).unwrap());
        }
    }
    found
}

#[test]
fn each_mistake_is_told_with_its_line_what_was_found_and_what_was_expected() {
    for (changes, expected) in MISTAKES {
        let workshop = workshop(changes);
        let run = check(workshop.path());
        let said = run.complained.trim_start_matches("oddleg: ").trim_end();
        let mistakes = expected.lines().count();
        let word = if mistakes == 1 { "mistake" } else { "mistakes" };
        assert_eq!(said, format!("{expected}\n{mistakes} {word}; nothing was opened"));
        assert_eq!(run.code, Some(64));
    }
}

/// Changes to a sound build, and what must be said of them.
type Case = (&'static [(&'static str, &'static str, &'static str)], &'static str);

const MISTAKES: &[Case] = &[
];
