//! What was measured stays provable: any change of the history or of a record shows, and names the entry.
#![allow(missing_docs, clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use oddleg_tests::daemon::Daemon;
use oddleg_tests::program::{self, Run};
use oddleg_tests::workshop::Workshop;
use rusqlite::Connection;
use serde_json::json;
use sha2::{Digest as _, Sha256};

/// A build that was measured, and the record that was handed over then.
struct Measured {
    workshop: Workshop,
    record: PathBuf,
    /// A reading that was too large, one that was voided, one that was held and assigned, one dismissed.
    large: u64,
    voided: u64,
    assigned: u64,
    dismissed: u64,
}

impl Measured {
    /// The number of the newest entry.
    fn last(&self) -> i64 {
        let base = Connection::open(self.dir().join("history.db")).unwrap();
        base.query_row("SELECT max(seq) FROM entry", [], |row| row.get(0))
            .unwrap()
    }

    fn new() -> Self {
        let workshop = Workshop::new("");
        let daemon = Daemon::start(&program::oddleg(), workshop.path());
        let mut caliper = daemon.plug("caliper-1", &workshop.port("caliper-1"));
        let person = &daemon.person;
        person.post("/api/bench", &json!({"bench": "bench-1", "operator": "MK"}));
        person.post(
            "/api/bench",
            &json!({"bench": "bench-1", "piece": "B2/1", "stage": "formed"}),
        );
        let large = daemon.hears(&mut caliper, b"+14.31 mm\r");
        let voided = daemon.hears(&mut caliper, b"+12.80 mm\r");
        person.post(
            "/api/voids",
            &json!({"bench": "bench-1", "reading": voided, "reason": "the jaws slipped"}),
        );
        let assigned = daemon.hears(&mut caliper, b"+0.500 mm\r");
        person.post(
            &format!("/api/held/{assigned}"),
            &json!({"bench": "bench-1", "characteristic": "formed.height.left", "unit": "in"}),
        );
        let dismissed = daemon.hears(&mut caliper, b"+700.00 mm\r");
        person.post(
            &format!("/api/held/{dismissed}"),
            &json!({"bench": "bench-1", "dismiss": "measured the bench"}),
        );
        daemon.hears(&mut caliper, b"+1\x003.?1 m\r");
        assert_eq!(daemon.stop(), Some(0));
        let record = workshop.path().join("handed-over.json");
        export(workshop.path(), &record);
        Self {
            workshop,
            record,
            large,
            voided,
            assigned,
            dismissed,
        }
    }

    fn dir(&self) -> &Path {
        self.workshop.path()
    }

    fn verify(&self) -> Run {
        program::run([
            "verify".as_ref(),
            self.dir(),
            "--against".as_ref(),
            &self.record,
        ])
    }
}

fn export(dir: &Path, out: &Path) {
    let run = program::run(["record".as_ref(), dir, "--out".as_ref(), out]);
    assert_eq!(run.code, Some(0), "{}", run.complained);
}

/// Somebody at the database who knows its tables, and takes away what guards them first.
fn tamper(dir: &Path, sql: &str) {
    let base = Connection::open(dir.join("history.db")).unwrap();
    base.execute_batch(
        "DROP TRIGGER entry_update; DROP TRIGGER entry_delete; DROP TRIGGER entry_insert;
         DROP TRIGGER checkpoint_update; DROP TRIGGER checkpoint_delete; DROP TRIGGER checkpoint_insert;",
    )
    .unwrap();
    base.execute_batch(sql).unwrap();
}

#[test]
fn an_unaltered_history_agrees_with_its_record_also_after_it_has_grown() {
    let measured = Measured::new();
    let run = measured.verify();
    assert_eq!(run.code, Some(0), "{}", run.complained);
    let daemon = Daemon::start(&program::oddleg(), measured.dir());
    daemon.person.post(
        "/api/readings",
        &json!({"gauge": "keypad-1", "text": "1/2 in"}),
    );
    assert_eq!(daemon.stop(), Some(0));
    let run = measured.verify();
    assert_eq!(run.code, Some(0), "{}", run.complained);
    assert!(
        run.said.contains("entries are as they were written"),
        "{}",
        run.said
    );
}

#[test]
fn the_database_itself_refuses_accidents() {
    let measured = Measured::new();
    let base = Connection::open(measured.dir().join("history.db")).unwrap();
    for sql in [
        "UPDATE entry SET body = replace(body, '14.31', '13.31')",
        "DELETE FROM entry WHERE seq = 3",
        "INSERT OR REPLACE INTO entry SELECT * FROM entry WHERE seq = 3",
    ] {
        let refused = base.execute_batch(sql).unwrap_err().to_string();
        assert!(
            refused.contains("history") || refused.contains("entry"),
            "{refused}"
        );
    }
    assert_eq!(measured.verify().code, Some(0));
}

