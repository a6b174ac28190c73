//! How likely an explanation of a reading is, in hundredths of a power of ten: −200 is one in a hundred. Whole
//! numbers, so that the same shop and the same reading weigh the same on every machine.
//!
//! The rates are of a careful person at a bench. No source is known that counts such slips: they are estimates,
//! to be changed here, and the simulated operator of the tests says what follows from them.

use shared_types::{Characteristic, Quantity, Reading};

use crate::capture::{band, inner};

/// A weight: hundredths of a power of ten.
pub(crate) type Weight = i64;

/// What was due was measured.
pub(crate) const AS_DUE: Weight = 0;
/// After a fail the same was measured again, worked over: 7 in 10 …
pub(crate) const AGAIN_AFTER_FAIL: Weight = -15;
/// … or left for later, and the one after it was measured: 3 in 10.
pub(crate) const NEXT_AFTER_FAIL: Weight = -52;
/// Another open one was measured: 1 in 200, shared among all of the stage.
pub(crate) const ANOTHER_OPEN: Weight = -230;
/// One that had passed already was measured: 1 in 500, shared likewise.
pub(crate) const PASSED_AGAIN: Weight = -270;
/// The button was pressed twice, and the digits are the same: 1 in 300 …
pub(crate) const PRESSED_TWICE: Weight = -248;
/// … or the last digit moved one up, or one down, under the hand: 1 in 6000 each.
pub(crate) const PRESSED_TWICE_MOVED: Weight = -378;
/// The gauge shows another unit than it names: 1 in 2000.
pub(crate) const OTHER_UNIT: Weight = -330;
/// An angle was taken from the other leg, and its supplement is shown: 1 in 300.
pub(crate) const OTHER_LEG: Weight = -248;
/// The angle gauge was zeroed square to where the plan counts from, and the complement is shown: 1 in 1000.
pub(crate) const ZEROED_SQUARE: Weight = -300;
/// What is due on another bench was measured with the gauge of this one: 1 in 2000.
pub(crate) const OTHER_BENCH: Weight = -330;
/// The gauge shows the other sign: 1 in 2000.
pub(crate) const OTHER_SIGN: Weight = -330;

/// So much likelier than any other explanation is clear: 100 times …
pub(crate) const CLEAR: Weight = 200;
/// … and 1000 times where it would be out of limits and the other is within: few right readings are like that, and
/// most slips are.
pub(crate) const CLEAR_OUT: Weight = 300;

/// How well the work is done that is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Work {
    /// Of 100 readings 94 lie within the limits, 5 out by at most the width between them, 1 farther.
    Usual,
    /// Of what has failed and is worked over, a little at a time: 70, 20 and 10.
    Over,
}

impl Work {
    const fn within(self) -> Weight {
        match self {
            Self::Usual => -3,
            Self::Over => -15,
        }
    }

    const fn near(self) -> Weight {
        match self {
            Self::Usual => -130,
            Self::Over => -70,
        }
    }

    const fn far(self) -> Weight {
        match self {
            Self::Usual => -200,
            Self::Over => -100,
        }
    }
}

const MAS_PER_DEGREE: i64 = 3_600_000;
/// The smallest step of an angle or a length written as a fraction: sixty-fourths.
const FRACTION: i64 = 64;

/// How likely a reading of `characteristic` shows this very value, at steps of `step`; `None` outside its capture
/// band.
pub(crate) fn of_value(
    characteristic: &Characteristic,
    value: Quantity,
    step: i64,
    work: Work,
) -> Option<Weight> {
    let band = band(characteristic);
    if !value.same_kind(characteristic.nominal) || !band.contains(&value.raw()) {
        return None;
    }
    let inner = inner(characteristic);
    let (lower, upper) = (*inner.start(), *inner.end());
    let width = upper - lower;
    let near = lower - width..=upper + width;
    let (share, room) = if inner.contains(&value.raw()) {
        (work.within(), width)
    } else if near.contains(&value.raw()) {
        (work.near(), 2 * width)
    } else {
        (work.far(), band.end() - band.start())
    };
    // A step wider than the room it falls in is certain to show it.
    Some(share - one_of(room / step.max(1)))
}

/// The step between two values the gauge can show, in picometres or milliarcseconds, by its digits.
pub(crate) fn step(reading: &Reading) -> i64 {
    let unit = reading.unit.pm().unwrap_or(MAS_PER_DEGREE);
    if reading.digits.contains('/') {
        return unit / FRACTION;
    }
    let decimals = reading
        .digits
        .split_once('.')
        .map_or(0, |(_, decimals)| decimals.trim_end().len());
    let parts = u32::try_from(decimals)
        .ok()
        .and_then(|decimals| 10_i64.checked_pow(decimals));
    parts.map_or(1, |parts| (unit / parts).max(1))
}

/// What it costs to be one of so many: log10, rounded down; nothing for one or none.
pub(crate) fn one_of(many: i64) -> Weight {
    let Ok(many) = u64::try_from(many) else {
        return 0;
    };
    let Some(whole) = many.checked_ilog2() else {
        return 0;
    };
    // The mantissa in [1, 2) with 31 binary places; each squaring yields the next binary digit of the logarithm.
    let mut mantissa = (u128::from(many) << 31) >> whole;
    let mut log2 = i64::from(whole);
    for _ in 0..12 {
        mantissa = (mantissa * mantissa) >> 31;
        log2 *= 2;
        if mantissa >> 32 != 0 {
            mantissa >>= 1;
            log2 += 1;
        }
    }
    // log10 of 2 is 0.30103.
    log2 * 30_103 / 1000 / 4096
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against log10 as Python 3.11's `math` has it, times 100, rounded down; one less is the rounding of twelve
    /// binary digits.
    #[test]
    fn being_one_of_many_costs_the_logarithm() {
        for (many, cost) in [
            (-5, 0),
            (0, 0),
            (1, 0),
            (2, 30),
            (3, 47),
            (7, 84),
            (10, 100),
            (159, 220),
            (1000, 300),
            (999_999, 599),
            (1_000_000_007, 900),
            (i64::MAX, 1896),
        ] {
            let found = one_of(many);
            assert!(found == cost || found + 1 == cost, "{many}: {found}");
        }
    }

    #[test]
    fn the_step_of_a_gauge_is_that_of_its_last_digit() {
        use shared_types::Unit::{Degree, Inch, Millimetre};
        for (digits, unit, step_raw) in [
            ("12.70", Millimetre, 10_000_000),
            ("+12.7", Millimetre, 100_000_000),
            ("0.5005", Inch, 2_540_000),
            ("1/2", Inch, 396_875_000),
            ("90", Degree, 3_600_000),
            ("90.05", Degree, 36_000),
        ] {
            let reading = Reading::new(digits, unit).unwrap();
            assert_eq!(step(&reading), step_raw, "{digits}");
        }
    }
}
