//! Why a statistic cannot be computed.

/// What was asked for, what was found, and what it needs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TrendsError {
    /// Fewer values than the statistic needs.
    #[error("computing {what}: found {found}, expected at least {least}, measure more")]
    TooFew {
        /// The statistic.
        what: &'static str,
        /// How many there are.
        found: usize,
        /// How many it needs.
        least: usize,
    },
    /// More values than the statistic takes.
    #[error("computing {what}: found {found}, expected at most {most}, leave out the oldest")]
    TooMany {
        /// The statistic.
        what: &'static str,
        /// How many there are.
        found: usize,
        /// How many it takes.
        most: usize,
    },
    /// Groups of unlike size where they must be alike.
    #[error("computing {what}: found a group of {found}, expected {expected} as in the first one")]
    Uneven {
        /// The statistic.
        what: &'static str,
        /// The size of the group that differs.
        found: usize,
        /// The size of the first.
        expected: usize,
    },
    /// All values are alike, so that nothing can be told about their scatter.
    #[error("computing {what}: all values are alike, expected some scatter, use a finer gauge")]
    NoScatter {
        /// The statistic.
        what: &'static str,
    },
    /// The values lie so far apart that their exact sums do not fit.
    #[error(
        "computing {what}: the values lie too far apart for exact sums, look for one that is not of this characteristic"
    )]
    TooSpread {
        /// The statistic.
        what: &'static str,
    },
    /// A length where an angle belongs, or the other way round.
    #[error("computing {what}: found a length and an angle, expected one kind")]
    WrongKind {
        /// The statistic.
        what: &'static str,
    },
    /// A parameter outside the range in which it means something.
    #[error("computing {what}: {parameter} is out of range, expected {expected}")]
    OutOfRange {
        /// The statistic.
        what: &'static str,
        /// The parameter.
        parameter: &'static str,
        /// Its range.
        expected: &'static str,
    },
}
