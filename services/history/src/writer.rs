//! The one writer: entries are appended in batches, and a batch is on disk when its commit returns.

use std::fs::File;
use std::path::{Path, PathBuf};

use rusqlite::{Connection, OptionalExtension as _};
use shared_types::{Entry, Fact, Seq};

use crate::merkle::{Frontier, leaf_hash};
use crate::schema::{self, Found, Identity, sql, whole};
use crate::signing::{self, Signer};
use crate::spelling::{decode, encode, stored_key};
use crate::{Checkpoint, HistoryError, KeyProblem, VerifierKey, checkpoint, place, replay};

/// A checkpoint is kept in the database at every multiple of this many entries: close enough that
/// `verify` can say between which entries a rewrite begins, and well under one byte per entry.
pub(crate) const KEPT_EVERY: u64 = 1024;

/// Writes the history of one build. There is one per build at a time, in all processes.
#[derive(Debug)]
pub struct Writer {
    conn: Connection,
    dir: PathBuf,
    identity: Identity,
    signer: Signer,
    /// The tree with what the open batch has appended.
    grown: Frontier,
    /// The tree of what is committed.
    settled: Frontier,
    in_batch: bool,
    poisoned: bool,
    /// Released after the connection is closed: fields are dropped in this order.
    _lock: File,
}

impl Writer {
    /// Opens the history in `dir`, or makes one named `origin` (as `oddleg/saltmarsh`; of an existing
    /// history the stored name counts). Every entry is read once, in order, and given to `fold`.
    ///
    /// # Errors
    /// See [`HistoryError`]. A newer, foreign or locked history is refused before anything is written.
    pub fn open(
        dir: &Path,
        origin: &str,
        mut fold: impl FnMut(Entry),
    ) -> Result<Self, HistoryError> {
        schema::require_sqlite()?;
        place::require_local(dir)?;
        let lock = place::lock(dir)?;
        let conn = match schema::look(dir)? {
            Found::Ours => schema::read_write(dir)?,
            Found::Nothing => make(dir, origin)?,
        };
        let identity = schema::identity(&conn, dir)?;
        let signer = Signer::load(&place::key(dir), &identity.key);
        let mut conn = conn;
        let grown = replay::replay(&mut conn, dir, &mut fold)?;
        let mut writer = Self {
            conn,
            dir: dir.to_owned(),
            identity,
            signer,
            settled: grown.clone(),
            grown,
            in_batch: false,
            poisoned: false,
            _lock: lock,
        };
        writer.keep_at_start()?;
        Ok(writer)
    }

    /// The newest committed entry; 0 where there is none.
    #[must_use]
    pub const fn newest(&self) -> Seq {
        Seq(self.settled.size())
    }

    /// Begins a batch. No other process can write until it is committed.
    ///
    /// # Errors
    /// [`HistoryError::Sql`] where an outside tool holds the database; [`HistoryError::Poisoned`].
    ///
    /// # Panics
    /// Where a batch is open already.
    pub fn begin(&mut self) -> Result<(), HistoryError> {
        self.require_sound()?;
        assert!(!self.in_batch, "a batch is open already");
        self.run("BEGIN IMMEDIATE")
            .map_err(|e| sql("beginning to write", &self.dir, e))?;
        self.in_batch = true;
        Ok(())
    }

    /// The entry that was appended with this idempotency key, be it in the open batch.
    ///
    /// # Errors
    /// [`HistoryError::Sql`], [`HistoryError::Damaged`], [`HistoryError::Poisoned`].
    pub fn known(&mut self, key: &str) -> Result<Option<Entry>, HistoryError> {
        self.require_sound()?;
        let found = self
            .conn
            .prepare_cached("SELECT seq, body FROM entry WHERE key = ?1")
            .and_then(|mut query| {
                query
                    .query_row([stored_key(key)], |row| Ok((row.get(0)?, row.get(1)?)))
                    .optional()
            })
            .map_err(|e| sql("looking up a key in", &self.dir, e))?;
        found
            .map(|(seq, body): (i64, String)| entry(&self.dir, seq, &body))
            .transpose()
    }

    /// Appends a fact. It is on disk only after [`Writer::commit`]. The key must not be
    /// [known](Writer::known).
    ///
    /// # Errors
    /// [`HistoryError::Sql`], after which the writer is poisoned; [`HistoryError::Poisoned`].
    ///
    /// # Panics
    /// Where no batch is open.
    pub fn append(&mut self, fact: &Fact, key: Option<&str>) -> Result<Seq, HistoryError> {
        match self.append_new(fact, key)? {
            Some(seq) => Ok(seq),
            None => {
                let known = Err(rusqlite::Error::StatementChangedRows(0));
                self.sound("appending, with a key that is known, to", known)
            }
        }
    }

