//! The history as the dashboard reads it.

use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use build_record::Row;
use history::{HistoryError, Reader};
use shared_types::{Entry, Seq};

/// Entries read in one go for a record.
const CHUNK: usize = 1000;

/// Readers of one history. All calls read the disk and belong on a blocking thread.
pub(crate) struct Source {
    dir: PathBuf,
    /// The one that follows; kept open because it is used with every reading.
    following: Mutex<Reader>,
}

impl Source {
    pub(crate) fn open(dir: &Path) -> Result<Self, HistoryError> {
        Ok(Self {
            dir: dir.to_owned(),
            following: Mutex::new(Reader::open(dir)?),
        })
    }

    /// The entries that follow `seq`, oldest first.
    pub(crate) fn after(&self, seq: Seq, limit: usize) -> Result<Vec<Entry>, HistoryError> {
        self.following
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .after(seq, limit)
    }

    /// Everything up to a checkpoint made now, and that checkpoint's text. A reader of its own, so
    /// that a long record does not hold the screens up.
    pub(crate) fn whole(&self) -> Result<(Vec<Row>, String), HistoryError> {
        let reader = Reader::open(&self.dir)?;
        let checkpoint = reader.checkpoint()?;
        let mut rows: Vec<Row> = Vec::new();
        let mut after = Seq(0);
        while after.0 < checkpoint.size {
            let left = usize::try_from(checkpoint.size - after.0).unwrap_or(CHUNK);
            let limit = left.min(CHUNK);
            let entries = reader.after(after, limit)?;
            let Some(last) = entries.last() else { break };
            let bodies = reader.stored(after.0 + 1..=last.seq.0)?;
            after = last.seq;
            let pairs = entries.into_iter().zip(bodies);
            rows.extend(pairs.map(|(entry, stored)| Row {
                entry,
                body: stored.body,
            }));
        }
        Ok((rows, checkpoint.to_string()))
    }
}
