//! A temperature, exact as a thermometer shows it.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::NUMBER_BYTES_MAX;
use crate::length::{decimal, trim_decimal};
use crate::number::Number;

/// Grains in one kelvin: with them 0.0001 °C and 0.0001 °F are both whole, as 9 and as 5 grains.
pub const TEMPERATURE_GRAINS_PER_K: i32 = 90_000;
const GRAINS_PER_FAHRENHEIT: i32 = 50_000;
/// Grains in the last place kept of a temperature in °C, and in °F.
const CELSIUS_PLACE: i32 = 9;
const FAHRENHEIT_PLACE: i32 = 5;
/// 0 °C in °F, in ten-thousandths.
const FREEZING_FAHRENHEIT: i32 = 320_000;

/// Coldest and hottest temperature of a piece or a gauge, in °C: nobody measures sheet beyond them, and 70 °F typed
/// as 70 °C is a slip to be told.
pub const TEMPERATURE_MIN_C: i32 = -40;
/// See [`TEMPERATURE_MIN_C`].
pub const TEMPERATURE_MAX_C: i32 = 60;

/// A temperature: a whole number of 1/90000 K above 0 °C, from −40 °C to 60 °C, that is a whole number of 0.0001 °C
/// or of 0.0001 °F.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Temperature(i32);

impl Temperature {
    /// 20 °C, at which every dimension is meant (ISO 1).
    pub const REFERENCE: Self = Self(20 * TEMPERATURE_GRAINS_PER_K);

    fn from_grains(grains: i128) -> Result<Self, NoTemperature> {
        i32::try_from(grains)
            .ok()
            .filter(|grains| {
                let range = TEMPERATURE_MIN_C * TEMPERATURE_GRAINS_PER_K
                    ..=TEMPERATURE_MAX_C * TEMPERATURE_GRAINS_PER_K;
                range.contains(grains)
            })
            .map(Self)
            .ok_or(NoTemperature::OutOfRange)
    }

    /// A number as written, in °C.
    ///
    /// # Errors
    /// As for a temperature with its unit.
    pub fn celsius(digits: &str, decimal: char) -> Result<Self, NoTemperature> {
        let number = Number::parse(digits, decimal).map_err(|_| NoTemperature::NotANumber)?;
        Self::from_grains(number.rounded(10_000) * i128::from(CELSIUS_PLACE))
    }

    /// A number as written, in °F.
    ///
    /// # Errors
    /// As for a temperature with its unit.
    pub fn fahrenheit(digits: &str, decimal: char) -> Result<Self, NoTemperature> {
        let number = Number::parse(digits, decimal).map_err(|_| NoTemperature::NotANumber)?;
        let above = number.rounded(10_000) - i128::from(FREEZING_FAHRENHEIT);
        Self::from_grains(above * i128::from(FAHRENHEIT_PLACE))
    }

    /// Warmer than `other` by so many 1/90000 K.
    #[must_use]
    pub const fn above(self, other: Self) -> i32 {
        self.0 - other.0
    }

    /// In °C, rounded to 0.01: for a screen beside the exact value.
    #[must_use]
    pub fn celsius_rounded(self) -> String {
        let hundredths = crate::length::divide_half_even(
            i128::from(self.0) * 100,
            i128::from(TEMPERATURE_GRAINS_PER_K),
        );
        format!("{} °C", trim_decimal(&decimal(hundredths, 2)))
    }
}

/// Exact: in °C where it is a whole number of 0.0001 °C, in °F otherwise. Parsing it gives the same temperature.
impl fmt::Display for Temperature {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (places, sign) = if self.0 % CELSIUS_PLACE == 0 {
            (self.0 / CELSIUS_PLACE, "°C")
        } else {
            (self.0 / FAHRENHEIT_PLACE + FREEZING_FAHRENHEIT, "°F")
        };
        let digits = decimal(i128::from(places), 4);
        write!(f, "{} {sign}", trim_decimal(&digits))
    }
}

/// Why a text is no temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoTemperature {
    /// No number.
    #[error("not a number, expected a temperature such as \"21.5 C\" or \"70 F\"")]
    NotANumber,
    /// No unit, or one we do not know.
    #[error("unit missing or unknown, expected C or F, as in \"21.5 C\" or \"70 F\"")]
    Unit,
    /// Beyond what a shop can have.
    #[error("out of range, expected -40 C to 60 C")]
    OutOfRange,
}

/// `21.5 C`, `21.5 °C`, `70 F`. Finer than 0.0001° it is rounded, half to even: no thermometer is that good.
impl FromStr for Temperature {
    type Err = NoTemperature;

    fn from_str(text: &str) -> Result<Self, NoTemperature> {
        let text = text.trim();
        if text.len() > NUMBER_BYTES_MAX {
            return Err(NoTemperature::NotANumber);
        }
        let end = text
            .rfind(|c: char| c.is_ascii_digit() || c == '.')
            .map_or(0, |last| last + 1);
        let (number, unit) = text.split_at(end);
        let number = number.trim_end();
        match TemperatureUnit::from_name(unit.trim()).ok_or(NoTemperature::Unit)? {
            TemperatureUnit::Celsius => Self::celsius(number, '.'),
            TemperatureUnit::Fahrenheit => Self::fahrenheit(number, '.'),
        }
    }
}

impl TryFrom<String> for Temperature {
    type Error = NoTemperature;
    fn try_from(text: String) -> Result<Self, NoTemperature> {
        text.parse()
    }
}

impl From<Temperature> for String {
    fn from(temperature: Temperature) -> Self {
        temperature.to_string()
    }
}

/// In what a temperature is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum TemperatureUnit {
    /// Degrees Celsius.
    #[default]
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
}

impl TemperatureUnit {
    /// The unit of a written name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        match name.strip_prefix('°').unwrap_or(name).trim_start() {
            "C" | "c" => Some(Self::Celsius),
            "F" | "f" => Some(Self::Fahrenheit),
            _ => None,
        }
    }

    /// A number in this unit.
    ///
    /// # Errors
    /// No number, or out of range.
    pub fn read(self, digits: &str, decimal: char) -> Result<Temperature, NoTemperature> {
        match self {
            Self::Celsius => Temperature::celsius(digits, decimal),
            Self::Fahrenheit => Temperature::fahrenheit(digits, decimal),
        }
    }
}

// The unit of one place divides the kelvin, or what is exact in it would not be in grains.
const _: () = assert!(
    CELSIUS_PLACE * 10_000 == TEMPERATURE_GRAINS_PER_K
        && FAHRENHEIT_PLACE * 10_000 == GRAINS_PER_FAHRENHEIT
        && GRAINS_PER_FAHRENHEIT * 9 == TEMPERATURE_GRAINS_PER_K * 5
);
