//! Readers: as many as wanted, each with its own connection that cannot write.

use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};

use rusqlite::{Connection, OptionalExtension as _, Row};
use shared_types::{Entry, Seq};

use crate::merkle::Frontier;
use crate::schema::{self, Found, Identity, leaf, sql, whole};
use crate::signing::Signer;
use crate::writer::entry;
use crate::{Checkpoint, Hash, HistoryError, KeyProblem, VerifierKey, place};

/// Reads the history of one build, beside the writer or alone. It sees what is committed.
#[derive(Debug)]
pub struct Reader {
    conn: Connection,
    dir: PathBuf,
    identity: Identity,
    signer: Signer,
}

/// An entry as it is stored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StoredEntry {
    /// Its place.
    pub seq: Seq,
    /// The exact stored text, which is what is hashed.
    pub body: String,
    /// Its leaf in the Merkle tree.
    pub leaf: Hash,
}

impl Reader {
    /// Opens the history in `dir` for reading.
    ///
    /// # Errors
    /// [`HistoryError::Missing`], [`HistoryError::Newer`], [`HistoryError::NotOurs`],
    /// [`HistoryError::Sql`].
    pub fn open(dir: &Path) -> Result<Self, HistoryError> {
        let missing = || HistoryError::Missing {
            dir: dir.to_owned(),
        };
        if !place::database(dir).exists() {
            return Err(missing());
        }
        let conn = schema::read_only(dir)?;
        match schema::recognise(&conn, dir)? {
            Found::Nothing => return Err(missing()),
            Found::Ours => {}
        }
        schema::keep_few_pages(&conn, dir)?;
        let identity = schema::identity(&conn, dir)?;
        let signer = Signer::load(&place::key(dir), &identity.key);
        Ok(Self {
            conn,
            dir: dir.to_owned(),
            identity,
            signer,
        })
    }

    /// The newest entry; 0 where there is none.
    ///
    /// # Errors
    /// [`HistoryError::Sql`].
    pub fn newest(&self) -> Result<Seq, HistoryError> {
        self.conn
            .prepare_cached("SELECT coalesce(max(seq), 0) FROM entry")
            .and_then(|mut query| query.query_row([], |row| row.get(0)))
            .map(|seq: i64| Seq(seq.unsigned_abs()))
            .map_err(|e| sql("reading", &self.dir, e))
    }

    /// One entry.
    ///
    /// # Errors
    /// [`HistoryError::Sql`], [`HistoryError::Damaged`].
    pub fn entry(&self, seq: Seq) -> Result<Option<Entry>, HistoryError> {
        let body: Option<String> = self
            .conn
            .prepare_cached("SELECT body FROM entry WHERE seq = ?1")
            .and_then(|mut query| query.query_row([whole(seq.0)], |row| row.get(0)).optional())
            .map_err(|e| sql("reading", &self.dir, e))?;
        body.map(|body| entry(&self.dir, whole(seq.0), &body))
            .transpose()
    }

    /// The entries that follow `seq`, at most `limit`, oldest first.
    ///
    /// # Errors
    /// [`HistoryError::Sql`], [`HistoryError::Damaged`].
    pub fn after(&self, seq: Seq, limit: usize) -> Result<Vec<Entry>, HistoryError> {
        let limit = i64::try_from(limit).unwrap_or(i64::MAX);
        let rows: Vec<(i64, String)> = self.rows(
            "SELECT seq, body FROM entry WHERE seq > ?1 ORDER BY seq LIMIT ?2",
            [whole(seq.0), limit],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )?;
        rows.iter()
            .map(|(seq, body)| entry(&self.dir, *seq, body))
            .collect()
    }

    /// The entries of a range as they are stored.
    ///
    /// # Errors
    /// [`HistoryError::Sql`].
    pub fn stored(&self, range: RangeInclusive<u64>) -> Result<Vec<StoredEntry>, HistoryError> {
        self.rows(
            "SELECT seq, body, leaf FROM entry WHERE seq BETWEEN ?1 AND ?2 ORDER BY seq",
            [whole(*range.start()), whole(*range.end())],
            |row| {
                Ok(StoredEntry {
                    seq: Seq(row.get::<_, i64>(0)?.unsigned_abs()),
                    body: row.get(1)?,
                    leaf: leaf(row, 2)?,
                })
            },
        )
    }

    /// The checkpoint of all entries there are, signed where the key is there.
    ///
    /// # Errors
    /// [`HistoryError::Sql`].
    pub fn checkpoint(&self) -> Result<Checkpoint, HistoryError> {
        let frontier = self
            .frontier()
            .map_err(|e| sql("reading the tree of", &self.dir, e))?;
        let checkpoint = Checkpoint {
            origin: self.identity.origin.clone(),
            size: frontier.size(),
            root: frontier.root(),
            signature: None,
        };
        Ok(self.signer.sign(checkpoint, &self.identity.key))
    }

    /// The checkpoints kept in the database up to `size`, oldest first, as notes.
    ///
    /// # Errors
    /// [`HistoryError::Sql`].
    pub fn kept(&self, size: u64) -> Result<Vec<String>, HistoryError> {
        self.rows(
            "SELECT note FROM checkpoint WHERE size BETWEEN ?1 AND ?2 ORDER BY size",
            [1, whole(size)],
            |row| row.get(0),
        )
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

    /// The tree of all entries, grown from the newest one kept: never more than some thousand leaves.
    fn frontier(&self) -> rusqlite::Result<Frontier> {
        // One view of the database for both queries; it ends with this function.
        let view = self.conn.unchecked_transaction()?;
        let kept: Option<(i64, Vec<u8>)> = view
            .prepare_cached("SELECT size, peaks FROM checkpoint ORDER BY size DESC LIMIT 1")?
            .query_row([], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()?;
        let mut frontier = kept
            .and_then(|(size, peaks)| Frontier::from_bytes(size.unsigned_abs(), &peaks))
            .unwrap_or_default();
        let mut query =
            view.prepare_cached("SELECT leaf FROM entry WHERE seq > ?1 ORDER BY seq")?;
        let mut rows = query.query([whole(frontier.size())])?;
        while let Some(row) = rows.next()? {
            frontier.push(leaf(row, 0)?);
        }
        Ok(frontier)
    }

    fn rows<T>(
        &self,
        query: &str,
        between: [i64; 2],
        read: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
    ) -> Result<Vec<T>, HistoryError> {
        self.conn
            .prepare_cached(query)
            .and_then(|mut query| query.query_map(between, read)?.collect())
            .map_err(|e| sql("reading", &self.dir, e))
    }
}
