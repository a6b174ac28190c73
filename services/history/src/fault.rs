//! What `verify` can find wrong, in words that name the entry.

use std::fmt;

use shared_types::Seq;

use crate::HistoryError;

/// Most faults reported one by one: a history cut to pieces has one per entry, and nobody reads them all.
const FAULTS_MAX: usize = 100;

/// Something about a history that is not as it was written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// SQLite finds its file damaged.
    #[error("the database file is damaged: {0}")]
    File(String),
    /// A table, trigger, index or view.
    #[error("{0}")]
    Schema(String),
    /// A body that is not the one its leaf was made of.
    #[error(
        "entry {seq}: its body is not the one its leaf was made of: one of the two was altered"
    )]
    Body {
        /// The entry.
        seq: Seq,
    },
    /// A body that is no fact.
    #[error("entry {seq}: {why}")]
    Unreadable {
        /// The entry.
        seq: Seq,
        /// What is wrong.
        why: String,
    },
    /// Entries that are not there.
    #[error("{} missing", run(*.first, *.last))]
    Missing {
        /// The first.
        first: Seq,
        /// The last.
        last: Seq,
    },
    /// A row before the first.
    #[error("found a row numbered {0}, expected none before 1")]
    Stray(i64),
    /// The end is gone.
    #[error(
        "{} cut off: a checkpoint ({whose}) covers {size} entries",
        run(Seq(.newest.0 + 1), Seq(*.size))
    )]
    Cut {
        /// The newest entry there is.
        newest: Seq,
        /// What the checkpoint covers.
        size: u64,
        /// Whose checkpoint it is.
        whose: Whose,
    },
    /// A consistent rewrite.
    #[error(
        "entries {first} to {size} are not those the checkpoint of {size} entries ({whose}) was made of: at least one was altered, inserted, removed or moved there",
        first = .agreed + 1
    )]
    Rewritten {
        /// The largest size at which a checkpoint of the same source agrees.
        agreed: u64,
        /// The size of the first that does not.
        size: u64,
        /// Whose checkpoint it is.
        whose: Whose,
    },
    /// An entry that differs from a copy.
    #[error("entry {seq}: it is not what the other copy holds")]
    Unlike {
        /// The entry.
        seq: Seq,
    },
    /// Another history's checkpoint.
    #[error(
        "the checkpoint of {size} entries ({whose}) is of {found:?}, this history is {expected:?}"
    )]
    Origin {
        /// Its size.
        size: u64,
        /// Whose checkpoint it is.
        whose: Whose,
        /// The name found.
        found: String,
        /// The name of this history.
        expected: String,
    },
    /// A signature that is not by this history's key.
    #[error("the checkpoint of {size} entries ({whose}) is not signed by this history's key")]
    Signature {
        /// Its size.
        size: u64,
        /// Whose checkpoint it is.
        whose: Whose,
    },
    /// A kept checkpoint that is gone or unreadable.
    #[error("the checkpoint kept of {size} entries {why}")]
    Kept {
        /// Its size.
        size: u64,
        /// What is wrong.
        why: String,
    },
}

/// Where a checkpoint comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whose {
    /// It was handed to `verify`.
    Given,
    /// It is kept in the database itself.
    Kept,
}

impl fmt::Display for Whose {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Given => "given",
            Self::Kept => "kept in the history",
        })
    }
}

/// All faults found, in the order of the checks.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Faults {
    list: Vec<Fault>,
    more: u64,
}

impl Faults {
    /// The faults, the first hundred one by one.
    #[must_use]
    pub fn list(&self) -> &[Fault] {
        &self.list
    }

    /// How many more there are.
    #[must_use]
    pub const fn more(&self) -> u64 {
        self.more
    }

    pub(crate) fn add(&mut self, fault: Fault) {
        if self.list.len() < FAULTS_MAX {
            self.list.push(fault);
        } else {
            self.more += 1;
        }
    }

    /// `value` where there is no fault.
    pub(crate) fn none_or<T>(self, value: T) -> Result<T, VerifyError> {
        if self.list.is_empty() {
            Ok(value)
        } else {
            Err(VerifyError::Altered(self))
        }
    }
}

/// One fault a line.
impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (n, fault) in self.list.iter().enumerate() {
            let line_feed = if n == 0 { "" } else { "\n" };
            write!(f, "{line_feed}{fault}")?;
        }
        if self.more > 0 {
            write!(f, "\nand {} more", self.more)?;
        }
        Ok(())
    }
}

/// Why a history does not pass.
#[derive(Debug, thiserror::Error)]
pub enum VerifyError {
    /// It cannot be looked at.
    #[error(transparent)]
    Unread(#[from] HistoryError),
    /// It is not what was written.
    #[error("the history is not as it was written:\n{0}")]
    Altered(Faults),
}

/// Why exported bodies are not what a checkpoint was made of.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BodiesFault {
    /// A body that is no fact.
    #[error("entry {seq}: {why}")]
    Unreadable {
        /// The entry.
        seq: Seq,
        /// What is wrong.
        why: String,
    },
    /// More or fewer than the checkpoint covers.
    #[error("found {found} entries, expected the {expected} its checkpoint covers")]
    Count {
        /// Entries found.
        found: u64,
        /// Entries covered.
        expected: u64,
    },
    /// The right number of entries, but not those.
    #[error(
        "the entries are not those its checkpoint was made of: at least one was altered or moved; compare it with the history to see which"
    )]
    Root,
}

/// One entry or several, with the verb.
fn run(first: Seq, last: Seq) -> String {
    if first == last {
        format!("entry {first} is")
    } else {
        format!("entries {first} to {last} are")
    }
}
