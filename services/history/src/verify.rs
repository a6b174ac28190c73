//! Checks a history or an exported record against itself and against checkpoints kept elsewhere.

use std::collections::BTreeSet;
use std::path::Path;

use rusqlite::{Connection, Row};
use shared_types::Seq;

use crate::marks::Marks;
use crate::merkle::{Frontier, leaf_hash};
use crate::schema::{self, Found, Identity, leaf, sql, whole};
use crate::spelling::decode;
use crate::{BodiesFault, Checkpoint, Fault, Faults, HistoryError, VerifyError, place};

/// What was found to be in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verified {
    /// The state checked, unsigned.
    pub checkpoint: Checkpoint,
    /// Checkpoints kept in the database that agree.
    pub kept: u64,
    /// Of these, how many carry no signature.
    pub unsigned: u64,
    /// Checkpoints handed in that agree.
    pub given: u64,
}

/// Checks the history in `dir`: the file, the tables and triggers, every number, body and leaf, every
/// checkpoint kept in it, and every one of `against`.
///
/// It reads alone, beside a running daemon or without one, and never in the daemon's own process.
///
/// # Errors
/// [`VerifyError::Altered`] with every fault found; [`VerifyError::Unread`] where it cannot be read.
pub fn verify(dir: &Path, against: &[Checkpoint]) -> Result<Verified, VerifyError> {
    let (conn, identity) = open(dir)?;
    let mut faults = Faults::default();
    match check(&conn, identity, against, &mut faults) {
        Ok(verified) => faults.none_or(verified),
        // What stops the checks has most likely been named: a table that is gone.
        Err(error) if !faults.list().is_empty() => {
            faults.add(Fault::File(format!("the checks ended early: {error}")));
            Err(VerifyError::Altered(faults))
        }
        Err(error) => Err(HistoryError::from((dir, error)).into()),
    }
}

fn check(
    conn: &Connection,
    identity: Identity,
    against: &[Checkpoint],
    faults: &mut Faults,
) -> rusqlite::Result<Verified> {
    // One view of the database for all checks, whatever a daemon writes meanwhile.
    let view = conn.unchecked_transaction()?;
    check_file(&view, faults);
    check_schema(&view, faults)?;
    let mut kept = Marks::kept(&view, &identity, faults)?;
    let mut given = Marks::given(against, &identity, faults);
    let unsigned = kept.unsigned();
    let frontier = walk(&view, faults, |frontier, faults| {
        kept.meet(frontier, faults);
        given.meet(frontier, faults);
    })?;
    kept.end(&frontier, faults);
    given.end(&frontier, faults);
    Ok(Verified {
        checkpoint: Checkpoint {
            origin: identity.origin,
            size: frontier.size(),
            root: frontier.root(),
            signature: None,
        },
        kept: kept.met,
        unsigned,
        given: given.met,
    })
}

/// Compares the history in `dir` with bodies from another copy or an exported record, entry by entry.
/// This names the very entries that differ, where a checkpoint can only say between which they lie.
/// Returns how many were compared.
///
/// # Errors
/// As [`verify`].
pub fn compare<B: AsRef<str>>(
    dir: &Path,
    bodies: impl IntoIterator<Item = (Seq, B)>,
) -> Result<u64, VerifyError> {
    let (conn, _) = open(dir)?;
    let failed = |e| HistoryError::from((dir, e));
    let mut query = conn
        .prepare("SELECT body FROM entry WHERE seq = ?1")
        .map_err(failed)?;
    let mut faults = Faults::default();
    let mut compared = 0;
    for (seq, body) in bodies {
        compared += 1;
        let mut rows = query.query([whole(seq.0)]).map_err(failed)?;
        match rows.next().map_err(failed)? {
            None => faults.add(Fault::Missing {
                first: seq,
                last: seq,
            }),
            Some(row) if bytes(row, 0).map_err(failed)? != body.as_ref().as_bytes() => {
                faults.add(Fault::Unlike { seq });
            }
            Some(_) => {}
        }
    }
    faults.none_or(compared)
}

/// Checks bodies as exported, from entry 1 on, against the checkpoint exported with them.
///
/// # Errors
/// [`BodiesFault`].
pub fn verify_bodies<B: AsRef<str>>(
    bodies: impl IntoIterator<Item = B>,
    checkpoint: &Checkpoint,
) -> Result<(), BodiesFault> {
    let mut frontier = Frontier::default();
    for body in bodies {
        let body = body.as_ref();
        frontier.push(leaf_hash(body.as_bytes()));
        decode(body).map_err(|error| BodiesFault::Unreadable {
            seq: Seq(frontier.size()),
            why: error.to_string(),
        })?;
    }
    if frontier.size() != checkpoint.size {
        return Err(BodiesFault::Count {
            found: frontier.size(),
            expected: checkpoint.size,
        });
    }
    if frontier.root() != checkpoint.root {
        return Err(BodiesFault::Root);
    }
    Ok(())
}

