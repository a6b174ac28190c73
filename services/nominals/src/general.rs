//! ISO 2768-1:1989, general tolerances for linear and angular dimensions: whole numbers only.

use std::fmt;
use std::str::FromStr;

use shared_types::{Angle, Length, PM_PER_MM};

use crate::RuleError;

/// A tolerance class of ISO 2768-1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum GeneralTolerance {
    /// f
    Fine,
    /// m
    Medium,
    /// c
    Coarse,
    /// v
    VeryCoarse,
}

/// Why the standard gives no tolerance for a dimension.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoTolerance {
    /// Below 0.5 mm the tolerance stands beside the dimension.
    BelowHalfMillimetre,
    /// The class has no value for that size.
    NoValue,
}

/// Sizes up to and including (mm), and the tolerance of f, m, c, v in micrometres; 0 where the standard
/// has no value.
const LINEAR: [(i64, [i64; 4]); 8] = [
    (3, [50, 100, 200, 0]),
    (6, [50, 100, 300, 500]),
    (30, [100, 200, 500, 1_000]),
    (120, [150, 300, 800, 1_500]),
    (400, [200, 500, 1_200, 2_500]),
    (1_000, [300, 800, 2_000, 4_000]),
    (2_000, [500, 1_200, 3_000, 6_000]),
    (4_000, [0, 2_000, 4_000, 8_000]),
];

/// External radii up to and including (mm), and the tolerance of f, m, c, v in micrometres.
const RADII: [(i64, [i64; 4]); 3] = [
    (3, [200, 200, 400, 400]),
    (6, [500, 500, 1_000, 1_000]),
    (i64::MAX / PM_PER_MM, [1_000, 1_000, 2_000, 2_000]),
];

/// Shorter legs up to and including (mm), and the tolerance of f, m, c, v in minutes of arc.
const ANGULAR: [(i64, [i64; 4]); 5] = [
    (10, [60, 60, 90, 180]),
    (50, [30, 30, 60, 120]),
    (120, [20, 20, 30, 60]),
    (400, [10, 10, 15, 30]),
    (i64::MAX / PM_PER_MM, [5, 5, 10, 20]),
];

const MAS_PER_MINUTE: i64 = 60_000;

impl GeneralTolerance {
    /// The permitted deviation, plus and minus, of a length.
    ///
    /// # Errors
    /// Where the standard has none.
    pub fn linear(self, nominal: Length) -> Result<Length, NoTolerance> {
        let size_pm = nominal.abs().pm();
        if size_pm < PM_PER_MM / 2 {
            return Err(NoTolerance::BelowHalfMillimetre);
        }
        let row = LINEAR
            .iter()
            .find(|(up_to_mm, _)| size_pm <= up_to_mm * PM_PER_MM)
            .ok_or(NoTolerance::NoValue)?;
        match row.1[self.column()] {
            0 => Err(NoTolerance::NoValue),
            um => Length::from_pm(um * (PM_PER_MM / 1000)).ok_or(NoTolerance::NoValue),
        }
    }

    /// The permitted deviation, plus and minus, of an external radius.
    ///
    /// # Errors
    /// Where the standard has none.
    pub fn radius(self, nominal: Length) -> Result<Length, NoTolerance> {
        let size_pm = nominal.abs().pm();
        if size_pm < PM_PER_MM / 2 {
            return Err(NoTolerance::BelowHalfMillimetre);
        }
        let row = RADII
            .iter()
            .find(|(up_to_mm, _)| size_pm <= up_to_mm * PM_PER_MM)
            .ok_or(NoTolerance::NoValue)?;
        let um = row.1[self.column()];
        Length::from_pm(um * (PM_PER_MM / 1000)).ok_or(NoTolerance::NoValue)
    }

    /// The permitted deviation, plus and minus, of an angle whose shorter leg has that length.
    #[must_use]
    pub fn angular(self, shorter_leg: Length) -> Angle {
        let leg_pm = shorter_leg.abs().pm();
        let row = ANGULAR
            .iter()
            .find(|(up_to_mm, _)| leg_pm <= up_to_mm * PM_PER_MM)
            .expect("the last row takes every length");
        Angle::from_mas(row.1[self.column()] * MAS_PER_MINUTE).expect("at most three degrees")
    }

    const fn column(self) -> usize {
        match self {
            Self::Fine => 0,
            Self::Medium => 1,
            Self::Coarse => 2,
            Self::VeryCoarse => 3,
        }
    }

    const fn letter(self) -> char {
        ['f', 'm', 'c', 'v'][self.column()]
    }
}

impl fmt::Display for GeneralTolerance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "ISO 2768-1 {}", self.letter())
    }
}

/// `ISO 2768-1 m`, or the letter of the class alone.
impl FromStr for GeneralTolerance {
    type Err = RuleError;
    fn from_str(text: &str) -> Result<Self, RuleError> {
        [Self::Fine, Self::Medium, Self::Coarse, Self::VeryCoarse]
            .into_iter()
            .find(|class| text == class.to_string() || text == class.letter().to_string())
            .ok_or_else(|| RuleError::General(text.to_owned()))
    }
}
