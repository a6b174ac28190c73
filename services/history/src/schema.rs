//! The tables, and how a database is recognised as ours before anything is written to it.

use std::path::Path;
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, ErrorCode, OpenFlags};

use crate::{Hash, HistoryError, VerifierKey, place};

/// "oddl": marks the file as ours.
pub(crate) const APPLICATION_ID: i64 = 0x6f64_646c;
/// The format this program writes.
pub(crate) const FORMAT: i64 = 1;
/// The first SQLite without the fault that can lose commits when the write-ahead log is reset.
const SQLITE_MIN: (i32, &str) = (3_051_003, "3.51.3");
/// Pages a reader keeps, in KiB: it reads forward and comes back to none of them.
const READER_CACHE_KIB: i64 = 128;
/// Pages the writer keeps, in KiB: a batch of 512 readings with rising ids changes some sixty pages of
/// 4 KiB; one with ids in no order finds its old index pages in the system's cache.
const WRITER_CACHE_KIB: i64 = 1024;
/// How long a write waits for an outside tool that holds the database.
const BUSY_MAX: Duration = Duration::from_secs(5);

/// A body is the only thing stored of an entry: the leaf can be computed from it, and the idempotency
/// key stands in it, so that both are covered by the hash. What is not wanted is refused by triggers:
/// they stop accidents and tools, and `verify` finds those who drop them. The insert triggers look for
/// what `INSERT OR REPLACE` would delete without asking the delete trigger.
///
/// The key is cut out of the body where the stored spelling puts it, at the front and never escaped:
/// parsing the JSON for it took a tenth of the time of an append.
pub(crate) const TABLES: &str = r#"
CREATE TABLE meta (
  name TEXT NOT NULL PRIMARY KEY,
  value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE entry (
  seq INTEGER PRIMARY KEY,
  leaf BLOB NOT NULL CHECK (length(leaf) = 32),
  body TEXT NOT NULL,
  key TEXT GENERATED ALWAYS AS (
    CASE WHEN substr(body, 1, 6) = '{"k":"' THEN substr(body, 7, instr(body, '","t":') - 7) END
  ) VIRTUAL
) STRICT;
CREATE UNIQUE INDEX entry_key ON entry (key) WHERE key IS NOT NULL;

CREATE TABLE checkpoint (
  size INTEGER PRIMARY KEY,
  note TEXT NOT NULL,
  peaks BLOB NOT NULL
) STRICT;

CREATE TRIGGER entry_update BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'the history is never changed'); END;
CREATE TRIGGER entry_delete BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'nothing is deleted from the history'); END;
CREATE TRIGGER entry_insert BEFORE INSERT ON entry
WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM entry)
  OR EXISTS (SELECT 1 FROM entry WHERE key = NEW.key)
BEGIN SELECT RAISE(ABORT, 'an entry follows the newest one, and its key is new'); END;

CREATE TRIGGER checkpoint_update BEFORE UPDATE ON checkpoint
BEGIN SELECT RAISE(ABORT, 'a checkpoint is never changed'); END;
CREATE TRIGGER checkpoint_delete BEFORE DELETE ON checkpoint
BEGIN SELECT RAISE(ABORT, 'no checkpoint is deleted'); END;
CREATE TRIGGER checkpoint_insert BEFORE INSERT ON checkpoint
WHEN NEW.size <= (SELECT coalesce(max(size), 0) FROM checkpoint)
BEGIN SELECT RAISE(ABORT, 'a checkpoint follows the newest one'); END;

CREATE TRIGGER meta_update BEFORE UPDATE ON meta
BEGIN SELECT RAISE(ABORT, 'the origin and key of a history are never changed'); END;
CREATE TRIGGER meta_delete BEFORE DELETE ON meta
BEGIN SELECT RAISE(ABORT, 'the origin and key of a history are never deleted'); END;
CREATE TRIGGER meta_insert BEFORE INSERT ON meta
WHEN EXISTS (SELECT 1 FROM meta WHERE name = NEW.name)
BEGIN SELECT RAISE(ABORT, 'the origin and key of a history are never changed'); END;

