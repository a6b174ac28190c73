//! How an event is handed in, and how the one who handed it in learns what became of it.

use std::fmt;

use crate::{Event, Seq};

/// Why a person's act cannot be done. Nothing is written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// No such bench.
    #[error("there is no bench {0:?}")]
    NoBench(String),
    /// No such part.
    #[error("there is no part {0:?} in this build")]
    NoPart(String),
    /// A piece number beyond the quantity.
    #[error(
        "part {part} has {quantity} {what}s, there is no {what} {number}; raise `quantity` in its file to make more",
        what = if *.pairs { "pair" } else { "piece" }
    )]
    NoPiece {
        /// The part.
        part: String,
        /// Pieces it has, or pairs.
        quantity: u32,
        /// Whether it is made in pairs.
        pairs: bool,
        /// The number asked for.
        number: u32,
    },
    /// A piece of a pair without its hand.
    #[error(
        "part {part} is made in pairs: number {number} is {part}/{number}L, the left one, and {part}/{number}R, the right one; say which"
    )]
    NoHand {
        /// The part.
        part: String,
        /// The number asked for.
        number: u32,
    },
    /// A hand of a part that has none.
    #[error("part {part} is not made in pairs: number {number} is {part}/{number}, without L or R")]
    NotHanded {
        /// The part.
        part: String,
        /// The number asked for.
        number: u32,
    },
    /// A piece not begun yet of a part whose file is gone.
    #[error(
        "the file of part {part} is no longer in this build, and {piece} is not begun: put the file back and start oddleg again to make it"
    )]
    Withdrawn {
        /// The part.
        part: String,
        /// The piece.
        piece: String,
    },
    /// Fit-up without a mating piece.
    #[error(
        "{piece} goes into {into}: say which {into} it is tried in before it is laid down at fit-up"
    )]
    NoMate {
        /// The piece.
        piece: String,
        /// The part it goes into.
        into: String,
    },
    /// A mating piece for a part that goes into nothing.
    #[error("part {part} goes into no other part; `[fit]` in its file says what it goes into")]
    NoFit {
        /// The part.
        part: String,
    },
    /// A mating piece of another part.
    #[error("{piece} goes into {into}, and {mate} is no {into}")]
    NotThatMate {
        /// The piece.
        piece: String,
        /// What was named.
        mate: String,
        /// The part it goes into.
        into: String,
    },
    /// A mating piece that nominals are to follow, without its readings.
    #[error(
        "{mate} cannot be followed yet: {lacking} has no reading that counts; measure it first"
    )]
    MateNotMeasured {
        /// The mating piece.
        mate: String,
        /// What of it is not measured.
        lacking: String,
    },
    /// A reading for what is computed.
    #[error("{0} is computed from other readings and never measured itself; measure those")]
    Derived(String),
    /// The piece lies on another bench.
    #[error("piece {piece} lies on {bench}; lay another piece there first")]
    Elsewhere {
        /// The piece.
        piece: String,
        /// The bench it lies on.
        bench: String,
    },
    /// The part has nothing to measure at that stage.
    #[error("part {part} has nothing to measure at stage {stage}")]
    NoStage {
        /// The part.
        part: String,
        /// The stage.
        stage: String,
    },
    /// Nothing lies on the bench.
    #[error("no piece lies on this bench; lay one down first")]
    NothingOnBench,
    /// No such characteristic at the stage.
    #[error("there is no characteristic {0:?} at this stage")]
    NoCharacteristic(String),
    /// The reading is neither held nor standing on this bench.
    #[error("entry {0} is not a reading that is held or still counts on this bench")]
    NoReading(Seq),
    /// The reading was judged already.
    #[error(
        "entry {0} was judged already; void it and measure again, so that it can be read rightly"
    )]
    Judged(Seq),
    /// The value is of another kind than the characteristic.
    #[error("a length cannot be a reading of an angle, nor an angle of a length")]
    WrongKind,
    /// The value cannot be understood that way.
    #[error(
        "found {form}, expected complement and supplement for an angle only, and a value that stays in range"
    )]
    NoForm {
        /// How it was to be.
        form: &'static str,
    },
    /// No such gauge at the bench.
    #[error("there is no gauge {gauge:?} at bench {bench}")]
    NoGauge {
        /// The gauge.
        gauge: String,
        /// The bench.
        bench: String,
    },
    /// The gauge has no such reference.
    #[error(
        "gauge {gauge} is checked against {known}, and not against {found:?}; name it in its `check_against`"
    )]
    NoReference {
        /// The gauge.
        gauge: String,
        /// What was named.
        found: String,
        /// What it has.
        known: String,
    },
    /// A gauge cannot be checked.
    #[error(
        "gauge {gauge} cannot be checked against {reference}: how far it may be off there is not known; state `limit_of_error` in its configuration"
    )]
    NoLimitOfError {
        /// The gauge.
        gauge: String,
        /// Against what.
        reference: String,
    },
    /// Typed entry is no instrument.
    #[error(
        "{0} is typed entry, and there is nothing to check; check the gauge whose readings are typed"
    )]
    NotAnInstrument(String),
    /// No check was begun.
    #[error("no check of gauge {0} was begun")]
    NotChecking(String),
    /// A piece that is not used.
    #[error(
        "{piece} was scrapped by {by}, entry {entry}: {reason}; take another piece, or void that entry if it was a mistake"
    )]
    Scrapped {
        /// The piece.
        piece: String,
        /// Who scrapped it.
        by: String,
        /// The entry of that disposition.
        entry: Seq,
        /// Why.
        reason: String,
    },
    /// Begun before the first article is released.
    #[error(
        "{piece} waits for the first article {first}, which still lacks {lacks}; finish {first} first, or state the reason for beginning {piece} now"
    )]
    NotReleased {
        /// The piece.
        piece: String,
        /// The first article.
        first: String,
        /// What it lacks.
        lacks: String,
    },
    /// Nothing that failed stands, and so there is nothing to decide.
    #[error(
        "{what} of {piece} has no failed reading that stands; a disposition says what is done about one"
    )]
    NotFailed {
        /// The piece.
        piece: String,
        /// The characteristic, or the whole piece.
        what: String,
    },
    /// Another reading stands than the person saw.
    #[error(
        "entry {seen} is not the reading of {what} that stands; look at the bench and decide again"
    )]
    NotStanding {
        /// The entry the person saw.
        seen: Seq,
        /// The characteristic.
        what: String,
    },
    /// An act that is somebody's, at a bench where nobody is named.
    #[error(
        "nobody is named at {bench}, and the record must say who did this; say who works at this bench first"
    )]
    NobodyNamed {
        /// The bench.
        bench: String,
    },
    /// A study that cannot be.
    #[error("a study of {gauge}: found {found} {what}, expected {expected}")]
    NoSuchStudy {
        /// The gauge.
        gauge: String,
        /// Of what.
        what: &'static str,
        /// How many there are.
        found: usize,
        /// How many there may be.
        expected: String,
    },
    /// An appraiser without a name of their own.
    #[error(
        "a study of {gauge}: found {found:?} among those who measure, expected a name for each, and each once"
    )]
    Appraiser {
        /// The gauge.
        gauge: String,
        /// What was found.
        found: String,
    },
    /// A tolerance of the wrong kind or none above zero.
    #[error(
        "a study of {gauge}: found a tolerance of {found}, expected one above zero that this gauge measures"
    )]
    StudyWidth {
        /// The gauge.
        gauge: String,
        /// What was found.
        found: String,
    },
    /// Nothing to resume or leave.
    #[error("there is no study of gauge {gauge} to {what}")]
    NoStudy {
        /// The gauge.
        gauge: String,
        /// Resume or leave.
        what: &'static str,
    },
    /// A text that must not be empty is.
    #[error("{0} is missing")]
    Missing(&'static str),
    /// A text is too long.
    #[error("{0} is longer than 500 bytes")]
    TooLong(&'static str),
}

/// What became of a submission.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// It is on disk as this entry.
    Committed(Seq),
    /// It was on disk already, as this entry.
    Known(Seq),
    /// It cannot be done; nothing was written.
    Refused(Refusal),
}

/// Called once with the outcome, after the commit. Dropping it uncalled means: not delivered.
pub struct Receipt(Box<dyn FnOnce(Outcome) + Send>);

impl Receipt {
    /// A receipt that calls `told`. It is called on the spine's thread and must not block.
    pub fn new(told: impl FnOnce(Outcome) + Send + 'static) -> Self {
        Self(Box::new(told))
    }

    /// For an event nobody waits for. A boxed closure without captures takes no memory.
    #[must_use]
    pub fn nobody() -> Self {
        Self(Box::new(|_| ()))
    }

    /// Tells the outcome.
    pub fn tell(self, outcome: Outcome) {
        (self.0)(outcome);
    }
}

impl fmt::Debug for Receipt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Receipt")
    }
}

/// An event handed in.
#[derive(Debug)]
pub struct Submission {
    /// When it was received, microseconds since 1970-01-01 UTC.
    pub at_us: i64,
    /// What happened.
    pub event: Event,
    /// Unique in the history for ever, where the sender has such an id: makes a redelivery harmless.
    pub key: Option<String>,
    /// Who waits.
    pub receipt: Receipt,
}
