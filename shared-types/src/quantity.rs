//! A quantity is a length or an angle, and the two never compare.

use std::cmp::Ordering;
use std::fmt;

use serde::{Deserialize, Serialize};

use crate::length::{PM_PER_INCH, PM_PER_MM, divide_half_even};
use crate::number::{NUMBER_BYTES_MAX, Number};
use crate::{Angle, Length};

/// A unit a person or a gauge may write.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Unit {
    /// Micrometre.
    #[serde(rename = "um")]
    Micrometre,
    /// Millimetre.
    #[serde(rename = "mm")]
    Millimetre,
    /// Centimetre.
    #[serde(rename = "cm")]
    Centimetre,
    /// Metre.
    #[serde(rename = "m")]
    Metre,
    /// Inch, 25.4 mm.
    #[serde(rename = "in")]
    Inch,
    /// Degree.
    #[serde(rename = "deg")]
    Degree,
}

impl Unit {
    /// The unit of a written name, upper or lower case.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Some(match name {
            "µm" | "μm" | "um" | "UM" => Self::Micrometre,
            "mm" | "MM" | "Mm" => Self::Millimetre,
            "cm" | "CM" => Self::Centimetre,
            "m" => Self::Metre,
            "in" | "IN" | "In" | "inch" | "INCH" | "\"" | "″" => Self::Inch,
            "deg" | "DEG" | "Deg" | "°" => Self::Degree,
            _ => return None,
        })
    }

    /// Picometres in the unit; `None` for a unit of angle.
    #[must_use]
    pub const fn pm(self) -> Option<i64> {
        Some(match self {
            Self::Micrometre => PM_PER_MM / 1000,
            Self::Millimetre => PM_PER_MM,
            Self::Centimetre => PM_PER_MM * 10,
            Self::Metre => PM_PER_MM * 1000,
            Self::Inch => PM_PER_INCH,
            Self::Degree => return None,
        })
    }

    /// The unit's usual sign.
    #[must_use]
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Micrometre => "µm",
            Self::Millimetre => "mm",
            Self::Centimetre => "cm",
            Self::Metre => "m",
            Self::Inch => "in",
            Self::Degree => "°",
        }
    }
}

/// A length or an angle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Quantity {
    /// In picometres.
    #[serde(rename = "pm")]
    Length(Length),
    /// In milliarcseconds.
    #[serde(rename = "mas")]
    Angle(Angle),
}

