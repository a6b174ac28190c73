//! What a history promises to those who write and read it.

#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod common;

use std::fs;
use std::path::Path;

use common::{ORIGIN, build, fill, key, reading};
use history::{HistoryError, KeyProblem, Reader, VerifierKey, Writer, verify};
use proptest::prelude::*;
use rusqlite::Connection;
use shared_types::{Entry, Seq};

fn raw(dir: &Path) -> Connection {
    Connection::open(dir.join("history.db")).unwrap()
}

fn open_error(dir: &Path) -> HistoryError {
    Writer::open(dir, ORIGIN, drop).expect_err("it must be refused")
}

#[test]
fn what_is_committed_is_replayed_in_order_and_what_is_not_is_gone() {
    let dir = tempfile::tempdir().unwrap();
    let mut writer =
        Writer::open(dir.path(), ORIGIN, |_| panic!("a new history is empty")).unwrap();
    fill(&mut writer, 0, 3000);
    writer.begin().unwrap();
    writer.append(&reading(3001), None).unwrap();
    assert_eq!(writer.newest(), Seq(3000));
    let before = writer.checkpoint();
    assert_eq!(
        before.size, 3000,
        "a checkpoint covers only what is committed"
    );
    drop(writer);

    let mut replayed: Vec<Entry> = Vec::new();
    let writer = Writer::open(dir.path(), "another/name", |entry| replayed.push(entry)).unwrap();
    assert_eq!(writer.origin(), ORIGIN, "the stored name counts");
    assert_eq!(writer.checkpoint(), before);
    assert_eq!(replayed.len(), 3000);
    for (n, entry) in (1..).zip(&replayed) {
        let expected = Entry {
            seq: Seq(n),
            fact: reading(n),
        };
        assert_eq!(entry, &expected);
    }
}

#[test]
fn a_key_is_known_from_its_append_on_over_a_restart_and_beside_a_reader() {
    let dir = tempfile::tempdir().unwrap();
    let mut writer = Writer::open(dir.path(), ORIGIN, drop).unwrap();
    let reader = Reader::open(dir.path()).unwrap();
    assert_eq!(writer.known(&key(1)).unwrap(), None);
    writer.begin().unwrap();
    writer.append(&reading(1), Some(&key(1))).unwrap();
    let known = Some(Entry {
        seq: Seq(1),
        fact: reading(1),
    });
    assert_eq!(writer.known(&key(1)).unwrap(), known);
    assert_eq!(
        reader.newest().unwrap(),
        Seq(0),
        "nothing is seen before its commit"
    );
    writer.commit().unwrap();
    assert_eq!(reader.entry(Seq(1)).unwrap(), known);
    drop(writer);
    let mut writer = Writer::open(dir.path(), ORIGIN, drop).unwrap();
    assert_eq!(writer.known(&key(1)).unwrap(), known);
    assert_eq!(writer.known(&key(2)).unwrap(), None);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn any_text_can_be_a_key(keys in prop::collection::btree_set(any::<String>(), 1..20), control in "[\\x00-\\x20\"\\\\=]{0,6}") {
        let dir = tempfile::tempdir().unwrap();
        let mut writer = Writer::open(dir.path(), ORIGIN, drop).unwrap();
        let mut keys = keys;
        keys.insert(control.clone());
        keys.insert(format!("{control}\0"));
        writer.begin().unwrap();
        for key in &keys {
            prop_assert!(writer.known(key).unwrap().is_none());
            let seq = writer.append(&reading(1), Some(key)).unwrap();
            prop_assert_eq!(writer.known(key).unwrap().map(|e| e.seq), Some(seq));
        }
        writer.commit().unwrap();
        drop(writer);
        verify(dir.path(), &[]).unwrap();
    }
}

