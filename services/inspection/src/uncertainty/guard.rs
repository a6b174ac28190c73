//! How wide a guard band must be.

use shared_types::{Limits, Probability, Quantity};

use super::budget::up;
use super::chance::within;
use super::normal;
use super::student;

/// A factor of one, in the ten-thousandths a [`GuardFactor`] counts.
pub const FACTOR_ONE: i64 = 10_000;

/// Guard bands in standard uncertainties, in ten-thousandths, rounded up: whole numbers, so that limits are moved
/// without a float.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct GuardFactor {
    /// To prove a value beyond one limit.
    pub beyond: i64,
    /// To prove it within its limits; none where no reading can.
    pub inside: Option<i64>,
}

/// The guard factors for limits `width` standard uncertainties apart (endless for one limit alone).
///
/// As ISO 14253-1:2017 does, the one-sided normal quantile is rounded up to two places: 1.65 for 95 %. Where the
/// limits lie so close that the other one counts as well, for 95 % below a width of about five (Cm 1.25), the factor to
/// prove conformity is the exact two-sided one.
#[must_use]
pub fn guard_factor(width: f64, probability: Probability) -> GuardFactor {
    let p = f64::from(probability.in_10_000()) / 10_000.0;
    let one_sided = whole_up(normal::quantile(p) * 100.0) * (FACTOR_ONE / 100);
    let inside = if width > FAR_APART {
        Some(one_sided)
    } else {
        two_sided(width, p).map(|exact| whole_up(exact * 10_000.0).max(one_sided))
    };
    GuardFactor {
        beyond: one_sided,
        inside,
    }
}

/// The standard uncertainty to guard by: larger by t/z where it is known from few degrees of freedom only (GUM G.3), so
/// that a guard band by the normal distribution is as wide as one by Student's t. Rounded up; `None` beyond the range.
#[must_use]
pub fn guarding(u: Quantity, freedom: Option<u32>, probability: Probability) -> Option<Quantity> {
    let Some(freedom) = freedom else {
        return Some(u);
    };
    let both = 2.0 * f64::from(probability.in_10_000()) / 10_000.0 - 1.0;
    let wider = student::two_sided(both, freedom) / normal::two_sided(both);
    up(u.raw() as f64 * wider.max(1.0), u)
}

/// How many standard uncertainties lie between two limits; endless for one alone.
pub(crate) fn width_in_u(limits: &Limits, u: Quantity) -> f64 {
    match (limits.lower(), limits.upper()) {
        (Some(lower), Some(upper)) => (upper.raw() - lower.raw()) as f64 / u.raw() as f64,
        _ => f64::INFINITY,
    }
}

/// From here on the other limit counts for nothing a float can hold: below 1e-58 at 99.99 %.
const FAR_APART: f64 = 20.0;

/// How far inside, in standard uncertainties, a reading must lie to conform with probability `p`; none where even the
/// middle does not.
pub(super) fn two_sided(width: f64, p: f64) -> Option<f64> {
    let conforms = |inside: f64| within(Some(-inside), Some(width - inside));
    let middle = 0.5 * width;
    if width > FAR_APART {
        return Some(normal::quantile(p));
    }
    if conforms(middle) < p {
        return None;
    }
    Some(normal::halved(|inside| {
        inside < middle && conforms(inside) < p
    }))
}

fn whole_up(factor: f64) -> i64 {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "a quantile of a probability up to 0.9999 is below four"
    )]
    let whole = factor.ceil() as i64;
    whole
}