#[test]
fn whatever_is_done_to_the_history_shows_and_names_the_entry() {
    // The reading that was too large, 14.31 mm, is entry N; M is the one after it.
    for (deed, sql, told) in [
        (
            "edited",
            "UPDATE entry SET body = replace(body, '14.31', '13.31') WHERE seq = {N}",
            "entry {N}:",
        ),
        ("deleted", "DELETE FROM entry WHERE seq = {N}", "entry {N} is missing"),
        (
            "inserted",
            "UPDATE entry SET seq = -seq WHERE seq > {N}; UPDATE entry SET seq = 1 - seq WHERE seq < 0;
             INSERT INTO entry (seq, leaf, body) SELECT {M}, leaf, body FROM entry WHERE seq = {N}",
            "entry {M}:",
        ),
        (
            "swapped",
            "UPDATE entry SET seq = -1 WHERE seq = {N}; UPDATE entry SET seq = {N} WHERE seq = {M};
             UPDATE entry SET seq = {M} WHERE seq = -1",
            "entry {N}:",
        ),
        (
            "cut off at its end",
            "DELETE FROM entry WHERE seq >= {N}; DELETE FROM checkpoint WHERE size >= {N}",
            "entries {N} to {LAST} are cut off",
        ),
    ] {
        let measured = Measured::new();
        // How many entries there are depends on whether the port was looked for before it was there.
        let last = measured.last();
        let at = |text: &str| {
            let next = measured.large + 1;
            text.replace("{N}", &measured.large.to_string())
                .replace("{M}", &next.to_string())
                .replace("{LAST}", &last.to_string())
        };
        tamper(measured.dir(), &at(sql));
        let run = measured.verify();
        assert_eq!(run.code, Some(65), "{deed}: {}", run.complained);
        assert!(run.complained.contains(&at(told)), "{deed}: {}", run.complained);
    }
}

/// Body and leaf made anew, every checkpoint taken out, the guards put back: consistent in itself.
#[test]
fn a_history_rewritten_as_a_whole_is_told_by_the_record_kept_elsewhere_and_by_nothing_else() {
    let measured = Measured::new();
    let base = Connection::open(measured.dir().join("history.db")).unwrap();
    let guards: String = base
        .query_row(
            "SELECT group_concat(sql, ';') FROM sqlite_schema WHERE type = 'trigger' AND tbl_name IN ('entry', 'checkpoint')",
            [],
            |row| row.get(0),
        )
        .unwrap();
    let seq = i64::try_from(measured.large).unwrap();
    let body: String = base
        .query_row("SELECT body FROM entry WHERE seq = ?1", [seq], |row| {
            row.get(0)
        })
        .unwrap();
    let forged = body.replace("14.31", "13.31");
    assert_ne!(forged, body);
    // RFC 9162, 2.1.1: a leaf is the SHA-256 of 0x00 and the entry.
    let leaf = Sha256::new()
        .chain_update([0])
        .chain_update(&forged)
        .finalize();
    tamper(measured.dir(), "DELETE FROM checkpoint");
    base.execute(
        "UPDATE entry SET body = ?1, leaf = ?2 WHERE seq = ?3",
        (&forged, &leaf[..], seq),
    )
    .unwrap();
    base.execute_batch(&guards).unwrap();
    drop(base);
    let alone = program::run(["verify".as_ref(), measured.dir()]);
    assert_eq!(alone.code, Some(0), "{}", alone.complained);
    assert!(
        alone
            .said
            .contains("no checkpoint kept elsewhere was given"),
        "{}",
        alone.said
    );
    let run = measured.verify();
    assert_eq!(run.code, Some(65), "{}", run.complained);
    let named = format!(
        "entry {}: it is not what the other copy holds",
        measured.large
    );
    assert!(run.complained.contains(&named), "{}", run.complained);
}

#[test]
fn an_edited_record_is_caught() {
    let measured = Measured::new();
    let verify = || program::run(["verify".as_ref(), measured.record.as_path()]);
    assert_eq!(verify().code, Some(0));
    let text = std::fs::read_to_string(&measured.record).unwrap();
    let record: serde_json::Value = serde_json::from_str(&text).unwrap();
    let entries = record["entries"].as_array().unwrap().len();
    for (edit, expected) in [("edited", "14.31"), ("cut", "")] {
        let mut forged = record.clone();
        let list = forged["entries"].as_array_mut().unwrap();
        if edit == "cut" {
            list.remove(entries - 1);
        } else {
            let at = usize::try_from(measured.large).unwrap() - 1;
            let body = list[at]["body"]
                .as_str()
                .unwrap()
                .replace(expected, "13.31");
            list[at]["body"] = json!(body);
        }
        std::fs::write(&measured.record, forged.to_string()).unwrap();
        let run = verify();
        assert_eq!(run.code, Some(65), "{edit}: {}{}", run.said, run.complained);
    }
}

