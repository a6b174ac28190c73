//! Statistics against published values, each with its source beside it.
#![allow(missing_docs)]
#![expect(
    clippy::float_arithmetic,
    reason = "statistics are compared here; no verdict comes from them"
)]
#![expect(
    clippy::unwrap_used,
    reason = "helpers of tests may fail the test as well"
)]

mod capability;
mod charts;
mod data;
mod distributions;
mod exact;
mod pairing;
mod rules;
mod springback;
mod strd;
mod study;

/// Correct digits: how many leading digits of `found` are those of `right`, 15 at most.
fn digits(found: f64, right: f64) -> f64 {
    let off = if right == 0.0 {
        found.abs()
    } else {
        ((found - right) / right).abs()
    };
    if off == 0.0 {
        15.0
    } else {
        (-off.log10()).min(15.0)
    }
}

#[track_caller]
fn near(found: f64, right: f64, within: f64) {
    assert!(
        (found - right).abs() <= within,
        "found {found}, expected {right} ± {within}"
    );
}
