//! The decision rule: which readings prove what. In integers.
//!
//! Zones are computed once from limits and uncertainty; a reading is then compared with them along the number line.

mod settle;
mod zones;

pub use settle::{REPEATS_MAX, Settle, settle, uncertainty_of_mean};
pub use zones::{ANGLE_GRAIN_MAS, LENGTH_GRAIN_PM, Zones};

use std::fmt;

use crate::uncertainty::Probability;

/// How readings are judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// The reading against the limits, whatever its uncertainty.
    Plain,
    /// ISO 14253-1: proved inside, proved outside, otherwise undecided.
    Guarded(Probability),
    /// ASME B89.7.3.1, N to 1: the reading against the limits, by a gauge whose expanded uncertainty (k = 2), taken both
    /// ways, fits N times into the tolerance.
    Ratio(u32),
}

impl fmt::Display for Rule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Plain => f.write_str("plain: the reading against the limits"),
            Self::Guarded(p) => write!(f, "guarded: proved with {p} probability (ISO 14253-1)"),
            Self::Ratio(n) => write!(f, "ratio: a gauge {n} to 1 (ASME B89.7.3.1)"),
        }
    }
}

/// What a reading proves by a rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ruling {
    /// Within its limits.
    Pass,
    /// Below the lower limit.
    TooSmall,
    /// Above the upper limit.
    TooLarge,
    /// None of these.
    Undecided,
}

impl Ruling {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::TooSmall => "too small",
            Self::TooLarge => "too large",
            Self::Undecided => "undecided",
        }
    }
}
