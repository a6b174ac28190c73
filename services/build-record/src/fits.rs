//! Every naming of a mating piece, and what it made of nominals and limits.

use serde::Serialize;
use shared_types::{Quantity, Seq};

use crate::ledger::{Fitting, Ledger};
use crate::when::when;

/// A naming in the record.
#[derive(Serialize)]
pub(crate) struct FitRecord<'a> {
    entry: Seq,
    at: String,
    operator: &'a str,
    piece: String,
    mate: String,
    /// What moved with the mating piece as measured; empty where the plan's own nominals hold.
    nominals: Vec<MovedRecord>,
}

#[derive(Serialize)]
struct MovedRecord {
    characteristic: String,
    nominal: String,
    lower: Option<String>,
    upper: Option<String>,
    /// The mating piece's reading.
    from: Seq,
}

impl<'a> FitRecord<'a> {
    pub(crate) fn new(ledger: &Ledger<'a>, entry: Seq, fitting: &Fitting<'_>) -> Self {
        let text = |limit: Option<Quantity>| limit.map(|l| l.to_string());
        let moved = fitting.nominals.iter().map(|n| MovedRecord {
            characteristic: n.characteristic.to_string(),
            nominal: n.nominal.to_string(),
            lower: text(n.limits.lower()),
            upper: text(n.limits.upper()),
            from: n.from,
        });
        Self {
            entry,
            at: when(fitting.at_us),
            operator: ledger.by.get(&entry).copied().unwrap_or_default(),
            piece: fitting.piece.to_string(),
            mate: fitting.mate.to_string(),
            nominals: moved.collect(),
        }
    }
}
