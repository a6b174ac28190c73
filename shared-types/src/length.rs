//! Length, exact.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::number::Number;
use crate::{QuantityError, Unit};

/// Picometres in one millimetre.
pub const PM_PER_MM: i64 = 1_000_000_000;
/// Picometres in one inch (25.4 mm exactly).
pub const PM_PER_INCH: i64 = 25_400_000_000;
/// Largest magnitude of a [`Length`]: one kilometre. Far beyond any sheet, and small enough that sums
/// and differences of two lengths can never overflow, whatever a gauge sends.
pub const LENGTH_MAX_PM: i64 = 1_000_000_000_000_000;

/// A length: a whole number of picometres, at most ±1 km.
///
/// Every inch fraction down to 1/128, every 0.0001 in and every decimal of a millimetre down to
/// 1e-9 mm is whole.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(try_from = "i64", into = "i64")]
pub struct Length(i64);

impl Length {
    /// No length.
    pub const ZERO: Self = Self(0);

    /// A length of `pm` picometres, or `None` beyond ±[`LENGTH_MAX_PM`].
    #[must_use]
    pub const fn from_pm(pm: i64) -> Option<Self> {
        if pm >= -LENGTH_MAX_PM && pm <= LENGTH_MAX_PM {
            Some(Self(pm))
        } else {
            None
        }
    }

    /// The length in picometres.
    #[must_use]
    pub const fn pm(self) -> i64 {
        self.0
    }

    /// Parses a length with its unit: `286 mm`, `11 1/4 in`, `0.032 in`, `3/8"`.
    ///
    /// # Errors
    /// As [`crate::Quantity::parse`]; an angle is [`QuantityError::WrongKind`].
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        match crate::Quantity::parse(text)? {
            crate::Quantity::Length(length) => Ok(length),
            crate::Quantity::Angle(_) => Err(QuantityError::WrongKind),
        }
    }

    pub(crate) fn from_number(number: Number, unit: Unit) -> Result<Self, QuantityError> {
        let per_unit = unit.pm().ok_or(QuantityError::WrongKind)?;
        let pm = number
            .whole(i128::from(per_unit))
            .ok_or(QuantityError::NotExact)?;
        i64::try_from(pm)
            .ok()
            .and_then(Self::from_pm)
            .ok_or(QuantityError::OutOfRange)
    }

    /// The length as a fraction of an inch with a power of two up to 1/128 below the line, where it is one.
    #[must_use]
    pub fn inch_fraction(self) -> Option<InchFraction> {
        let scaled = i128::from(self.0) * 128;
        if scaled % i128::from(PM_PER_INCH) != 0 {
            return None;
        }
        let parts = i64::try_from(scaled / i128::from(PM_PER_INCH)).ok()?;
        let (mut over, mut under) = (parts.unsigned_abs() % 128, 128);
        while over != 0 && over % 2 == 0 {
            over /= 2;
            under /= 2;
        }
        let under = if over == 0 { 1 } else { under };
        Some(InchFraction {
            negative: parts < 0,
            whole: parts.unsigned_abs() / 128,
            over,
            under,
        })
    }

    /// The exact decimal inches (without unit), or `None` where they have no end.
    #[must_use]
    pub fn exact_inches(self) -> Option<String> {
        // 25.4e9 pm = 127 × 2e8: a finite decimal exists exactly where 127 divides the picometres.
        (self.0 % 127 == 0).then(|| {
            // Inches = pm / (127 × 2e8) = (pm / 127) × 5 / 1e9.
            trim_decimal(&decimal(i128::from(self.0 / 127) * 5, 9))
        })
    }

    /// Decimal text in `unit`, rounded half to even to `places` decimals; no unit is written.
    #[must_use]
    pub fn rounded(self, unit: Unit, places: u32) -> String {
        let per_unit = i128::from(unit.pm().unwrap_or(PM_PER_MM));
        let scale = 10_i128.pow(places.min(12));
        decimal(
            divide_half_even(i128::from(self.0) * scale, per_unit),
            places.min(12),
        )
    }

    /// `self × over / under`, rounded half to even to a picometre; `None` beyond the range of a length, or where the
    /// ratio is of larger numbers than 1e23 or not above zero.
    #[must_use]
    pub fn scaled(self, over: i128, under: i128) -> Option<Self> {
        /// With it the product of any length stays inside `i128`.
        const PART_MAX: i128 = 100_000_000_000_000_000_000_000;
        let parts = 1..=PART_MAX;
        if !parts.contains(&over) || !parts.contains(&under) {
            return None;
        }
        let scaled = divide_half_even(i128::from(self.0) * over, under);
        i64::try_from(scaled).ok().and_then(Self::from_pm)
    }

    /// Absolute value.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }
}

/// `number / 10^places` as text, sign kept for values between −1 and 0.
pub(crate) fn decimal(number: i128, places: u32) -> String {
    let sign = if number < 0 { "-" } else { "" };
    let magnitude = number.unsigned_abs();
    let scale = 10_u128.pow(places);
    if places == 0 {
        return format!("{sign}{magnitude}");
    }
    format!(
        "{sign}{}.{:0width$}",
        magnitude / scale,
        magnitude % scale,
        width = places as usize
    )
}

/// Quotient rounded half to even: the only place in this crate that rounds.
pub(crate) fn divide_half_even(dividend: i128, divisor: i128) -> i128 {
    let quotient = dividend.div_euclid(divisor);
    let twice = dividend.rem_euclid(divisor) * 2;
    match twice.cmp(&divisor) {
        std::cmp::Ordering::Less => quotient,
        std::cmp::Ordering::Greater => quotient + 1,
        std::cmp::Ordering::Equal => quotient + quotient.rem_euclid(2),
    }
}

/// Drops zeros after the decimal mark, and the mark where nothing follows.
pub(crate) fn trim_decimal(text: &str) -> String {
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text.to_owned()
    }
}

/// Exact millimetres: `12.7 mm`. Parsing it gives the same length.
impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mm", trim_decimal(&decimal(i128::from(self.0), 9)))
    }
}

impl TryFrom<i64> for Length {
    type Error = QuantityError;
    fn try_from(pm: i64) -> Result<Self, Self::Error> {
        Self::from_pm(pm).ok_or(QuantityError::OutOfRange)
    }
}

impl From<Length> for i64 {
    fn from(length: Length) -> Self {
        length.0
    }
}

/// A fraction of an inch as it stands on a rule: `11 1/4`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct InchFraction {
    /// Below zero.
    pub negative: bool,
    /// Whole inches.
    pub whole: u64,
    /// Above the line; 0 where the inches are whole.
    pub over: u64,
    /// Below the line: 1, 2, 4 … 128.
    pub under: u64,
}

/// `11 1/4 in`, `3/8 in`, `-2 in`. Parsing it gives the same length.
impl fmt::Display for InchFraction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.negative {
            f.write_str("-")?;
        }
        match (self.whole, self.over) {
            (whole, 0) => write!(f, "{whole} in"),
            (0, over) => write!(f, "{over}/{} in", self.under),
            (whole, over) => write!(f, "{whole} {over}/{} in", self.under),
        }
    }
}
