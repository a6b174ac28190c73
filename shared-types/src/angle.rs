//! Angle, exact.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::QuantityError;
use crate::length::{decimal, divide_half_even, trim_decimal};
use crate::number::{NUMBER_BYTES_MAX, Number};

/// Largest magnitude of an [`Angle`]: ten turns, so that sums can never overflow.
pub const ANGLE_MAX_MAS: i64 = 3600 * MAS_PER_DEGREE;
const MAS_PER_DEGREE: i64 = 3_600_000;

/// An angle: a whole number of milliarcseconds (1/3 600 000 of a degree), at most ±3600°.
///
/// Every 0.00001° that ends in an even hundred-thousandth, every 0.001° and every second is whole.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(try_from = "i64", into = "i64")]
pub struct Angle(i64);

impl Angle {
    /// No angle.
    pub const ZERO: Self = Self(0);

    /// An angle of `mas` milliarcseconds, or `None` beyond ±[`ANGLE_MAX_MAS`].
    #[must_use]
    pub const fn from_mas(mas: i64) -> Option<Self> {
        if mas >= -ANGLE_MAX_MAS && mas <= ANGLE_MAX_MAS {
            Some(Self(mas))
        } else {
            None
        }
    }

    /// The angle in milliarcseconds.
    #[must_use]
    pub const fn mas(self) -> i64 {
        self.0
    }

    /// Parses an angle with its unit: `90 deg`, `1.5°`, `1°30'`, `-0°15'00"`.
    ///
    /// # Errors
    /// As [`crate::Quantity::parse`]; a length is [`QuantityError::WrongKind`].
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        match crate::Quantity::parse(text)? {
            crate::Quantity::Angle(angle) => Ok(angle),
            crate::Quantity::Length(_) => Err(QuantityError::WrongKind),
        }
    }

    /// Decimal degrees.
    pub(crate) fn from_degrees(number: Number) -> Result<Self, QuantityError> {
        let mas = number
            .whole(i128::from(MAS_PER_DEGREE))
            .ok_or(QuantityError::NotExact)?;
        i64::try_from(mas)
            .ok()
            .and_then(Self::from_mas)
            .ok_or(QuantityError::OutOfRange)
    }

    /// Degrees, minutes and seconds: `1°30'`, `43°10'12.5"`. The sign belongs to the whole angle;
    /// minutes and seconds are below 60; only the last part may have decimals.
    pub(crate) fn parse_dms(text: &str) -> Result<Self, QuantityError> {
        if text.len() > NUMBER_BYTES_MAX {
            return Err(QuantityError::TooLong);
        }
        let (negative, body) = match text.chars().next() {
            Some(sign @ ('-' | '\u{2212}')) => (true, &text[sign.len_utf8()..]),
            Some('+') => (false, &text[1..]),
            _ => (false, text),
        };
        let (degrees, rest) = body.split_once('°').ok_or(QuantityError::NotANumber)?;
        let mut rest = rest.trim_start();
        let mut last = part(degrees, i128::from(MAS_PER_DEGREE), None)?;
        let mut mas = last;
        if let Some((minutes, after)) = rest.split_once(['\'', '′']) {
            whole(last, i128::from(MAS_PER_DEGREE))?;
            last = part(minutes, 60_000, Some(60))?;
            mas += last;
            rest = after.trim_start();
        }
        if !rest.is_empty() {
            let seconds = rest
                .strip_suffix(['"', '″'])
                .ok_or(QuantityError::NotANumber)?;
            mas += part(seconds, 1_000, Some(60))?;
        }
        let signed = if negative { -mas } else { mas };
        i64::try_from(signed)
            .ok()
            .and_then(Self::from_mas)
            .ok_or(QuantityError::OutOfRange)
    }

    /// Decimal degrees rounded half to even to `places`; no unit is written.
    #[must_use]
    pub fn degrees(self, places: u32) -> String {
        let places = places.min(9);
        let scaled = i128::from(self.0) * 10_i128.pow(places);
        decimal(divide_half_even(scaled, i128::from(MAS_PER_DEGREE)), places)
    }

    /// Absolute value.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }
}

/// Only the last part may have decimals: `1.5°30'` is a slip of the pen.
fn whole(mas: i128, mas_per_unit: i128) -> Result<(), QuantityError> {
    if mas % mas_per_unit == 0 {
        Ok(())
    } else {
        Err(QuantityError::NotANumber)
    }
}

fn part(text: &str, mas_per_unit: i128, below: Option<i128>) -> Result<i128, QuantityError> {
    let text = text.trim();
    if !text.starts_with(|c: char| c.is_ascii_digit()) || text.contains('/') {
        return Err(QuantityError::NotANumber);
    }
    let mas = Number::parse(text, '.')?
        .whole(mas_per_unit)
        .ok_or(QuantityError::NotExact)?;
    match below {
        Some(limit) if mas >= limit * mas_per_unit => Err(QuantityError::OutOfRange),
        _ => Ok(mas),
    }
}

/// Exact degrees, minutes and seconds: `1°30'00"`, with decimals of a second where there are any.
/// Parsing it gives the same angle.
impl fmt::Display for Angle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let mas = self.0.unsigned_abs();
        let (degrees, minutes) = (mas / 3_600_000, mas / 60_000 % 60);
        let (seconds, thousandths) = (mas / 1_000 % 60, mas % 1_000);
        write!(f, "{sign}{degrees}°{minutes:02}'")?;
        if thousandths == 0 {
            write!(f, "{seconds:02}\"")
        } else {
            write!(
                f,
                "{}\"",
                trim_decimal(&format!("{seconds:02}.{thousandths:03}"))
            )
        }
    }
}

impl TryFrom<i64> for Angle {
    type Error = QuantityError;
    fn try_from(mas: i64) -> Result<Self, Self::Error> {
        Self::from_mas(mas).ok_or(QuantityError::OutOfRange)
    }
}

impl From<Angle> for i64 {
    fn from(angle: Angle) -> Self {
        angle.0
    }
}
