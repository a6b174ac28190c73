//! Whoever can write the file can drop the triggers. What they do then is found, and named as closely
//! as can be proved.

#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod common;

use std::path::Path;

use common::{ORIGIN, build, fill};
use history::{
    BodiesFault, Checkpoint, Fault, Reader, VerifyError, Whose, Writer, compare, leaf_hash, verify,
    verify_bodies,
};
use proptest::prelude::*;
use rusqlite::Connection;
use shared_types::Seq;

const COUNT: u64 = 3000;

/// A forger at work: the triggers are dropped before and put back after.
fn forge(dir: &Path, work: impl FnOnce(&Connection)) {
    let conn = Connection::open(dir.join("history.db")).unwrap();
    let triggers: Vec<(String, String)> = conn
        .prepare("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
        .unwrap()
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    for (name, _) in &triggers {
        conn.execute_batch(&format!("DROP TRIGGER {name}")).unwrap();
    }
    work(&conn);
    for (_, text) in &triggers {
        conn.execute_batch(text).unwrap();
    }
}

/// Makes every leaf agree with its body again, and the numbers run without gaps.
fn tidy(conn: &Connection) {
    let rows: Vec<(i64, String)> = conn
        .prepare("SELECT seq, body FROM entry ORDER BY seq")
        .unwrap()
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    conn.execute_batch("BEGIN; DELETE FROM entry;").unwrap();
    for (seq, (_, body)) in (1_i64..).zip(&rows) {
        let leaf = leaf_hash(body.as_bytes());
        conn.execute(
            "INSERT INTO entry (seq, leaf, body) VALUES (?1, ?2, ?3)",
            (seq, leaf, body),
        )
        .unwrap();
    }
    conn.execute_batch("COMMIT").unwrap();
}

/// The statements run as they stand.
fn batch(statements: &str) -> impl FnOnce(&Connection) {
    move |conn| conn.execute_batch(statements).unwrap()
}

const EDIT: &str =
    "UPDATE entry SET body = replace(body, '\"large\"', '\"pass\"') WHERE seq = 1516;";
const SWAP: &str = "UPDATE entry SET seq = -1 WHERE seq = 1500;
     UPDATE entry SET seq = 1500 WHERE seq = 1501; UPDATE entry SET seq = 1501 WHERE seq = -1;";
const INSERT: &str = "UPDATE entry SET seq = -seq WHERE seq > 1500;
     UPDATE entry SET seq = 1 - seq WHERE seq < 0;
     INSERT INTO entry (seq, leaf, body) SELECT 1501, leaf, json_remove(body, '$.k') FROM entry WHERE seq = 1500;";

fn faults(dir: &Path, against: &[Checkpoint]) -> Vec<Fault> {
    match verify(dir, against) {
        Ok(verified) => panic!("not found: {verified:?}"),
        Err(VerifyError::Altered(faults)) => faults.list().to_vec(),
        Err(VerifyError::Unread(error)) => panic!("{error}"),
    }
}

fn kept_bracket(agreed: u64, size: u64) -> Fault {
    Fault::Rewritten {
        agreed,
        size,
        whose: Whose::Kept,
    }
}

fn given_bracket(agreed: u64, size: u64) -> Fault {
    Fault::Rewritten {
        agreed,
        size,
        whose: Whose::Given,
    }
}

/// The twin of all that follows: a history nobody touched passes, against every checkpoint of it, also
/// while its writer goes on.
#[test]
fn ok_an_untouched_history_passes_against_every_checkpoint_of_it() {
    let dir = tempfile::tempdir().unwrap();
    let mut writer = Writer::open(dir.path(), ORIGIN, drop).unwrap();
    let mut given = vec![writer.checkpoint()];
    for (from, to) in [(0, 1), (1, 1024), (1024, 1025), (1025, COUNT)] {
        fill(&mut writer, from, to);
        given.push(writer.checkpoint());
    }
    let verified = verify(dir.path(), &given).unwrap();
    assert_eq!(
        (verified.given, verified.kept, verified.unsigned),
        (5, 2, 0)
    );
    assert_eq!(verified.checkpoint.root, writer.checkpoint().root);
    // Dropping the triggers and putting them back is not what is found below.
    drop(writer);
    forge(dir.path(), |_| ());
    verify(dir.path(), &given).unwrap();
    forge(dir.path(), tidy);
    verify(dir.path(), &given).unwrap();
}

#[test]
fn err_an_edited_body_is_named() {
    let dir = tempfile::tempdir().unwrap();
    let given = build(dir.path(), COUNT);
    forge(dir.path(), batch(EDIT));
    assert_eq!(
        faults(dir.path(), &[given]),
        [Fault::Body { seq: Seq(1516) }]
    );
    assert_eq!(faults(dir.path(), &[]), [Fault::Body { seq: Seq(1516) }]);
}

#[test]
fn err_an_altered_leaf_is_named() {
    let dir = tempfile::tempdir().unwrap();
    build(dir.path(), COUNT);
    forge(
        dir.path(),
        batch("UPDATE entry SET leaf = zeroblob(32) WHERE seq = 2500"),
    );
    assert_eq!(faults(dir.path(), &[]), [Fault::Body { seq: Seq(2500) }]);
}

#[test]
fn err_a_deleted_entry_is_named() {
    let dir = tempfile::tempdir().unwrap();
    build(dir.path(), COUNT);
    forge(
        dir.path(),
        batch("DELETE FROM entry WHERE seq BETWEEN 1500 AND 1501"),
    );
    let missing = Fault::Missing {
        first: Seq(1500),
        last: Seq(1501),
    };
    assert_eq!(faults(dir.path(), &[])[0], missing);
}

#[test]
fn err_swapped_entries_are_bracketed_by_the_checkpoints_kept() {
    let dir = tempfile::tempdir().unwrap();
    build(dir.path(), COUNT);
    forge(dir.path(), batch(SWAP));
    assert_eq!(faults(dir.path(), &[]), [kept_bracket(1024, 2048)]);
}

#[test]
fn err_a_cut_tail_shows_against_a_given_checkpoint_and_only_then() {
    let dir = tempfile::tempdir().unwrap();
    let given = build(dir.path(), COUNT);
    forge(dir.path(), batch("DELETE FROM entry WHERE seq > 2999"));
    let cut = Fault::Cut {
        newest: Seq(2999),
        size: COUNT,
        whose: Whose::Given,
    };
    assert_eq!(faults(dir.path(), &[given]), [cut]);
    // What no anchor outside can prove: said plainly, and pinned here.
    verify(dir.path(), &[]).unwrap();
    forge(dir.path(), batch("DELETE FROM entry WHERE seq > 2000"));
    let cut = Fault::Cut {
        newest: Seq(2000),
        size: 2048,
        whose: Whose::Kept,
    };
    assert_eq!(faults(dir.path(), &[]), [cut]);
}

/// Leaves and numbers are made to agree again: only the checkpoints can tell.
#[test]
fn err_a_consistent_rewrite_is_bracketed_and_named_by_a_copy() {
    for (work, first_unlike) in [
        (EDIT, 1516),
        (SWAP, 1500),
        (INSERT, 1501),
        ("DELETE FROM entry WHERE seq = 1500", 1500),
    ] {
        let dir = tempfile::tempdir().unwrap();
        let given = build(dir.path(), COUNT);
        let reader = Reader::open(dir.path()).unwrap();
        let copy: Vec<(Seq, String)> = reader
            .stored(1..=COUNT)
            .unwrap()
            .into_iter()
            .map(|e| (e.seq, e.body))
            .collect();
        drop(reader);
        assert_eq!(compare(dir.path(), copy.clone()).unwrap(), COUNT);
        forge(dir.path(), |conn| {
            conn.execute_batch(work).unwrap();
            tidy(conn);
        });
        let found = faults(dir.path(), std::slice::from_ref(&given));
        assert_eq!(found[0], kept_bracket(1024, 2048), "{work}");
        assert!(found.len() == 2, "{work}: {found:?}");
        let Err(VerifyError::Altered(unlike)) = compare(dir.path(), copy) else {
            panic!("{work}: the copy does not differ");
        };
        assert_eq!(
            unlike.list()[0],
            Fault::Unlike {
                seq: Seq(first_unlike)
            },
            "{work}"
        );
    }
}

/// A forger with the key, who makes even the kept checkpoints agree, is found by any checkpoint that was
/// kept elsewhere, and by nothing else.
#[test]
fn err_a_forger_with_the_key_is_found_by_what_was_kept_elsewhere() {
    let dir = tempfile::tempdir().unwrap();
    let early = build(dir.path(), 1000);
    let late = {
        let mut writer = Writer::open(dir.path(), ORIGIN, drop).unwrap();
        fill(&mut writer, 1000, COUNT);
        writer.checkpoint()
    };
    let forged = tempfile::tempdir().unwrap();
    std::fs::copy(
        dir.path().join("history.key"),
        forged.path().join("history.key"),
    )
    .unwrap();
    let mut writer = Writer::open(forged.path(), ORIGIN, drop).unwrap();
    fill(&mut writer, 0, 1499);
    writer.begin().unwrap();
    for n in 1500..=COUNT {
        let mut fact = common::reading(n);
        fact.at_us += i64::from(n == 1500);
        writer.append(&fact, Some(&common::key(n))).unwrap();
    }
    writer.commit().unwrap();
    verify(forged.path(), &[]).unwrap();
    assert_eq!(
        faults(forged.path(), &[late, early]),
        [given_bracket(1000, COUNT)]
    );
}

#[test]
fn err_a_forger_without_the_key_cannot_sign() {
    let dir = tempfile::tempdir().unwrap();
    build(dir.path(), COUNT);
    let elsewhere = tempfile::tempdir().unwrap();
    let foreign = build(elsewhere.path(), COUNT);
    let signature = Fault::Signature {
        size: COUNT,
        whose: Whose::Given,
    };
    assert_eq!(
        faults(dir.path(), std::slice::from_ref(&foreign)),
        [signature]
    );
    forge(dir.path(), |conn| {
        let kept = Reader::open(elsewhere.path()).unwrap().kept(COUNT).unwrap();
        conn.execute(
            "UPDATE checkpoint SET note = ?1 WHERE size = 1024",
            [&kept[0]],
        )
        .unwrap();
    });
    let signature = Fault::Signature {
        size: 1024,
        whose: Whose::Kept,
    };
    assert_eq!(faults(dir.path(), &[]), [signature]);
}

#[test]
fn err_kept_checkpoints_that_are_gone_or_altered_are_named() {
    let dir = tempfile::tempdir().unwrap();
    build(dir.path(), COUNT);
    forge(
        dir.path(),
        batch(
            "UPDATE checkpoint SET peaks = zeroblob(32) WHERE size = 2048; DELETE FROM checkpoint WHERE size = 1024",
        ),
    );
    let found = faults(dir.path(), &[]);
    let sizes: Vec<u64> = found
        .iter()
        .map(|fault| match fault {
            Fault::Kept { size, .. } => *size,
            other => panic!("{other}"),
        })
        .collect();
    assert_eq!(sizes, [1024, 2048]);
    forge(
        dir.path(),
        batch("UPDATE checkpoint SET note = 'nothing' WHERE size = 2048"),
    );
    assert!(matches!(
        faults(dir.path(), &[])[1],
        Fault::Kept { size: 2048, .. }
    ));
}

#[test]
fn err_missing_changed_and_added_tables_and_triggers_are_named() {
    for (work, name) in [
        ("DROP TRIGGER entry_delete", "entry_delete"),
        (
            "DROP TRIGGER meta_update; CREATE TRIGGER meta_update BEFORE UPDATE ON meta BEGIN SELECT 1; END",
            "meta_update",
        ),
        (
            "CREATE TRIGGER more AFTER INSERT ON entry BEGIN SELECT 1; END",
            "more",
        ),
        ("DROP INDEX entry_key", "entry_key"),
    ] {
        let dir = tempfile::tempdir().unwrap();
        build(dir.path(), 3);
        Connection::open(dir.path().join("history.db"))
            .unwrap()
            .execute_batch(work)
            .unwrap();
        let found = faults(dir.path(), &[]);
        assert!(
            found.len() == 1 && matches!(&found[0], Fault::Schema(text) if text.contains(name)),
            "{work}: {found:?}"
        );
    }
}

#[test]
fn err_a_table_that_is_gone_is_named() {
    let dir = tempfile::tempdir().unwrap();
    build(dir.path(), 3);
    let conn = Connection::open(dir.path().join("history.db")).unwrap();
    conn.execute_batch("DROP TABLE checkpoint").unwrap();
    let found = faults(dir.path(), &[]);
    assert!(
        matches!(&found[0], Fault::Schema(text) if text.contains("table checkpoint")),
        "{found:?}"
    );
    conn.execute_batch("DROP TRIGGER meta_delete; DELETE FROM meta WHERE name = 'key'")
        .unwrap();
    let refused = verify(dir.path(), &[]).unwrap_err().to_string();
    assert!(refused.contains("whose key is gone"), "{refused}");
}

#[test]
fn err_another_histories_checkpoint_is_told_apart() {
    let dir = tempfile::tempdir().unwrap();
    build(dir.path(), 3);
    let elsewhere = tempfile::tempdir().unwrap();
    let other = Writer::open(elsewhere.path(), "oddleg/other", drop)
        .unwrap()
        .checkpoint();
    assert!(matches!(
        &faults(dir.path(), &[other])[..],
        [Fault::Origin { size: 0, .. }]
    ));
}

#[test]
fn err_a_body_that_is_no_fact_is_named_even_with_its_leaf() {
    let dir = tempfile::tempdir().unwrap();
    build(dir.path(), 3);
    forge(dir.path(), |conn| {
        conn.execute_batch("UPDATE entry SET body = json_set(body, '$.more', 1) WHERE seq = 2")
            .unwrap();
        tidy(conn);
    });
    assert!(matches!(
        &faults(dir.path(), &[])[..],
        [Fault::Unreadable { seq: Seq(2), .. }]
    ));
}

#[test]
fn exported_bodies_pass_as_they_were_and_fail_edited_cut_or_moved() {
    let dir = tempfile::tempdir().unwrap();
    let checkpoint = build(dir.path(), 50);
    let reader = Reader::open(dir.path()).unwrap();
    let bodies: Vec<String> = reader
        .stored(1..=50)
        .unwrap()
        .into_iter()
        .map(|e| e.body)
        .collect();
    verify_bodies(&bodies, &checkpoint).unwrap();
    let check = |alter: fn(&mut Vec<String>), expect: BodiesFault| {
        let mut altered = bodies.clone();
        alter(&mut altered);
        assert_eq!(verify_bodies(&altered, &checkpoint), Err(expect));
    };
    check(
        |b| b[36] = b[36].replace("large", "pass"),
        BodiesFault::Root,
    );
    check(|b| b.swap(3, 4), BodiesFault::Root);
    check(
        |b| drop(b.pop()),
        BodiesFault::Count {
            found: 49,
            expected: 50,
        },
    );
    check(
        |b| b.push(b[0].clone()),
        BodiesFault::Count {
            found: 51,
            expected: 50,
        },
    );
    let mut altered = bodies.clone();
    altered[6] = "{}".to_owned();
    let refused = verify_bodies(&altered, &checkpoint);
    assert!(
        matches!(refused, Err(BodiesFault::Unreadable { seq: Seq(7), .. })),
        "{refused:?}"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(20))]
    /// Made to agree with itself again or not, nothing done to the rows passes a checkpoint kept elsewhere.
    #[test]
    fn err_whatever_is_done_to_any_row_is_found(work in 0_usize..5, row in 1_u64..=60, tidied: bool) {
        let dir = tempfile::tempdir().unwrap();
        let given = build(dir.path(), 60);
        let next = row % 60 + 1;
        let statements = [
            format!("UPDATE entry SET body = json_set(body, '$.t', 1) WHERE seq = {row}"),
            format!("DELETE FROM entry WHERE seq = {row}"),
            format!("DELETE FROM entry WHERE seq >= {row}"),
            format!("INSERT INTO entry (seq, leaf, body) SELECT 61, leaf, json_remove(body, '$.k') FROM entry WHERE seq = {row};
                     UPDATE entry SET seq = -seq WHERE seq >= {row}; UPDATE entry SET seq = {row} WHERE seq = -61;
                     UPDATE entry SET seq = 1 - seq WHERE seq < 0"),
            format!("UPDATE entry SET seq = -1 WHERE seq = {row}; UPDATE entry SET seq = {row} WHERE seq = {next};
                     UPDATE entry SET seq = {next} WHERE seq = -1"),
        ];
        forge(dir.path(), |conn| {
            conn.execute_batch(&statements[work]).unwrap();
            if tidied {
                tidy(conn);
            }
        });
        prop_assert!(!faults(dir.path(), &[given]).is_empty());
    }
}
