//! The only crate that knows the document: what a build record contains and how it is laid out as
//! CSV and as JSON. A pure function of the entries: the same history gives the same bytes, on any
//! machine and at any time of day, so two records of one history can be compared byte for byte.
//!
//! * [`csv`] has one row for everything a gauge ever sent, in order, with what became of it; then
//!   rows of kind `caution` and one of kind `checkpoint`. It is for a spreadsheet.
//! * [`json`] has the plans, pieces and corrections worked out, and every entry's stored text, so
//!   that the root of the history's Merkle tree can be computed again from the file alone.

mod cell;
mod checks;
mod climate;
mod computed;
mod decisions;
mod fits;
mod grounds;
mod ledger;
mod sheet;
mod studies;
mod tree;
mod when;
mod who;

use shared_types::Entry;

pub use sheet::{COLUMNS, csv};
pub use tree::{FORMAT, json};

/// One entry, read and as stored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// What it says.
    pub entry: Entry,
    /// The stored text, to the byte: the leaf of the Merkle tree is made from it.
    pub body: String,
}

/// What a record is made from.
#[derive(Clone, Copy, Debug)]
pub struct Source<'a> {
    /// The whole history from entry 1, in order.
    pub rows: &'a [Row],
    /// The checkpoint of exactly these entries as text; empty where there is none.
    pub checkpoint: &'a str,
}

/// What a reader of the record must know; part of every record.
pub const CAUTIONS: [&str; 3] = [
    "This record compares numbers with the plan. It does not say that a part may fly: the plans, \
     the local rules and a licensed inspector decide.",
    "Each verdict was made by the rule beside it. By \"plain\", and where none stands, it is the reading against its \
     limits, whatever the uncertainty of the gauge.",
    "The checkpoint shows that these entries were not altered since it was made. It shows nothing \
     about what was never sent to the history.",
];
