//! How far from its limits a value may lie and still plainly be a reading of a characteristic.

use std::ops::RangeInclusive;

use shared_types::{Characteristic, Quantity, Stage};

/// The band reaches this many tolerance widths beyond the limits: hand work misses by a few.
const WIDTHS: i64 = 4;
/// … and at least 3 mm, for close tolerances on hand-formed sheet …
const LENGTH_LEAST_PM: i64 = 3_000_000_000;
/// … but never below a quarter of the nominal by that rule, so that a small hole does not catch everything small …
const NOMINAL_PART_LEAST: i64 = 4;
/// … and never further than half the nominal, so that jaws just closing are nobody's reading.
const NOMINAL_PART_MOST: i64 = 2;
/// A flange worked up a little at a time is measured long before it stands: 30°.
const ANGLE_LEAST_MAS: i64 = 30 * 3_600_000;

/// Whether a value lies in the capture band of a characteristic: its limits, widened. A value of the
/// other kind never does.
#[must_use]
pub fn in_capture_band(characteristic: &Characteristic, value: Quantity) -> bool {
    value.same_kind(characteristic.nominal) && band(characteristic).contains(&value.raw())
}

/// The capture band of a characteristic, in picometres or milliarcseconds.
pub(crate) fn band(characteristic: &Characteristic) -> RangeInclusive<i64> {
    let inner = inner(characteristic);
    let margin = margin(characteristic.nominal, inner.end() - inner.start());
    // A gap's nominal says nothing of how far off it may be: a part that does not go in shows a wide one.
    let margin = match (characteristic.stage, characteristic.nominal) {
        (Stage::FitUp, Quantity::Length(_)) => margin.max(LENGTH_LEAST_PM),
        _ => margin,
    };
    inner.start() - margin..=inner.end() + margin
}

/// Its limits, in picometres or milliarcseconds; the nominal in place of one that is not there.
pub(crate) fn inner(characteristic: &Characteristic) -> RangeInclusive<i64> {
    let nominal = characteristic.nominal;
    let limits = &characteristic.limits;
    let lower = limits.lower().unwrap_or(nominal).raw().min(nominal.raw());
    let upper = limits.upper().unwrap_or(nominal).raw().max(nominal.raw());
    lower..=upper
}

fn margin(nominal: Quantity, width: i64) -> i64 {
    // Quantities are bounded well below i64::MAX / 8, so none of this can overflow.
    match nominal {
        Quantity::Angle(_) => (WIDTHS * width).max(ANGLE_LEAST_MAS),
        Quantity::Length(length) => {
            let size = length.pm().abs();
            let least = LENGTH_LEAST_PM.min(size / NOMINAL_PART_LEAST);
            let margin = (WIDTHS * width).max(least);
            // A nominal of nothing (a difference, a gap) has no size to go by.
            if size == 0 {
                margin.max(LENGTH_LEAST_PM)
            } else {
                margin.min(size / NOMINAL_PART_MOST)
            }
        }
    }
}
