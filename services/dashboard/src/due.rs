//! Which gauges are due for a check, and whose calibration has ended. Needs to know what time it is, so it is
//! asked at each drawing and stands in no history.

use shared_types::{Check, Day, GaugeSetup, Shop};

const DAY_US: i64 = 24 * 60 * 60 * 1_000_000;

/// When a gauge is to be checked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum CheckDue {
    /// It never was, and should be.
    Never,
    /// In time, until then.
    By { at_us: i64 },
    /// Overdue for so many whole days.
    Late { days: i64 },
}

/// When a gauge is to be checked; `None` where its configuration asks for none.
pub(crate) fn check_due(shop: &Shop, gauge: &GaugeSetup, now_us: i64) -> Option<CheckDue> {
    let every_us = i64::from(gauge.trust.check_every_days?) * DAY_US;
    let checks = shop.checks(&gauge.id);
    // Closed jaws say little about 25 mm: where there is a reference, zero alone is no check of the interval.
    let zero_alone = gauge.trust.references.is_empty();
    let counts = |check: &&Check| check.is_good() && (zero_alone || check.wanted.raw() != 0);
    let last = checks.and_then(|checks| checks.all().rev().find(counts));
    let Some(last) = last else {
        return Some(CheckDue::Never);
    };
    let by_us = last.at_us.saturating_add(every_us);
    Some(if now_us <= by_us {
        CheckDue::By { at_us: by_us }
    } else {
        CheckDue::Late {
            days: (now_us - by_us) / DAY_US,
        }
    })
}

/// The day a gauge's calibration ended, where it has.
pub(crate) fn calibration_ended(gauge: &GaugeSetup, today: Day) -> Option<Day> {
    gauge.trust.calibrated_until.filter(|until| *until < today)
}