    /// Appends a fact unless its key is [known](Writer::known), which it says by `None`. This costs one
    /// look at the keys, where asking first and then appending costs two.
    ///
    /// # Errors
    /// As [`Writer::append`].
    ///
    /// # Panics
    /// Where no batch is open.
    pub fn append_new(
        &mut self,
        fact: &Fact,
        key: Option<&str>,
    ) -> Result<Option<Seq>, HistoryError> {
        self.require_sound()?;
        assert!(self.in_batch, "no batch is open");
        let body = encode(fact, key);
        let leaf = leaf_hash(body.as_bytes());
        let seq = self.grown.size() + 1;
        let written = self
            .conn
            .prepare_cached("INSERT OR IGNORE INTO entry (seq, leaf, body) VALUES (?1, ?2, ?3)")
            .and_then(|mut insert| insert.execute((whole(seq), leaf, &body)));
        if self.sound("appending to", written)? == 0 {
            return self.passed_over(key);
        }
        self.grown.push(leaf);
        if seq.is_multiple_of(KEPT_EVERY) {
            self.keep()?;
        }
        Ok(Some(Seq(seq)))
    }

    /// A row is passed over for its key; for anything else it would be lost, and that must be said.
    fn passed_over(&mut self, key: Option<&str>) -> Result<Option<Seq>, HistoryError> {
        let known = match key {
            Some(key) => self.known(key)?.is_some(),
            None => false,
        };
        let refused = if known {
            Ok(None)
        } else {
            Err(rusqlite::Error::StatementChangedRows(0))
        };
        self.sound("appending to", refused)
    }

    /// Commits the batch: when this returns, every entry of it is on disk. A batch in which nothing
    /// was appended is let go and costs nothing. Returns the newest committed entry.
    ///
    /// # Errors
    /// [`HistoryError::Sql`]: the batch may or may not be on disk, the writer is poisoned and refuses
    /// all further work. Stop, start again, and ask [`Writer::known`].
    ///
    /// # Panics
    /// Where no batch is open.
    pub fn commit(&mut self) -> Result<Seq, HistoryError> {
        self.require_sound()?;
        assert!(self.in_batch, "no batch is open");
        self.in_batch = false;
        let empty = self.grown.size() == self.settled.size();
        let ended = self.run(if empty { "ROLLBACK" } else { "COMMIT" });
        self.sound("committing to", ended)?;
        self.settled.copy_from(&self.grown);
        Ok(self.newest())
    }

    /// The checkpoint of what is committed, signed where the key is there. Costs a few hashes.
    #[must_use]
    pub fn checkpoint(&self) -> Checkpoint {
        self.signed(&self.settled)
    }

    /// The name of this history.
    #[must_use]
    pub fn origin(&self) -> &str {
        &self.identity.origin
    }

    /// What others check this history's signatures by.
    #[must_use]
    pub const fn verifier_key(&self) -> &VerifierKey {
        &self.identity.key
    }

    /// Why checkpoints come unsigned, where they do.
    #[must_use]
    pub fn key_problem(&self) -> Option<&KeyProblem> {
        self.signer.problem()
    }

    fn signed(&self, frontier: &Frontier) -> Checkpoint {
        let checkpoint = Checkpoint {
            origin: self.identity.origin.clone(),
            size: frontier.size(),
            root: frontier.root(),
            signature: None,
        };
        self.signer.sign(checkpoint, &self.identity.key)
    }

    /// Keeps a checkpoint of where this run begins, unless one is there.
    fn keep_at_start(&mut self) -> Result<(), HistoryError> {
        let newest: i64 = self
            .conn
            .query_row("SELECT coalesce(max(size), 0) FROM checkpoint", [], |row| {
                row.get(0)
            })
            .map_err(|e| sql("reading the checkpoints of", &self.dir, e))?;
        if whole(self.settled.size()) > newest {
            let begun = self.run("BEGIN IMMEDIATE");
            self.sound("keeping a checkpoint in", begun)?;
            self.keep()?;
            let ended = self.run("COMMIT");
            self.sound("keeping a checkpoint in", ended)?;
        }
        Ok(())
    }

    fn keep(&mut self) -> Result<(), HistoryError> {
        let note = self.signed(&self.grown).to_string();
        let kept = self
            .conn
            .prepare_cached("INSERT INTO checkpoint (size, note, peaks) VALUES (?1, ?2, ?3)")
            .and_then(|mut insert| {
                insert.execute((whole(self.grown.size()), note, self.grown.to_bytes()))
            });
        self.sound("keeping a checkpoint in", kept).map(drop)
    }

