//! A writer killed at any moment has lost nothing it had committed. The house's own test kills the
//! whole daemon; this one kills the writer alone, so that a fault here is not looked for there.

#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod common;

use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

use common::{ORIGIN, key, reading};
use history::{Writer, verify};
use shared_types::Seq;

const CYCLES: usize = 8;
const IN_CHILD: &str = "HISTORY_KILL_TEST_DIR";

#[test]
fn a_killed_writer_loses_and_doubles_nothing_it_had_committed() {
    if let Some(dir) = std::env::var_os(IN_CHILD) {
        write_until_killed(Path::new(&dir), Told::AfterCommit);
    }
    let this = "a_killed_writer_loses_and_doubles_nothing_it_had_committed";
    let dir = tempfile::tempdir().unwrap();
    let mut before = 0;
    for cycle in 1..=CYCLES {
        let told = told_until_killed(dir.path(), this, 3 * cycle);
        assert!(
            told > before,
            "cycle {cycle}: the child began again before {before}"
        );
        // Looked at before a writer can repair anything, then by a writer.
        let there = verify(dir.path(), &[]).unwrap().checkpoint.size;
        assert!(
            there >= told,
            "cycle {cycle}: {told} were committed, {there} are there"
        );
        let mut writer = Writer::open(dir.path(), ORIGIN, |entry| {
            assert_eq!(entry.fact, reading(entry.seq.0), "cycle {cycle}");
        })
        .unwrap();
        assert_eq!(writer.newest(), Seq(there));
        for n in 1..=there {
            assert_eq!(writer.known(&key(n)).unwrap().map(|e| e.seq), Some(Seq(n)));
        }
        assert_eq!(writer.known(&key(there + 1)).unwrap(), None);
        before = there;
    }
}

/// The twin: the same ledger catches a writer that tells too early.
#[test]
fn a_writer_that_tells_before_its_commit_is_caught_by_the_ledger() {
    if let Some(dir) = std::env::var_os(IN_CHILD) {
        write_until_killed(Path::new(&dir), Told::AfterAppend);
    }
    let this = "a_writer_that_tells_before_its_commit_is_caught_by_the_ledger";
    let dir = tempfile::tempdir().unwrap();
    let told = told_until_killed(dir.path(), this, 3);
    let there = verify(dir.path(), &[]).unwrap().checkpoint.size;
    assert!(there < told, "{told} were told, {there} are there");
}

/// Runs the test `this` as a child, kills it after it has told `count` times, and returns the newest
/// entry it told, those told between the decision and its end included.
fn told_until_killed(dir: &Path, this: &str, count: usize) -> u64 {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", this, "--nocapture"])
        .env(IN_CHILD, dir)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut told = Vec::new();
    for line in BufReader::new(child.stdout.take().unwrap()).lines() {
        if let Some(seq) = line.unwrap().strip_prefix("told ") {
            told.push(seq.parse().unwrap());
        }
        if told.len() == count {
            child.kill().unwrap();
        }
    }
    child.wait().unwrap();
    assert!(
        told.len() >= count,
        "the child ended by itself after {told:?}"
    );
    told.last().copied().unwrap()
}

#[derive(PartialEq, Eq)]
enum Told {
    AfterCommit,
    AfterAppend,
}

/// The child: batches of many sizes for ever.
fn write_until_killed(dir: &Path, told: Told) -> ! {
    let mut writer = Writer::open(dir, ORIGIN, drop).unwrap();
    for size in (1..40).cycle() {
        let first = writer.newest().0 + 1;
        writer.begin().unwrap();
        for n in first.. {
            writer.append(&reading(n), Some(&key(n))).unwrap();
            if told == Told::AfterAppend {
                println!("\ntold {n}");
            } else if n == first + size {
                break;
            }
        }
        println!("\ntold {}", writer.commit().unwrap());
    }
    unreachable!("the cycle has no end");
}
