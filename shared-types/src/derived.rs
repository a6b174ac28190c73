//! A characteristic that nobody measures: it is computed from readings of others.

use serde::{Deserialize, Serialize};

use crate::CharacteristicId;

/// Fewest readings of a mean: of one there is none.
pub const MEAN_READINGS_MIN: u8 = 2;

/// Most readings of a mean. Twenty-five is what a gauge study asks of one dimension, and more than
/// anybody measures to see whether a piece is right.
pub const MEAN_READINGS_MAX: u8 = 25;

/// How it is computed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Derived {
    /// The first less the second.
    Difference {
        /// Of these two, as they stand.
        of: [CharacteristicId; 2],
        /// Without its sign: a difference of diagonals has none, a taper has one.
        absolute: bool,
    },
    /// The mean of the last `readings` readings that count, rounded half to even to a whole number of
    /// picometres or milliarcseconds.
    Mean {
        /// Of this one.
        of: CharacteristicId,
        /// So many, from [`MEAN_READINGS_MIN`] to [`MEAN_READINGS_MAX`].
        readings: u8,
    },
}

impl Derived {
    /// What it is computed from.
    #[must_use]
    pub fn inputs(&self) -> &[CharacteristicId] {
        match self {
            Self::Difference { of, .. } => of,
            Self::Mean { of, .. } => std::slice::from_ref(of),
        }
    }
}