impl Quantity {
    /// Parses a number with its unit: `12.34 mm`, `11 1/4 in`, `-0.05in`, `90 deg`, `1°30'`, `-0°15'00"`.
    ///
    /// # Errors
    /// Says what is wrong; a value that is not a whole number of picometres or milliarcseconds
    /// (`1/3 in`) is refused, never rounded.
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        let text = text.trim();
        if text.is_empty() {
            return Err(QuantityError::Empty);
        }
        if text.len() > NUMBER_BYTES_MAX {
            return Err(QuantityError::TooLong);
        }
        if let Some((_, after)) = text.split_once('°')
            && !after.trim().is_empty()
        {
            return Angle::parse_dms(text).map(Self::Angle);
        }
        let split = text
            .rfind(|c: char| c.is_ascii_digit() || c == '.')
            .map_or(0, |last| last + 1);
        let (number, unit) = text.split_at(split);
        let unit = unit.trim();
        if number.is_empty() {
            return Err(QuantityError::NotANumber);
        }
        if unit.is_empty() {
            // "12.7" alone is a number without its unit; "12.7.1" is not even a number.
            Number::parse(number.trim_end(), '.')?;
            return Err(QuantityError::NoUnit);
        }
        let unit = Unit::from_name(unit).ok_or(QuantityError::UnknownUnit)?;
        Self::from_digits(number.trim_end(), unit, '.')
    }

    /// A number as written (`digits`, with `decimal` as its decimal mark) in `unit`.
    ///
    /// # Errors
    /// As [`Quantity::parse`].
    pub fn from_digits(digits: &str, unit: Unit, decimal: char) -> Result<Self, QuantityError> {
        let number = Number::parse(digits, decimal)?;
        if unit == Unit::Degree {
            Angle::from_degrees(number).map(Self::Angle)
        } else {
            Length::from_number(number, unit).map(Self::Length)
        }
    }

    /// Order of two quantities of one kind; `None` for a length against an angle.
    #[must_use]
    pub fn compare(self, other: Self) -> Option<Ordering> {
        match (self, other) {
            (Self::Length(a), Self::Length(b)) => Some(a.cmp(&b)),
            (Self::Angle(a), Self::Angle(b)) => Some(a.cmp(&b)),
            _ => None,
        }
    }

    /// Whether both are lengths or both are angles.
    #[must_use]
    pub fn same_kind(self, other: Self) -> bool {
        self.compare(other).is_some()
    }

    /// This one less another of its kind; `None` for a length and an angle, or out of range.
    #[must_use]
    pub fn minus(self, other: Self) -> Option<Self> {
        match (self, other) {
            (Self::Length(_), Self::Length(_)) | (Self::Angle(_), Self::Angle(_)) => {
                self.with_raw(self.raw() - other.raw())
            }
            _ => None,
        }
    }

    /// The mean of quantities of one kind, rounded half to even to a whole number of picometres or
    /// milliarcseconds; `None` of none, or of lengths and angles.
    #[must_use]
    pub fn mean(of: &[Self]) -> Option<Self> {
        let first = *of.first()?;
        let mut sum = 0_i128;
        for quantity in of {
            first.compare(*quantity)?;
            sum += i128::from(quantity.raw());
        }
        let count = i128::try_from(of.len()).ok()?;
        let mean = divide_half_even(sum, count);
        first.with_raw(i64::try_from(mean).ok()?)
    }

    /// The whole number behind the value: picometres or milliarcseconds.
    #[must_use]
    pub const fn raw(self) -> i64 {
        match self {
            Self::Length(length) => length.pm(),
            Self::Angle(angle) => angle.mas(),
        }
    }

    /// A quantity of this one's kind with another whole number; `None` out of range.
    #[must_use]
    pub fn with_raw(self, raw: i64) -> Option<Self> {
        match self {
            Self::Length(_) => Length::from_pm(raw).map(Self::Length),
            Self::Angle(_) => Angle::from_mas(raw).map(Self::Angle),
        }
    }
}

/// Exact: millimetres, or degrees with minutes and seconds. Parsing it gives the same quantity.
impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Length(length) => length.fmt(f),
            Self::Angle(angle) => angle.fmt(f),
        }
    }
}

/// Why a text is not a quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum QuantityError {
    /// Nothing was written.
    #[error("empty, expected a number with its unit such as \"12.7 mm\"")]
    Empty,
    /// Longer than [`NUMBER_BYTES_MAX`].
    #[error("longer than 64 bytes, expected a number with its unit such as \"12.7 mm\"")]
    TooLong,
    /// Not a decimal number or fraction.
    #[error("not a number, expected one such as \"12.7 mm\", \"11 1/4 in\" or \"1°30'\"")]
    NotANumber,
    /// More than 15 digits in one part.
    #[error("more than 15 digits in one number")]
    TooManyDigits,
    /// A bare number.
    #[error("unit missing, expected one of mm, cm, m, µm, in, deg")]
    NoUnit,
    /// An unknown unit.
    #[error("unknown unit, expected one of mm, cm, m, µm, in, deg")]
    UnknownUnit,
    /// A length where an angle belongs, or the other way round.
    #[error("a length where an angle belongs, or an angle where a length belongs")]
    WrongKind,
    /// Not a whole number of picometres or milliarcseconds.
    #[error("not exact in picometres or milliarcseconds, write it as a decimal")]
    NotExact,
    /// Beyond ±1 km or ±3600°, or minutes or seconds of 60 and more.
    #[error("out of range: lengths to 1 km, angles to 3600°, minutes and seconds below 60")]
    OutOfRange,
}
