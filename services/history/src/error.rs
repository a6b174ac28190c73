//! Why the history cannot be opened, read or written.

use std::io;
use std::path::PathBuf;

use shared_types::Seq;

use crate::KeyProblem;

/// What went wrong with a history, where, and what to do.
#[derive(Debug, thiserror::Error)]
pub enum HistoryError {
    /// A write failed, and whether it is on disk is not known.
    #[error(
        "writing the history in {}: an earlier write failed, so what is on disk is unknown; stop and start again, the start looks at what is there",
        .dir.display()
    )]
    Poisoned {
        /// The build's directory.
        dir: PathBuf,
    },
    /// A newer program wrote it.
    #[error(
        "opening the history in {}: found format {found}, this program knows formats up to {known}; nothing was changed, use the newer program",
        .dir.display()
    )]
    Newer {
        /// The build's directory.
        dir: PathBuf,
        /// The format found.
        found: i64,
        /// The newest format known.
        known: i64,
    },
    /// Another program's file.
    #[error(
        "opening the history in {}: found {found}, expected a history of oddleg; move history.db away, nothing in it was changed",
        .dir.display()
    )]
    NotOurs {
        /// The build's directory.
        dir: PathBuf,
        /// What it is.
        found: String,
    },
    /// There is none.
    #[error(
        "opening the history in {}: found no history.db, expected one; it is made when the build is first served",
        .dir.display()
    )]
    Missing {
        /// The build's directory.
        dir: PathBuf,
    },
    /// Another process writes it.
    #[error("another oddleg already serves {}; stop it first", .dir.display())]
    Locked {
        /// The build's directory.
        dir: PathBuf,
    },
    /// The directory is on another machine.
    #[error(
        "opening the history in {}: found a {kind} file system, expected a local disk; locks and durable writes cannot be relied on over it, move the build to a local disk",
        .dir.display()
    )]
    NetworkFileSystem {
        /// The build's directory.
        dir: PathBuf,
        /// What it is.
        kind: &'static str,
    },
    /// An SQLite with a known fault.
    #[error(
        "opening the history: found SQLite {found}, expected {expected} or newer, which loses nothing when its log is reset; build with the bundled one"
    )]
    OldSqlite {
        /// The version linked.
        found: &'static str,
        /// The oldest one without the fault.
        expected: &'static str,
    },
    /// The database would not promise what is needed.
    #[error(
        "opening the history in {}: set {setting} to {expected}, found {found}; commits would not be durable, nothing was written",
        .dir.display()
    )]
    NotDurable {
        /// The build's directory.
        dir: PathBuf,
        /// The setting.
        setting: &'static str,
        /// What was asked for.
        expected: &'static str,
        /// What is in force.
        found: String,
    },
    /// An entry is not what was written.
    #[error(
        "reading the history in {}: entry {seq}: {why}; run `oddleg verify` on it, and put it back from a backup",
        .dir.display()
    )]
    Damaged {
        /// The build's directory.
        dir: PathBuf,
        /// The entry.
        seq: Seq,
        /// What is wrong with it.
        why: String,
    },
    /// A name that cannot be one.
    #[error(
        "making a history: found the name {found:?}, expected 1 to 128 bytes without spaces and without '+'"
    )]
    Origin {
        /// The name.
        found: String,
    },
    /// A key file that cannot be used stands where a new one would be made.
    #[error("making a history: a key file is in the way: {0}")]
    KeyInTheWay(KeyProblem),
    /// A file operation failed.
    #[error("{doing} {}: {source}", .path.display())]
    Io {
        /// What was being done.
        doing: &'static str,
        /// To which file.
        path: PathBuf,
        /// Why not.
        source: io::Error,
    },
    /// A database operation failed.
    #[error("{doing} the history in {}: {source}", .dir.display())]
    Sql {
        /// What was being done.
        doing: &'static str,
        /// The build's directory.
        dir: PathBuf,
        /// Why not.
        source: rusqlite::Error,
    },
}