CREATE VIEW journal AS SELECT
  seq,
  datetime(json_extract(body, '$.t') / 1000000, 'unixepoch') AS at_utc,
  json_extract(body, '$.t') AS at_us,
  (SELECT json_each.key FROM json_each(body, '$.e')) AS kind,
  coalesce(json_extract(body, '$.e.observed.g'), json_extract(body, '$.e.seen.g')) AS gauge,
  json_extract(body, '$.e.observed.b') AS raw_text,
  json_extract(body, '$.e.observed.d[0]') AS digits,
  json_extract(body, '$.e.observed.d[1]') AS unit,
  coalesce(json_extract(body, '$.f.judged.q.pm'), json_extract(body, '$.e.observed.d[2].pm')) AS length_pm,
  coalesce(json_extract(body, '$.f.judged.q.mas'), json_extract(body, '$.e.observed.d[2].mas')) AS angle_mas,
  coalesce(json_extract(body, '$.f.judged.p'), json_extract(body, '$.e.laid.p')) AS piece,
  json_extract(body, '$.f.judged.c') AS characteristic,
  json_extract(body, '$.f.judged.v') AS verdict,
  json_extract(body, '$.f.held.r') AS held,
  coalesce(json_extract(body, '$.e.assigned.r'), json_extract(body, '$.e.dismissed.r'), json_extract(body, '$.e.voided.r')) AS reading_seq,
  key
FROM entry;
"#;

/// What a database says it is.
#[derive(Debug)]
pub(crate) enum Found {
    /// Nothing yet: no file, or one whose creation was cut short.
    Nothing,
    /// A history this program can read.
    Ours,
}

/// What the meta table holds.
#[derive(Clone, Debug)]
pub(crate) struct Identity {
    pub(crate) origin: String,
    pub(crate) key: VerifierKey,
}

/// Fails for an SQLite that could lose a commit.
pub(crate) fn require_sqlite() -> Result<(), HistoryError> {
    if rusqlite::version_number() < SQLITE_MIN.0 {
        return Err(HistoryError::OldSqlite {
            found: rusqlite::version(),
            expected: SQLITE_MIN.1,
        });
    }
    Ok(())
}

/// Looks at the database without being able to write, so that a newer or foreign one stays as it is.
pub(crate) fn look(dir: &Path) -> Result<Found, HistoryError> {
    if !place::database(dir).exists() {
        return Ok(Found::Nothing);
    }
    recognise(&read_only(dir)?, dir)
}

/// Opens the database for reading alone.
pub(crate) fn read_only(dir: &Path) -> Result<Connection, HistoryError> {
    let path = place::database(dir);
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let conn = Connection::open_with_flags(path, flags).map_err(|e| sql("opening", dir, e))?;
    conn.busy_timeout(BUSY_MAX)
        .map_err(|e| sql("opening", dir, e))?;
    Ok(conn)
}

/// Makes a reader that stays open for long keep few pages.
pub(crate) fn keep_few_pages(conn: &Connection, dir: &Path) -> Result<(), HistoryError> {
    keep(conn, READER_CACHE_KIB).map_err(|e| sql("opening", dir, e))
}

fn keep(conn: &Connection, kib: i64) -> rusqlite::Result<()> {
    // A negative number is KiB.
    conn.pragma_update(None, "cache_size", -kib)
}

/// Opens the database for writing, with every commit on disk before it returns.
pub(crate) fn read_write(dir: &Path) -> Result<Connection, HistoryError> {
    let path = place::database(dir);
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
        | OpenFlags::SQLITE_OPEN_CREATE
        | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let failed = |e| sql("opening", dir, e);
    let conn = Connection::open_with_flags(path, flags).map_err(failed)?;
    conn.busy_timeout(BUSY_MAX).map_err(failed)?;
    let mode: String = conn
        .query_row("PRAGMA journal_mode = WAL", [], |row| row.get(0))
        .map_err(failed)?;
    if mode != "wal" {
        return Err(not_durable(dir, "journal_mode", "wal", mode));
    }
    conn.execute_batch("PRAGMA synchronous = FULL")
        .map_err(failed)?;
    require_full(&conn, dir)?;
    keep(&conn, WRITER_CACHE_KIB).map_err(failed)?;
    // The triggers are for everyone else. The writer has no statement that changes or deletes, numbers
    // what it appends itself and passes over a known key by the unique index; asking the triggers too
    // would cost as much as the row.
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER, false)
        .map_err(failed)?;
    Ok(conn)
}

/// The setting belongs to the connection and is lost by anyone who forgets it: it is read back.
fn require_full(conn: &Connection, dir: &Path) -> Result<(), HistoryError> {
    let synchronous: i64 = conn
        .query_row("PRAGMA synchronous", [], |row| row.get(0))
        .map_err(|e| sql("opening", dir, e))?;
    // 2 is FULL, 3 is EXTRA.
    if synchronous < 2 {
        return Err(not_durable(
            dir,
            "synchronous",
            "2 (FULL)",
            synchronous.to_string(),
        ));
    }
    Ok(())
}

