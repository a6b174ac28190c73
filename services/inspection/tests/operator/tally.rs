//! What became of readings, by what the operator did.

use std::collections::BTreeMap;
use std::fmt;

/// What the operator did when a reading was sent.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Cause {
    /// What was due was measured with a gauge in order, and it is within its limits.
    AsDue,
    /// The same, and it is not.
    AsDueOut,
    /// The same, of a part whose whole batch is off by the same amount.
    BatchOff,
    /// After a fail: the same worked over, or the next one.
    AfterFail,
    OutOfOrder,
    WrongDimension,
    PressedTwice,
    UnitBumped,
    BadZero,
    Supplement,
    Complement,
    OtherSign,
    OtherPiece,
    OtherBench,
}

impl Cause {
    const fn words(self) -> &'static str {
        match self {
            Self::AsDue => "as due, within limits",
            Self::AsDueOut => "as due, out of limits",
            Self::BatchOff => "as due, out of limits, the whole batch off",
            Self::AfterFail => "again or the next after a fail",
            Self::OutOfOrder => "out of order",
            Self::WrongDimension => "wrong dimension",
            Self::PressedTwice => "pressed twice",
            Self::UnitBumped => "unit button bumped",
            Self::BadZero => "not zeroed",
            Self::Supplement => "supplement of an angle",
            Self::Complement => "complement of an angle",
            Self::OtherSign => "other sign",
            Self::OtherPiece => "another piece on the bench",
            Self::OtherBench => "gauge of the other bench",
        }
    }
}

/// What became of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Fate {
    /// Taken for what it is of.
    Right,
    /// Taken for something else, or at another value, that looks the same: it lies within the limits of what it was
    /// taken for, or the nominal of what it is of does. Nothing in the number tells.
    WrongAlike,
    /// Taken for something else or at another value, though the number could have told.
    WrongTold,
    /// Held, and what it is of is among the choices; of a second press and a gauge of the other bench, that it is one is
    /// the reason.
    HeldWithTruth,
    /// Held without that.
    Held,
}

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Tally {
    fates: BTreeMap<Cause, BTreeMap<Fate, u64>>,
    /// Held because the gauge seemed not to be at nought: when it was not, and when it was.
    not_zeroed: [u64; 2],
}

impl Tally {
    pub(crate) fn count(&mut self, cause: Cause, fate: Fate) {
        *self
            .fates
            .entry(cause)
            .or_default()
            .entry(fate)
            .or_default() += 1;
    }

    pub(crate) fn of(&self, cause: impl Fn(Cause) -> bool, fate: impl Fn(Fate) -> bool) -> u64 {
        let causes = self.fates.iter().filter(|(c, _)| cause(**c));
        causes
            .flat_map(|(_, fates)| fates.iter().filter(|(f, _)| fate(**f)))
            .map(|(_, count)| count)
            .sum()
    }

    pub(crate) fn readings(&self) -> u64 {
        self.of(|_| true, |_| true)
    }

    /// A reading waits because the gauge seems not to be at nought; whether it is.
    pub(crate) fn not_zeroed(&mut self, at_nought: bool) {
        self.not_zeroed[usize::from(at_nought)] += 1;
    }

    /// So many waited for that when it was not at nought, and when it was.
    pub(crate) fn waited_not_zeroed(&self) -> [u64; 2] {
        self.not_zeroed
    }

    pub(crate) fn wrong(&self, fate: Fate) -> u64 {
        self.of(|_| true, |f| f == fate)
    }

    /// Of readings of what was asked for: all, and those held.
    pub(crate) fn held(&self, cause: impl Fn(Cause) -> bool) -> (u64, u64) {
        let held = |fate| matches!(fate, Fate::Held | Fate::HeldWithTruth);
        (self.of(&cause, |_| true), self.of(&cause, held))
    }

    pub(crate) fn add(&mut self, other: &Self) {
        for (sum, count) in self.not_zeroed.iter_mut().zip(other.not_zeroed) {
            *sum += count;
        }
        for (cause, fates) in &other.fates {
            for (fate, count) in fates {
                *self
                    .fates
                    .entry(*cause)
                    .or_default()
                    .entry(*fate)
                    .or_default() += count;
            }
        }
    }
}

/// As a table.
impl fmt::Display for Tally {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "| what was done | taken right | taken wrong, looks the same | taken wrong, could be told | held, offered | held, not offered |\n|---|---|---|---|---|---|"
        )?;
        for (cause, fates) in &self.fates {
            let of = |fate| fates.get(&fate).copied().unwrap_or(0);
            writeln!(
                f,
                "| {} | {} | {} | {} | {} | {} |",
                cause.words(),
                of(Fate::Right),
                of(Fate::WrongAlike),
                of(Fate::WrongTold),
                of(Fate::HeldWithTruth),
                of(Fate::Held),
            )?;
        }
        let [off, right] = self.not_zeroed;
        writeln!(
            f,
            "held as not zeroed: {off} where the gauge was not, {right} where it was"
        )
    }
}
