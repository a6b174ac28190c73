//! Reads the whole history once at start: one thread reads rows and grows the tree from the stored
//! leaves, the caller's decodes and folds. Bodies are not hashed again; that is what `verify` does.

use std::path::Path;
use std::sync::mpsc::{SyncSender, sync_channel};

use rusqlite::Connection;
use shared_types::{Entry, Seq};

use crate::merkle::Frontier;
use crate::schema::{leaf, sql};
use crate::writer::entry;
use crate::{Checkpoint, HistoryError};

/// Bytes of bodies in one chunk: enough that handing over costs nothing, little enough to stay in cache.
const CHUNK_BYTES: usize = 128 * 1024;
/// Chunks read ahead of the fold: a bound on memory, half a mebibyte.
const CHUNKS_AHEAD_MAX: usize = 4;

/// Bodies of consecutive entries, end to end.
struct Chunk {
    first: i64,
    text: String,
    ends: Vec<usize>,
}

/// Gives every entry to `fold` and returns the tree.
pub(crate) fn replay(
    conn: &mut Connection,
    dir: &Path,
    fold: &mut impl FnMut(Entry),
) -> Result<Frontier, HistoryError> {
    std::thread::scope(|scope| {
        let (sender, chunks) = sync_channel(CHUNKS_AHEAD_MAX);
        let reading = scope.spawn(move || read(conn, dir, &sender));
        let folded = chunks
            .iter()
            .try_for_each(|chunk: Chunk| fold_chunk(&chunk, dir, fold));
        // After an error here the reader must find nobody listening, or it would wait for ever.
        drop(chunks);
        let frontier = match reading.join() {
            Ok(read) => read,
            Err(panic) => std::panic::resume_unwind(panic),
        };
        folded.and(frontier)
    })
}

fn fold_chunk(chunk: &Chunk, dir: &Path, fold: &mut impl FnMut(Entry)) -> Result<(), HistoryError> {
    let mut begin = 0;
    for (seq, &end) in (chunk.first..).zip(&chunk.ends) {
        fold(entry(dir, seq, &chunk.text[begin..end])?);
        begin = end;
    }
    Ok(())
}

fn read(
    conn: &mut Connection,
    dir: &Path,
    chunks: &SyncSender<Chunk>,
) -> Result<Frontier, HistoryError> {
    let failed = |e| sql("reading", dir, e);
    let damaged = |seq: u64, why: String| HistoryError::Damaged {
        dir: dir.to_owned(),
        seq: Seq(seq),
        why,
    };
    let kept = kept(conn).map_err(failed)?;
    let mut kept = kept.iter().peekable();
    let mut query = conn
        .prepare("SELECT seq, leaf, body FROM entry ORDER BY seq")
        .map_err(failed)?;
    let mut rows = query.query([]).map_err(failed)?;
    let mut frontier = Frontier::default();
    let mut chunk = empty(1);
    while let Some(row) = rows.next().map_err(failed)? {
        let seq: i64 = row.get(0).map_err(failed)?;
        let expected = frontier.size() + 1;
        if u64::try_from(seq) != Ok(expected) {
            return Err(damaged(
                expected,
                format!("missing, the next one found is {seq}"),
            ));
        }
        frontier.push(leaf(row, 1).map_err(failed)?);
        let body = row.get_ref(2).map_err(failed)?;
        let body = body
            .as_str()
            .map_err(|error| damaged(expected, format!("its body is no text: {error}")))?;
        chunk.text.push_str(body);
        chunk.ends.push(chunk.text.len());
        // A cut-off or rewritten history must not be written on: each kept checkpoint has to agree.
        if let Some(checkpoint) = kept.next_if(|c| c.size == expected)
            && checkpoint.root != frontier.root()
        {
            let why = format!("the checkpoint kept of the first {expected} entries does not agree");
            return Err(damaged(expected, why));
        }
        if chunk.text.len() >= CHUNK_BYTES {
            let full = std::mem::replace(&mut chunk, empty(seq + 1));
            if chunks.send(full).is_err() {
                // The fold has stopped with an error of its own, which is the one reported.
                return Ok(frontier);
            }
        }
    }
    if let Some(checkpoint) = kept.next() {
        let why = format!(
            "missing, a checkpoint kept of the first {} entries names it",
            checkpoint.size
        );
        return Err(damaged(frontier.size() + 1, why));
    }
    // As above: an error of the fold is the one reported.
    chunks.send(chunk).unwrap_or_default();
    Ok(frontier)
}

fn empty(first: i64) -> Chunk {
    Chunk {
        first,
        text: String::with_capacity(CHUNK_BYTES + 1024),
        ends: Vec::with_capacity(1024),
    }
}

/// The checkpoints kept in the database, smallest first. One that cannot be read is `verify`'s to name.
fn kept(conn: &Connection) -> rusqlite::Result<Vec<Checkpoint>> {
    let mut query = conn.prepare("SELECT note FROM checkpoint ORDER BY size")?;
    let notes = query.query_map([], |row| row.get::<_, String>(0))?;
    let mut kept = Vec::new();
    for note in notes {
        kept.extend(note?.parse::<Checkpoint>());
    }
    Ok(kept)
}