#[test]
fn an_empty_batch_writes_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let mut writer = Writer::open(dir.path(), ORIGIN, drop).unwrap();
    fill(&mut writer, 0, 1);
    let log = dir.path().join("history.db-wal");
    // Only the length is looked at: the file itself is never opened.
    let before = fs::metadata(&log).unwrap().len();
    for _ in 0..10 {
        writer.begin().unwrap();
        assert_eq!(writer.commit().unwrap(), Seq(1));
    }
    assert_eq!(fs::metadata(&log).unwrap().len(), before);
    fill(&mut writer, 1, 2);
    assert!(fs::metadata(&log).unwrap().len() > before);
}

#[test]
fn readers_see_entries_bodies_and_the_writers_own_checkpoint() {
    let dir = tempfile::tempdir().unwrap();
    let mut writer = Writer::open(dir.path(), ORIGIN, drop).unwrap();
    let reader = Reader::open(dir.path()).unwrap();
    for (from, to) in [
        (0, 0),
        (0, 1),
        (1, 1000),
        (1000, 1024),
        (1024, 1025),
        (1025, 2500),
    ] {
        if to > from {
            fill(&mut writer, from, to);
        }
        assert_eq!(reader.newest().unwrap(), Seq(to));
        let checkpoint = reader.checkpoint().unwrap();
        assert_eq!(checkpoint, writer.checkpoint());
        assert!(checkpoint.is_signed_by(reader.verifier_key()));
        assert_eq!(checkpoint.to_string().parse(), Ok(checkpoint));
    }
    let after = reader.after(Seq(2497), 2).unwrap();
    assert_eq!(
        after.iter().map(|e| e.seq.0).collect::<Vec<_>>(),
        [2498, 2499]
    );
    assert_eq!(reader.entry(Seq(2501)).unwrap(), None);
    let stored = reader.stored(2..=4).unwrap();
    assert_eq!(
        stored.iter().map(|e| e.seq.0).collect::<Vec<_>>(),
        [2, 3, 4]
    );
    for entry in &stored {
        assert_eq!(history::leaf_hash(entry.body.as_bytes()), entry.leaf);
    }
    let bodies: Vec<String> = reader
        .stored(1..=2500)
        .unwrap()
        .into_iter()
        .map(|e| e.body)
        .collect();
    history::verify_bodies(&bodies, &writer.checkpoint()).unwrap();
}

#[test]
fn people_can_ask_in_sql() {
    let dir = tempfile::tempdir().unwrap();
    build(dir.path(), 40);
    let row: (String, String, String, String, i64, String) = raw(dir.path())
        .query_row(
            "SELECT kind, gauge, piece, characteristic, length_pm, at_utc FROM journal WHERE verdict = 'large' ORDER BY seq LIMIT 1",
            [],
            |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?, r.get(4)?, r.get(5)?)),
        )
        .unwrap();
    let expected = (
        "observed",
        "caliper-1",
        "B2/4",
        "formed.height.left",
        12_850_000_000,
    );
    assert_eq!((&*row.0, &*row.1, &*row.2, &*row.3, row.4), expected);
    assert_eq!(row.5, "2026-11-25 09:47:32");
}

#[test]
fn a_second_writer_is_refused_until_the_first_is_gone() {
    let dir = tempfile::tempdir().unwrap();
    let first = Writer::open(dir.path(), ORIGIN, drop).unwrap();
    let refused = open_error(dir.path());
    assert!(matches!(refused, HistoryError::Locked { .. }), "{refused}");
    assert!(
        refused.to_string().contains(&*dir.path().to_string_lossy()),
        "{refused}"
    );
    drop(first);
    Writer::open(dir.path(), ORIGIN, drop).unwrap();
}

/// Everything in the directory, byte for byte. All connections of this process are closed by then.
fn bytes(dir: &Path) -> Vec<u8> {
    fs::read(dir.join("history.db")).unwrap()
}

