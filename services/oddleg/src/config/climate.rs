//! How temperatures are used, as configured.

use std::str::FromStr;

use nominals::form::Table;
use shared_types::{Climate, NoTemperature, Temperature};

use super::trust::{may, span};

/// Longest time a temperature may hold: beyond a day it says nothing of now.
const HOLDS_MAX_S: u32 = 24 * 60 * 60;
/// Shortest: within less, even a sensor that speaks every second would come and go.
const HOLDS_MIN_S: u32 = 60;
/// Furthest that a thermometer may be off, or piece and gauge apart: beyond 20 K nothing is known of them.
const KELVINS_MAX_MK: u32 = 20_000;

/// Without its table everything is as usual.
pub(super) fn walk(root: &Table<'_>) -> Option<Climate> {
    let usual = Climate::default();
    if !root.has("temperature") {
        return Some(usual);
    }
    let table = root.may("temperature").table()?;
    table.only(&[
        "correct",
        "shop",
        "uncertainty",
        "apart",
        "typed_holds",
        "sensor_holds",
    ]);
    let correct = may(&table, "correct", |key| table.may(key).boolean());
    let shop = may(&table, "shop", |key| {
        table
            .may(key)
            .parsed::<Range>("the coldest and hottest the shop is, such as \"15 C to 28 C\"")
    });
    let off = may(&table, "uncertainty", |key| kelvins(&table, key));
    let apart = may(&table, "apart", |key| kelvins(&table, key));
    let holds = |key| {
        may(&table, key, |key| {
            let expected = "a time from 1 min to a day such as \"8 h\"";
            span(&table, key, HOLDS_MIN_S..=HOLDS_MAX_S, 1, expected)
        })
    };
    let (typed, sensor) = (holds("typed_holds"), holds("sensor_holds"));
    Some(Climate {
        correct: correct?.unwrap_or(usual.correct),
        shop: shop?.map(|range| (range.from, range.to)),
        off_mk: off?.unwrap_or(usual.off_mk),
        apart_mk: apart?.unwrap_or(usual.apart_mk),
        typed_holds_s: typed?.unwrap_or(usual.typed_holds_s),
        sensor_holds_s: sensor?.unwrap_or(usual.sensor_holds_s),
    })
}

fn kelvins(table: &Table<'_>, key: &str) -> Option<u32> {
    let read = table
        .may(key)
        .parsed::<Kelvins>("kelvins from 0 to 20 such as \"1 K\" or \"0.5 K\"");
    read.map(|kelvins| kelvins.mk)
}

/// A difference of temperatures.
#[derive(Debug, PartialEq, Eq)]
struct Kelvins {
    mk: u32,
}

#[derive(Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected 0 to 20 kelvins in steps of 0.001 such as \"1 K\" or \"0.5 K\"")]
struct NoKelvins;

impl FromStr for Kelvins {
    type Err = NoKelvins;

    fn from_str(text: &str) -> Result<Self, NoKelvins> {
        let number = text.trim().trim_start_matches('±').trim();
        let number = number.strip_suffix('K').ok_or(NoKelvins)?.trim_end();
        let number = shared_types::Number::parse(number, '.').map_err(|_| NoKelvins)?;
        let mk = number.whole(1000).ok_or(NoKelvins)?;
        let mk = u32::try_from(mk).map_err(|_| NoKelvins)?;
        (mk <= KELVINS_MAX_MK)
            .then_some(Self { mk })
            .ok_or(NoKelvins)
    }
}

/// Between which temperatures.
#[derive(Debug, PartialEq, Eq)]
struct Range {
    from: Temperature,
    to: Temperature,
}

#[derive(Debug, PartialEq, Eq, thiserror::Error)]
enum NoRange {
    #[error("expected two temperatures such as \"15 C to 28 C\"")]
    Two,
    #[error(transparent)]
    Temperature(#[from] NoTemperature),
    #[error("expected the colder one first")]
    Crossed,
}

impl FromStr for Range {
    type Err = NoRange;

    fn from_str(text: &str) -> Result<Self, NoRange> {
        let (from, to) = text.split_once(" to ").ok_or(NoRange::Two)?;
        let (from, to): (Temperature, Temperature) = (from.parse()?, to.parse()?);
        if from > to {
            return Err(NoRange::Crossed);
        }
        Ok(Self { from, to })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_of_temperatures_has_the_colder_one_first_and_units_on_both() {
        let range: Range = "59 F to 28 °C".parse().unwrap();
        assert_eq!(range.from, "15 C".parse().unwrap());
        assert_eq!(range.to, "28 C".parse().unwrap());
        for (text, wrong) in [
            ("15 C", NoRange::Two),
            ("28 C to 15 C", NoRange::Crossed),
            ("15 to 28 C", NoRange::Temperature(NoTemperature::Unit)),
            (
                "15 C to 70 C",
                NoRange::Temperature(NoTemperature::OutOfRange),
            ),
        ] {
            assert_eq!(text.parse::<Range>(), Err(wrong), "{text}");
        }
    }

    #[test]
    fn a_difference_is_in_kelvins() {
        assert_eq!("±0.5 K".parse(), Ok(Kelvins { mk: 500 }));
        assert_eq!("20K".parse(), Ok(Kelvins { mk: 20_000 }));
        for text in ["1", "1 C", "-1 K", "20.001 K", "0.0001 K", ""] {
            assert_eq!(text.parse::<Kelvins>(), Err(NoKelvins), "{text}");
        }
    }
}
