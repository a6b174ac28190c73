//! How much a material grows with its temperature.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::length::{decimal, trim_decimal};
use crate::number::Number;

/// Largest coefficient: a caliper of plastic has less, and what is written without its exponent is far beyond.
pub const EXPANSION_MAX_E9: u32 = 200_000;

/// A coefficient of linear expansion: a whole number of 1e-9 a kelvin, at most [`EXPANSION_MAX_E9`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Expansion(u32);

impl Expansion {
    /// Gauge steel: 11.5e-6 / K, as ISO 3650 has it for gauge blocks (± 1.0e-6).
    pub const STEEL: Self = Self(11_500);

    /// A coefficient in 1e-9 a kelvin; `None` beyond the largest.
    #[must_use]
    pub const fn from_e9(e9: u32) -> Option<Self> {
        if e9 <= EXPANSION_MAX_E9 {
            Some(Self(e9))
        } else {
            None
        }
    }

    /// In 1e-9 a kelvin.
    #[must_use]
    pub const fn e9(self) -> u32 {
        self.0
    }
}

/// A coefficient of expansion and where it comes from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StatedExpansion {
    /// The coefficient.
    pub value: Expansion,
    /// Its source in words.
    pub source: String,
}

/// `23.6e-6 / K`. Parsing it gives the same coefficient.
impl fmt::Display for Expansion {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}e-6 / K", trim_decimal(&decimal(self.0.into(), 3)))
    }
}

/// Not a coefficient of expansion.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "expected 0 to 200e-6 a kelvin in steps of 1e-9, such as \"23.6e-6 / K\" or \"13.1e-6 / F\""
)]
pub struct NoExpansion;

/// `23.6e-6 / K`, `23.6e-6/°C`, `13.1e-6 / F`.
impl FromStr for Expansion {
    type Err = NoExpansion;

    fn from_str(text: &str) -> Result<Self, NoExpansion> {
        let (number, per) = text.split_once('/').ok_or(NoExpansion)?;
        let per = per.trim();
        let per_e9 = match per.strip_prefix('°').unwrap_or(per).trim_start() {
            "K" | "C" => 1000,
            // 9/5 of a kelvin's.
            "F" => 1800,
            _ => return Err(NoExpansion),
        };
        let number = number.trim();
        let digits = number
            .strip_suffix("e-6")
            .or_else(|| number.strip_suffix("E-6"))
            .ok_or(NoExpansion)?;
        let number = Number::parse(digits.trim_end(), '.').map_err(|_| NoExpansion)?;
        let e9 = number.whole(per_e9).ok_or(NoExpansion)?;
        u32::try_from(e9)
            .ok()
            .and_then(Self::from_e9)
            .ok_or(NoExpansion)
    }
}

impl TryFrom<String> for Expansion {
    type Error = NoExpansion;
    fn try_from(text: String) -> Result<Self, NoExpansion> {
        text.parse()
    }
}

impl From<Expansion> for String {
    fn from(expansion: Expansion) -> Self {
        expansion.to_string()
    }
}
