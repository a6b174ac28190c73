//! Quantities as people read them.

use serde::{Deserialize, Serialize};

use crate::length::trim_decimal;
use crate::{Angle, Length, Quantity, Unit};

/// The units a build shows first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DisplayUnits {
    /// Millimetres.
    Mm,
    /// Decimal inches.
    In,
    /// Fractions of an inch where a length is one (to 1/64), decimal inches otherwise.
    InFractions,
}

impl DisplayUnits {
    /// The units to show beside these.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Mm => Self::In,
            Self::In | Self::InFractions => Self::Mm,
        }
    }
}

/// A number and its unit, apart so that they can be set in different sizes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shown {
    /// The number.
    pub number: String,
    /// The unit's sign.
    pub unit: &'static str,
}

impl std::fmt::Display for Shown {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // The degree sign stands close; other units after a space.
        let space = if self.unit == "°" { "" } else { " " };
        write!(f, "{}{space}{}", self.number, self.unit)
    }
}

/// Shows a quantity: 0.01 mm, 0.001 in, 0.1°, with one more decimal where the value has it, rounded
/// half to even beyond that.
#[must_use]
pub fn show(quantity: Quantity, units: DisplayUnits) -> Shown {
    match (quantity, units) {
        (Quantity::Length(length), DisplayUnits::Mm) => {
            shown(|places| length.rounded(Unit::Millimetre, places), 2, "mm")
        }
        (Quantity::Length(length), DisplayUnits::InFractions) => fraction(length)
            .unwrap_or_else(|| shown(|places| length.rounded(Unit::Inch, places), 3, "in")),
        (Quantity::Length(length), DisplayUnits::In) => {
            shown(|places| length.rounded(Unit::Inch, places), 3, "in")
        }
        (Quantity::Angle(angle), _) => shown(|places| angle.degrees(places), 1, "°"),
    }
}

fn fraction(length: Length) -> Option<Shown> {
    let fraction = length.inch_fraction().filter(|f| f.under <= 64)?;
    let text = fraction.to_string();
    Some(Shown {
        number: text.trim_end_matches(" in").to_owned(),
        unit: "in",
    })
}

fn shown(rounded: impl Fn(u32) -> String, places: u32, unit: &'static str) -> Shown {
    let fine = rounded(places + 1);
    let number = fine
        .strip_suffix('0')
        .map_or_else(|| fine.clone(), str::to_owned);
    Shown { number, unit }
}

/// How far `value` lies from `limit`, without sign. A distance that would round to nothing is shown exactly:
/// a piece that is out must never read "0.00 over".
#[must_use]
pub fn show_excess(value: Quantity, limit: Quantity, units: DisplayUnits) -> Option<Shown> {
    let distance = match (value, limit) {
        (Quantity::Length(a), Quantity::Length(b)) => {
            Quantity::Length(Length::from_pm((a.pm() - b.pm()).abs())?)
        }
        (Quantity::Angle(a), Quantity::Angle(b)) => {
            Quantity::Angle(Angle::from_mas((a.mas() - b.mas()).abs())?)
        }
        _ => return None,
    };
    let usual = show(
        distance,
        if units == DisplayUnits::InFractions {
            DisplayUnits::In
        } else {
            units
        },
    );
    let nothing = usual.number.bytes().all(|b| matches!(b, b'0' | b'.'));
    if !nothing || distance.raw() == 0 {
        return Some(usual);
    }
    Some(match distance {
        Quantity::Length(length) => Shown {
            number: trim_decimal(&length.rounded(Unit::Millimetre, 9)),
            unit: "mm",
        },
        Quantity::Angle(angle) => Shown {
            number: trim_decimal(&angle.degrees(7)),
            unit: "°",
        },
    })
}
