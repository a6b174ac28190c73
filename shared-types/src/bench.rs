//! What the shop is made of while it runs: benches, gauges, readings that wait.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::{
    Candidate, CharacteristicId, Checks, Correction, DerivedFinding, Garbled, GaugeId, GaugeState,
    Grounds, HeldReason, PieceId, Quantity, Reading, SameOffset, Seq, Stage, Studies, StudyCell,
    Temperatures, Verdict,
};

/// Held readings kept in memory for one bench. Older ones stay held in the history, but can no longer be assigned.
pub const HELD_KEPT_MAX: usize = 256;

/// A gauge as it was last seen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GaugeSight {
    /// How it is.
    pub state: GaugeState,
    /// Its last readable value.
    pub last: Option<Reading>,
    /// When it last sent anything.
    pub last_at_us: Option<i64>,
    /// Frames that were readings. With `garbled` and `suppressed` these are all its frames.
    pub readings: u64,
    /// Of the readings, those that were held when they came.
    pub held: u64,
    /// Frames that could not be read.
    pub garbled: u64,
    /// Frames that were no new reading.
    pub suppressed: u64,
    /// What the gauge itself complained of, until it gives a reading again.
    pub trouble: Option<Garbled>,
    /// Its checks, and the readings they put in doubt.
    pub checks: Checks,
    /// Studies of it.
    pub studies: Studies,
}

/// Why a characteristic is the one due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Due {
    /// The route came to it.
    Route,
    /// A person picked it.
    Picked,
    /// It has just failed: the next reading may be of it again, or of the one after it.
    JustFailed,
}

/// A place where one piece lies.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Bench {
    /// Who works there; empty where nobody said so.
    pub operator: String,
    /// What lies there, and at which stage.
    pub on_bench: Option<(PieceId, Stage)>,
    /// What is to be measured next, and why.
    pub due: Option<(CharacteristicId, Due)>,
    /// The last thing a gauge of this bench sent, and what became of it.
    pub last: Option<Last>,
    /// Readings that wait for a person.
    pub held: BTreeMap<Seq, Held>,
    /// Held readings no longer kept in memory.
    pub held_older: u64,
    /// How warm it was said to be.
    pub temperatures: Temperatures,
}

/// A reading that waits for a person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Held {
    /// When it came.
    pub at_us: i64,
    /// From which gauge.
    pub gauge: GaugeId,
    /// What it said.
    pub reading: Reading,
    /// Why it waits.
    pub reason: HeldReason,
    /// What lay on the bench when it came.
    pub on_bench: Option<(PieceId, Stage)>,
    /// The mating piece that what lay there was tried in when it came.
    pub into: Option<PieceId>,
    /// What it may be.
    pub candidates: Vec<Candidate>,
    /// Where the gauge may not be at nought: by how much.
    pub offset: Option<SameOffset>,
    /// How warm it was said to be when it came.
    pub temperatures: Temperatures,
}

/// The last thing sent at a bench.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Last {
    /// Its entry.
    pub seq: Seq,
    /// When it came.
    pub at_us: i64,
    /// From which gauge.
    pub gauge: GaugeId,
    /// What it said; `None` where it was garbled.
    pub reading: Option<Reading>,
    /// What became of it.
    pub became: Became,
}

/// What became of the last thing sent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Became {
    /// Matched and judged.
    Judged {
        /// Piece.
        piece: PieceId,
        /// Characteristic.
        characteristic: CharacteristicId,
        /// The revision it was judged by.
        revision: Seq,
        /// The value judged.
        value: Quantity,
        /// Verdict.
        verdict: Verdict,
        /// The entry that moved nominal and limits.
        fitted: Option<Seq>,
        /// What it completed.
        derived: Vec<DerivedFinding>,
        /// How it was corrected to 20 °C, or why not, where that was asked for.
        correction: Option<Correction>,
        /// What the verdict rests on.
        grounds: Option<Arc<Grounds>>,
    },
    /// A check of the gauge.
    Checked {
        /// The reference's name.
        reference: String,
        /// Its size.
        wanted: Quantity,
        /// How far off the gauge may be there.
        limit: Quantity,
        /// Whether it is.
        verdict: Verdict,
    },
    /// A reading of a study of the gauge.
    Studied {
        /// The study's entry.
        study: Seq,
        /// Where in it.
        cell: StudyCell,
    },
    /// Held for a person.
    Held(HeldReason),
    /// Held, and a person has said it is of nothing.
    Dismissed,
    /// Judged, and a person has said it does not count.
    Voided,
    /// Not a reading.
    Garbled(Garbled, Vec<u8>),
}
