//! Why there is no uncertainty, or no rule to judge by.

use shared_types::Quantity;

/// What was asked for, what was found and what it needs.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum InspectionError {
    /// A budget without parts, or whose parts are all zero.
    #[error(
        "combining an uncertainty: every part is zero, expected one above it, a gauge has at least its resolution"
    )]
    NothingUncertain,
    /// A part that is no uncertainty.
    #[error(
        "combining an uncertainty: the part {name:?} is negative or no number, expected zero or more"
    )]
    NotAnUncertainty {
        /// The part.
        name: String,
    },
    /// Degrees of freedom below one.
    #[error(
        "combining an uncertainty: the part {name:?} has fewer than one degree of freedom, expected one or more, or none stated where it is well known"
    )]
    TooLittleFreedom {
        /// The part.
        name: String,
    },
    /// A length where an angle belongs, or the other way round.
    #[error("judging by an uncertainty: found a length and an angle, expected one kind")]
    WrongKind,
    /// An uncertainty of nothing or less.
    #[error(
        "judging by an uncertainty: found {u}, expected more than nothing, state the gauge's limit of error"
    )]
    NoUncertainty {
        /// What was given.
        u: Quantity,
    },
    /// The ratio rule against one limit alone.
    #[error(
        "judging by a ratio: found one limit only, expected two, use the guarded rule for this characteristic"
    )]
    OneLimit,
    /// The ratio rule with a ratio of nothing.
    #[error("judging by a ratio: found 0 to 1, expected at least 1 to 1, 4 to 1 is usual")]
    NoRatio,
    /// The gauge is too coarse for the tolerance.
    #[error(
        "judging by a ratio: this gauge has {}.{} to 1 for this tolerance, expected at least {wanted} to 1, take a finer gauge",
        found_tenths / 10, found_tenths % 10
    )]
    GaugeTooCoarse {
        /// Tolerance over expanded uncertainty interval, in tenths, rounded down.
        found_tenths: i64,
        /// What the rule asks for.
        wanted: u32,
    },
    /// A limit that leaves the range of its kind once it is moved by the guard band.
    #[error("guarding limits: found an uncertainty of {u}, expected that of a gauge")]
    OutOfRange {
        /// What was given.
        u: Quantity,
    },
}