    fn run(&self, statement: &str) -> rusqlite::Result<()> {
        self.conn
            .prepare_cached(statement)
            .and_then(|mut run| run.execute([]))
            .map(drop)
    }

    fn require_sound(&self) -> Result<(), HistoryError> {
        if self.poisoned {
            return Err(HistoryError::Poisoned {
                dir: self.dir.clone(),
            });
        }
        Ok(())
    }

    /// An error on the way to the disk leaves its outcome unknown: nothing more is done here.
    fn sound<T>(
        &mut self,
        doing: &'static str,
        result: rusqlite::Result<T>,
    ) -> Result<T, HistoryError> {
        result.map_err(|error| {
            self.poisoned = true;
            sql(doing, &self.dir, error)
        })
    }
}

fn make(dir: &Path, origin: &str) -> Result<Connection, HistoryError> {
    if !checkpoint::is_origin(origin) {
        return Err(HistoryError::Origin {
            found: origin.to_owned(),
        });
    }
    // The key first: a history whose public key has no private half would never be signed.
    let key = signing::create(&place::key(dir), origin)?;
    let conn = schema::read_write(dir)?;
    let origin = origin.to_owned();
    schema::create(&conn, dir, &Identity { origin, key })?;
    Ok(conn)
}

/// A row as an entry.
pub(crate) fn entry(dir: &Path, seq: i64, body: &str) -> Result<Entry, HistoryError> {
    let seq = Seq(u64::try_from(seq).unwrap_or(0));
    let fact = decode(body).map_err(|error| HistoryError::Damaged {
        dir: dir.to_owned(),
        seq,
        why: error.to_string(),
    })?;
    Ok(Entry { seq, fact })
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::{BenchId, Event, Finding};

    fn fact() -> Fact {
        Fact {
            at_us: 0,
            event: Event::Operator {
                bench: BenchId::new("bench-1").unwrap(),
                name: "Wren".to_owned(),
            },
            finding: Finding::Noted,
        }
    }

    /// The only way to make the COMMIT itself fail without a faulty disk: a constraint that is looked
    /// at no earlier.
    fn doom(writer: &Writer) {
        writer
            .conn
            .execute_batch(
                "PRAGMA foreign_keys = ON;
                 CREATE TEMP TABLE parent (id INTEGER PRIMARY KEY);
                 CREATE TEMP TABLE child (id REFERENCES parent (id) DEFERRABLE INITIALLY DEFERRED);
                 INSERT INTO child VALUES (1);",
            )
            .unwrap();
    }

    #[test]
    fn after_a_failed_commit_everything_is_refused_until_a_restart_looks() {
        let dir = tempfile::tempdir().unwrap();
        let mut writer = Writer::open(dir.path(), "oddleg/test", drop).unwrap();
        writer.begin().unwrap();
        writer.append(&fact(), Some("first")).unwrap();
        assert_eq!(writer.commit().unwrap(), Seq(1));

        writer.begin().unwrap();
        writer.append(&fact(), Some("second")).unwrap();
        doom(&writer);
        assert!(matches!(writer.commit(), Err(HistoryError::Sql { .. })));
        let poisoned = |e| matches!(e, HistoryError::Poisoned { .. });
        assert!(writer.begin().is_err_and(poisoned));
        assert!(writer.append(&fact(), None).is_err_and(poisoned));
        assert!(writer.commit().is_err_and(poisoned));
        assert!(writer.known("first").is_err_and(poisoned));
        assert_eq!(writer.checkpoint().size, 1);

        drop(writer);
        let mut writer = Writer::open(dir.path(), "oddleg/test", drop).unwrap();
        assert_eq!(writer.newest(), Seq(1));
        assert!(writer.known("first").unwrap().is_some());
        assert!(writer.known("second").unwrap().is_none());
    }

    #[test]
    fn a_failed_append_poisons_too() {
        let dir = tempfile::tempdir().unwrap();
        let mut writer = Writer::open(dir.path(), "oddleg/test", drop).unwrap();
        writer.begin().unwrap();
        writer.append(&fact(), Some("same")).unwrap();
        assert_eq!(writer.append_new(&fact(), Some("same")).unwrap(), None);
        let twice = writer.append(&fact(), Some("same"));
        assert!(matches!(twice, Err(HistoryError::Sql { .. })), "{twice:?}");
        assert!(matches!(
            writer.commit(),
            Err(HistoryError::Poisoned { .. })
        ));
    }
}