/// Tells our histories from newer ones and from other programs' files.
pub(crate) fn recognise(conn: &Connection, dir: &Path) -> Result<Found, HistoryError> {
    let number = |query: &str| {
        conn.query_row(query, [], |row| row.get::<_, i64>(0))
            .map_err(|error| match error.sqlite_error_code() {
                Some(ErrorCode::NotADatabase) => HistoryError::NotOurs {
                    dir: dir.to_owned(),
                    found: "a file that is no SQLite database".to_owned(),
                },
                _ => sql("opening", dir, error),
            })
    };
    let application = number("PRAGMA application_id")?;
    let format = number("PRAGMA user_version")?;
    let objects = number("SELECT count(*) FROM sqlite_schema")?;
    match (application, format) {
        (0, 0) if objects == 0 => Ok(Found::Nothing),
        (APPLICATION_ID, FORMAT) => Ok(Found::Ours),
        (APPLICATION_ID, found) if found > FORMAT => Err(HistoryError::Newer {
            dir: dir.to_owned(),
            found,
            known: FORMAT,
        }),
        _ => Err(HistoryError::NotOurs {
            dir: dir.to_owned(),
            found: format!(
                "another program's database (application {application:#010x}, format {format})"
            ),
        }),
    }
}

/// Makes the tables in one transaction: a creation that is cut short leaves nothing.
pub(crate) fn create(
    conn: &Connection,
    dir: &Path,
    identity: &Identity,
) -> Result<(), HistoryError> {
    let made = || -> rusqlite::Result<()> {
        conn.execute_batch("BEGIN IMMEDIATE")?;
        conn.execute_batch(TABLES)?;
        let mut insert = conn.prepare("INSERT INTO meta (name, value) VALUES (?1, ?2)")?;
        insert.execute(("origin", &identity.origin))?;
        insert.execute(("key", identity.key.to_string()))?;
        conn.pragma_update(None, "application_id", APPLICATION_ID)?;
        conn.pragma_update(None, "user_version", FORMAT)?;
        conn.execute_batch("COMMIT")
    };
    made().map_err(|e| sql("making", dir, e))
}

/// Reads the origin and the public key.
pub(crate) fn identity(conn: &Connection, dir: &Path) -> Result<Identity, HistoryError> {
    let foreign = |found: String| HistoryError::NotOurs {
        dir: dir.to_owned(),
        found,
    };
    let value = |name: &str| {
        let query = "SELECT value FROM meta WHERE name = ?1";
        match conn.query_row(query, [name], |row| row.get::<_, String>(0)) {
            Ok(value) => Ok(value),
            Err(rusqlite::Error::QueryReturnedNoRows) => {
                Err(foreign(format!("a history whose {name} is gone")))
            }
            Err(error) => Err(sql("reading the name and key of", dir, error)),
        }
    };
    let key = value("key")?
        .parse()
        .map_err(|expected| foreign(format!("a damaged public key ({expected})")))?;
    Ok(Identity {
        origin: value("origin")?,
        key,
    })
}

/// A leaf as stored.
pub(crate) fn leaf(row: &rusqlite::Row<'_>, column: usize) -> rusqlite::Result<Hash> {
    row.get(column)
}

/// A sequence number or size as SQLite takes it: it counts to 2^63.
pub(crate) fn whole(number: u64) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

pub(crate) fn sql(doing: &'static str, dir: &Path, source: rusqlite::Error) -> HistoryError {
    HistoryError::Sql {
        doing,
        dir: dir.to_owned(),
        source,
    }
}

fn not_durable(
    dir: &Path,
    setting: &'static str,
    expected: &'static str,
    found: String,
) -> HistoryError {
    HistoryError::NotDurable {
        dir: dir.to_owned(),
        setting,
        expected,
        found,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_connection_that_is_not_full_is_refused_and_ours_is_not() {
        let dir = tempfile::tempdir().unwrap();
        let conn = read_write(dir.path()).unwrap();
        conn.execute_batch("PRAGMA synchronous = NORMAL").unwrap();
        let refused = require_full(&conn, dir.path()).unwrap_err();
        assert!(
            matches!(refused, HistoryError::NotDurable { .. }),
            "{refused}"
        );
        conn.execute_batch("PRAGMA synchronous = FULL").unwrap();
        require_full(&conn, dir.path()).unwrap();
    }
}