#[test]
fn a_newer_history_is_refused_and_not_a_byte_of_it_changes() {
    let dir = tempfile::tempdir().unwrap();
    build(dir.path(), 5);
    raw(dir.path())
        .execute_batch("PRAGMA user_version = 2")
        .unwrap();
    let before = bytes(dir.path());
    for refused in [
        open_error(dir.path()),
        Reader::open(dir.path()).expect_err("it must be refused"),
    ] {
        let newer = matches!(
            refused,
            HistoryError::Newer {
                found: 2,
                known: 1,
                ..
            }
        );
        assert!(newer, "{refused}");
    }
    assert!(verify(dir.path(), &[]).is_err());
    assert_eq!(bytes(dir.path()), before);
    assert!(
        !dir.path().join("history.db-wal").exists()
            || fs::metadata(dir.path().join("history.db-wal"))
                .unwrap()
                .len()
                == 0
    );
}

#[test]
fn a_file_that_is_not_ours_is_refused_and_stays_as_it_is() {
    let foreign = tempfile::tempdir().unwrap();
    raw(foreign.path())
        .execute_batch("CREATE TABLE theirs (x)")
        .unwrap();
    let text = tempfile::tempdir().unwrap();
    fs::write(text.path().join("history.db"), "dear diary, ".repeat(100)).unwrap();
    for dir in [foreign.path(), text.path()] {
        let before = bytes(dir);
        let refused = open_error(dir);
        assert!(matches!(refused, HistoryError::NotOurs { .. }), "{refused}");
        assert_eq!(bytes(dir), before);
        assert!(!dir.join("history.key").exists());
    }
}

#[test]
fn a_creation_that_was_cut_short_is_taken_up_again() {
    let dir = tempfile::tempdir().unwrap();
    build(dir.path(), 1);
    let key = fs::read(dir.path().join("history.key")).unwrap();
    fs::remove_file(dir.path().join("history.db")).unwrap();
    // The key is written, the file made, its log switched on, and the power goes.
    raw(dir.path())
        .execute_batch("PRAGMA journal_mode = WAL")
        .unwrap();
    build(dir.path(), 3);
    assert_eq!(fs::read(dir.path().join("history.key")).unwrap(), key);
    verify(dir.path(), &[]).unwrap();
}

#[test]
fn changing_deleting_replacing_and_skipping_are_refused_by_the_tables() {
    let dir = tempfile::tempdir().unwrap();
    build(dir.path(), 1100);
    let conn = raw(dir.path());
    for statement in [
        "UPDATE entry SET body = body",
        "UPDATE OR REPLACE entry SET seq = 2 WHERE seq = 1",
        "DELETE FROM entry WHERE seq = 1100",
        "INSERT OR REPLACE INTO entry SELECT 1100, leaf, body FROM entry WHERE seq = 1",
        "INSERT OR REPLACE INTO entry (seq, leaf, body) SELECT 1101, leaf, body FROM entry WHERE seq = 1",
        "INSERT INTO entry (seq, leaf, body) VALUES (1102, zeroblob(32), '{}')",
        "INSERT INTO entry (leaf, body) VALUES (zeroblob(32), '{}')",
        "INSERT INTO entry (seq, leaf, body) VALUES (1101, zeroblob(31), '{}')",
        "INSERT INTO entry (seq, leaf, body) VALUES (1101, zeroblob(32), x'7b7d')",
        "UPDATE checkpoint SET note = ''",
        "DELETE FROM checkpoint",
        "INSERT OR REPLACE INTO checkpoint VALUES (1024, '', x'')",
        "UPDATE meta SET value = ''",
        "DELETE FROM meta",
        "INSERT OR REPLACE INTO meta VALUES ('origin', '')",
    ] {
        assert!(conn.execute(statement, []).is_err(), "{statement}");
    }
    // The twin: a row that follows is taken, so it is the reason above that was refused.
    conn.execute(
        "INSERT INTO entry (seq, leaf, body) VALUES (1101, zeroblob(32), '{}')",
        [],
    )
    .unwrap();
}