fn open(dir: &Path) -> Result<(Connection, Identity), HistoryError> {
    let missing = || HistoryError::Missing {
        dir: dir.to_owned(),
    };
    if !place::database(dir).exists() {
        return Err(missing());
    }
    let conn = schema::read_only(dir)?;
    match schema::recognise(&conn, dir)? {
        Found::Nothing => Err(missing()),
        Found::Ours => {
            let identity = schema::identity(&conn, dir)?;
            Ok((conn, identity))
        }
    }
}

impl From<(&Path, rusqlite::Error)> for HistoryError {
    fn from((dir, error): (&Path, rusqlite::Error)) -> Self {
        sql("verifying", dir, error)
    }
}

/// SQLite's own look at its pages, indexes and constraints.
fn check_file(conn: &Connection, faults: &mut Faults) {
    let report = conn
        .prepare("PRAGMA integrity_check")
        .and_then(|mut check| {
            check
                .query_map([], |row| row.get::<_, String>(0))?
                .collect::<Result<Vec<_>, _>>()
        });
    match report {
        Err(error) => faults.add(Fault::File(error.to_string())),
        Ok(lines) => {
            for line in lines.into_iter().filter(|line| line != "ok") {
                faults.add(Fault::File(line));
            }
        }
    }
}

/// Every table, index, trigger and view is there word for word, and no other.
fn check_schema(conn: &Connection, faults: &mut Faults) -> rusqlite::Result<()> {
    let fresh = Connection::open_in_memory()?;
    fresh.execute_batch(schema::TABLES)?;
    let (expected, found) = (objects(&fresh)?, objects(conn)?);
    for (kind, name, text) in expected.difference(&found) {
        let there = found.iter().any(|(k, n, _)| (k, n) == (kind, name));
        let state = if there { "was changed" } else { "is missing" };
        // The text of the expected object says what must be put back.
        let text = text.lines().next().unwrap_or_default();
        faults.add(Fault::Schema(format!(
            "the {kind} {name} {state}, expected {text:?} …"
        )));
    }
    for (kind, name, _) in found.difference(&expected) {
        if !expected.iter().any(|(k, n, _)| (k, n) == (kind, name)) {
            faults.add(Fault::Schema(format!(
                "found a {kind} {name}, expected none of that name"
            )));
        }
    }
    Ok(())
}

fn objects(conn: &Connection) -> rusqlite::Result<BTreeSet<(String, String, String)>> {
    conn.prepare(
        "SELECT type, name, coalesce(sql, '') FROM sqlite_schema WHERE name NOT LIKE 'sqlite#_%' ESCAPE '#'",
    )?
    .query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
    .collect()
}

/// Looks at every row in order; `meet` sees the tree after each.
///
/// The stored leaf goes into the tree, not the body's: an altered body is named by itself, and a
/// checkpoint then says whether the leaf is the one it was.
fn walk(
    conn: &Connection,
    faults: &mut Faults,
    mut meet: impl FnMut(&Frontier, &mut Faults),
) -> rusqlite::Result<Frontier> {
    let mut query = conn.prepare("SELECT seq, leaf, body FROM entry ORDER BY seq")?;
    let mut rows = query.query([])?;
    let mut frontier = Frontier::default();
    let mut expected = 1_i64;
    loop {
        let row = match rows.next() {
            Ok(Some(row)) => row,
            Ok(None) => break,
            Err(error) => {
                // What follows cannot be read; what was read is reported all the same.
                faults.add(Fault::File(format!(
                    "after entry {}: {error}",
                    expected - 1
                )));
                break;
            }
        };
        let seq: i64 = row.get(0)?;
        if seq < 1 {
            faults.add(Fault::Stray(seq));
            continue;
        }
        if seq > expected {
            faults.add(Fault::Missing {
                first: Seq(expected.unsigned_abs()),
                last: Seq((seq - 1).unsigned_abs()),
            });
        }
        expected = seq + 1;
        let seq = Seq(seq.unsigned_abs());
        let body = bytes(row, 2)?;
        let computed = leaf_hash(body);
        let stored = leaf(row, 1).unwrap_or_default();
        if stored != computed {
            faults.add(Fault::Body { seq });
        }
        let read = std::str::from_utf8(body)
            .map_err(|error| error.to_string())
            .and_then(|text| decode(text).map_err(|error| error.to_string()));
        if let Err(why) = read {
            faults.add(Fault::Unreadable { seq, why });
        }
        frontier.push(stored);
        meet(&frontier, faults);
    }
    Ok(frontier)
}

fn bytes<'a>(row: &'a Row<'_>, column: usize) -> rusqlite::Result<&'a [u8]> {
    Ok(row.get_ref(column)?.as_bytes_or_null()?.unwrap_or_default())
}