#[test]
fn the_record_has_every_verdict_and_every_correction() {
    let measured = Measured::new();
    let table = measured.dir().join("build.csv");
    export(measured.dir(), &table);
    let rows: Vec<BTreeMap<String, String>> = csv::Reader::from_path(&table)
        .unwrap()
        .deserialize()
        .map(Result::unwrap)
        .collect();
    let row = |seq: u64| {
        let found = rows
            .iter()
            .find(|row| row["kind"] == "observation" && row["seq"] == seq.to_string());
        let row = found.unwrap();
        let changes = row["changes"].split(" (").next().unwrap();
        [
            "came",
            "piece",
            "characteristic",
            "value_mm",
            "lower",
            "upper",
            "verdict",
            "counts",
            "stands",
        ]
        .map(|column| row[column].as_str())
        .into_iter()
        .chain([changes])
        .collect::<Vec<_>>()
        .join(" | ")
    };
    // 1/2 in ± 1/32 in, as the part states it.
    let limits = "11.90625 mm | 13.49375 mm";
    let left = "B2/1 | formed.height.left";
    let after = |seq: u64, what: &str| format!("{what} by entry {}", seq + 1);
    assert_eq!(
        row(measured.large),
        format!("judged: too large | {left} | 14.31 | {limits} | too large | yes | no | ")
    );
    assert_eq!(
        row(measured.voided),
        format!(
            "judged: pass | B2/1 |  | 12.8 |  |  |  | no | no | {}",
            after(measured.voided, "voided")
        )
    );
    assert_eq!(
        row(measured.assigned),
        format!(
            "held: it fits only in another unit: the gauge may be set to the wrong one | {left} | 12.7 | {limits} | pass \
             | yes | yes | {}",
            after(
                measured.assigned,
                "assigned to formed.height.left, its digits read as in,"
            )
        )
    );
    assert_eq!(
        row(measured.dismissed),
        format!(
            "held: it is near nothing that is open on this piece | B2/1 |  | 700 |  |  |  | no | no | {}",
            after(measured.dismissed, "dismissed")
        )
    );
    let record: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(&measured.record).unwrap()).unwrap();
    let changes: Vec<String> = record["changes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|change| {
            format!(
                "{} {} {}",
                change["operator"], change["what"], change["reading"]
            )
        })
        .collect();
    assert_eq!(
        changes,
        [
            format!(r#""MK" "voided" {}"#, measured.voided),
            format!(r#""MK" "assigned" {}"#, measured.assigned),
            format!(r#""MK" "dismissed" {}"#, measured.dismissed),
        ]
    );
}

#[test]
fn a_second_daemon_on_the_same_build_is_refused_while_the_first_runs() {
    let workshop = Workshop::new("");
    let first = Daemon::start(&program::oddleg(), workshop.path());
    let second = [
        "serve".as_ref(),
        workshop.path().as_os_str(),
        "--listen".as_ref(),
        "127.0.0.1:0".as_ref(),
    ];
    let run = program::run(second);
    assert_eq!(run.code, Some(74));
    let expected = format!(
        "another oddleg already serves {}; stop it first",
        workshop.path().display()
    );
    assert!(run.complained.contains(&expected), "{}", run.complained);
    // The first one has not been disturbed; and once it has ended there is nothing in the way.
    first
        .person
        .post("/api/bench", &json!({"bench": "bench-1", "operator": "MK"}));
    assert_eq!(first.stop(), Some(0));
    assert_eq!(
        Daemon::start(&program::oddleg(), workshop.path()).stop(),
        Some(0)
    );
}

#[test]
fn a_history_of_a_newer_format_is_refused_and_stays_as_it_is() {
    let measured = Measured::new();
    let path = measured.dir().join("history.db");
    let base = Connection::open(&path).unwrap();
    let known: i64 = base
        .query_row("PRAGMA user_version", [], |row| row.get(0))
        .unwrap();
    base.pragma_update(None, "user_version", known + 1).unwrap();
    base.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))
        .unwrap();
    drop(base);
    let before = std::fs::read(&path).unwrap();
    for command in ["serve", "verify"] {
        let run = program::run([command.as_ref(), measured.dir()]);
        assert_eq!(run.code, Some(74), "{command}: {}", run.said);
        assert!(
            run.complained
                .contains(&format!("found format {}", known + 1)),
            "{command}: {}",
            run.complained
        );
    }
    assert!(
        std::fs::read(&path).unwrap() == before,
        "the database was changed"
    );
    // Looking at it makes SQLite lay an empty log beside it; nothing may be in there.
    let log = std::fs::metadata(measured.dir().join("history.db-wal"));
    assert_eq!(log.map_or(0, |log| log.len()), 0);
}