#[test]
fn without_its_key_a_history_goes_on_unsigned_and_says_so() {
    let dir = tempfile::tempdir().unwrap();
    let signed = build(dir.path(), 2);
    let path = dir.path().join("history.key");
    let own = fs::read(&path).unwrap();

    let elsewhere = tempfile::tempdir().unwrap();
    build(elsewhere.path(), 1);
    type Expect = fn(&KeyProblem) -> bool;
    let cases: [(Option<Vec<u8>>, Expect); 3] = [
        (None, |p| matches!(p, KeyProblem::Missing(_))),
        (Some(b"lost".to_vec()), |p| {
            matches!(p, KeyProblem::Malformed(_))
        }),
        (
            Some(fs::read(elsewhere.path().join("history.key")).unwrap()),
            |p| matches!(p, KeyProblem::Other(_)),
        ),
    ];
    for (n, (content, expect)) in (2..).zip(cases) {
        match content {
            None => fs::remove_file(&path).unwrap(),
            Some(content) => fs::write(&path, content).unwrap(),
        }
        let mut writer = Writer::open(dir.path(), ORIGIN, drop).unwrap();
        assert!(writer.key_problem().is_some_and(expect));
        fill(&mut writer, n, n + 1);
        assert_eq!(writer.checkpoint().signature, None);
        let reader = Reader::open(dir.path()).unwrap();
        assert!(reader.key_problem().is_some_and(expect));
        assert_eq!(reader.checkpoint().unwrap().signature, None);
    }

    fs::write(&path, own).unwrap();
    let mut writer = Writer::open(dir.path(), ORIGIN, drop).unwrap();
    assert!(writer.key_problem().is_none());
    fill(&mut writer, 5, 6);
    assert!(writer.checkpoint().is_signed_by(writer.verifier_key()));
    let verified = verify(dir.path(), &[signed, writer.checkpoint()]).unwrap();
    // Starts without the key kept checkpoints of 3 and 4 entries; the start after the last loss one of 5.
    assert_eq!(
        (verified.given, verified.kept, verified.unsigned),
        (2, 4, 3)
    );
}

#[test]
fn the_key_is_for_its_owner_alone_and_its_public_half_is_plain_text() {
    use std::os::unix::fs::PermissionsExt as _;
    let dir = tempfile::tempdir().unwrap();
    build(dir.path(), 1);
    let mode = fs::metadata(dir.path().join("history.key"))
        .unwrap()
        .permissions()
        .mode();
    assert_eq!(mode & 0o777, 0o600);
    let verifier = Reader::open(dir.path()).unwrap().verifier_key().clone();
    assert_eq!(
        verifier.to_string().parse::<VerifierKey>(),
        Ok(verifier.clone())
    );
    let text = verifier.to_string();
    assert!(text.starts_with("oddleg/saltmarsh+"), "{text}");
    assert!(
        text.replace("oddleg", "evenleg")
            .parse::<VerifierKey>()
            .is_err()
    );
}

#[test]
fn a_damaged_row_stops_the_start_and_is_named() {
    let check = |damage: &str, seq: u64| {
        let dir = tempfile::tempdir().unwrap();
        build(dir.path(), 1500);
        let conn = raw(dir.path());
        conn.execute_batch("DROP TRIGGER entry_update; DROP TRIGGER entry_delete;")
            .unwrap();
        conn.execute_batch(damage).unwrap();
        drop(conn);
        let refused = open_error(dir.path());
        let named = matches!(&refused, HistoryError::Damaged { seq: found, .. } if found.0 == seq);
        assert!(named, "{damage}: {refused}");
    };
    check("UPDATE entry SET body = '{}' WHERE seq = 7", 7);
    check("DELETE FROM entry WHERE seq = 700", 700);
    check("DELETE FROM entry WHERE seq > 1000", 1001);
    check("UPDATE entry SET leaf = zeroblob(32) WHERE seq = 3", 1024);
}

#[test]
fn a_name_that_cannot_stand_in_a_checkpoint_is_refused_before_anything_is_made() {
    for name in ["", "two words", "a+b", "line\nfeed"] {
        let dir = tempfile::tempdir().unwrap();
        let refused = Writer::open(dir.path(), name, drop).expect_err("it must be refused");
        assert!(matches!(refused, HistoryError::Origin { .. }), "{refused}");
        assert!(!dir.path().join("history.db").exists());
    }
}
