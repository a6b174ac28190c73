//! The probability that the true value conforms (JCGM 106:2012, 7.3 and 7.4).

use shared_types::{CHANCE_ONE, Chance, Limits, Quantity};

use super::normal::below;
use super::student;
use crate::InspectionError;

/// Where the true value lies, as probabilities that sum to one. Each is right to its own last digits, so that one
/// in a million is told from one in a billion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chances {
    /// Below the lower limit.
    pub below: f64,
    /// Within the limits: the conformance probability.
    pub within: f64,
    /// Above the upper limit.
    pub above: f64,
}

/// The chances of a reading with standard uncertainty `u`, about which nothing was known before.
///
/// # Errors
/// A length with an angle, or an uncertainty not above nothing.
pub fn chances(value: Quantity, limits: &Limits, u: Quantity) -> Result<Chances, InspectionError> {
    let same = |other: Quantity| value.same_kind(other);
    let ends = [limits.lower(), limits.upper(), Some(u)];
    if !ends.into_iter().flatten().all(same) {
        return Err(InspectionError::WrongKind);
    }
    if u.raw() <= 0 {
        return Err(InspectionError::NoUncertainty { u });
    }
    // Differences of quantities are exact; only the quotient is rounded.
    let off = |limit: Quantity| (limit.raw() - value.raw()) as f64 / u.raw() as f64;
    let (lower, upper) = (limits.lower().map(off), limits.upper().map(off));
    Ok(Chances {
        below: lower.map_or(0.0, below),
        within: within(lower, upper),
        above: upper.map_or(0.0, |upper| below(-upper)),
    })
}

/// The conformance probability in whole 10⁻¹⁵: the smaller of it and its complement, to the side that claims less.
/// Where the uncertainty is known from few degrees of freedom only, by Student's t, whose tails are right to 10⁻¹⁵.
#[must_use]
pub fn conformance(
    value: Quantity,
    limits: &Limits,
    u: Quantity,
    freedom: Option<u32>,
) -> Option<Chance> {
    let found = chances(value, limits, u).ok()?;
    let (outside, within) = match freedom {
        None => (found.below + found.above, found.within),
        Some(freedom) => {
            let off = |limit: Quantity| (limit.raw() - value.raw()) as f64 / u.raw() as f64;
            let tail = |x: f64| student::below(x, freedom);
            let low = limits.lower().map_or(0.0, |lower| tail(off(lower)));
            let high = limits.upper().map_or(0.0, |upper| tail(-off(upper)));
            (low + high, 1.0 - low - high)
        }
    };
    let one = CHANCE_ONE as f64;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a probability of up to a half in 10^15 is below 2^53 and not negative"
    )]
    let whole = |part: f64| part.clamp(0.0, one) as u64;
    Some(if outside <= 0.5 {
        Chance::Outside(whole((outside * one).ceil()))
    } else {
        Chance::Within(whole((within * one).floor()))
    })
}

/// Between two ends in standard uncertainties from the value: the difference of the two smaller tails.
pub(super) fn within(lower: Option<f64>, upper: Option<f64>) -> f64 {
    match (lower, upper) {
        (None, None) => 1.0,
        (Some(lower), None) => below(-lower),
        (None, Some(upper)) => below(upper),
        (Some(lower), Some(upper)) if lower > 0.0 => below(-lower) - below(-upper),
        (Some(lower), Some(upper)) if upper < 0.0 => below(upper) - below(lower),
        // The value lies between them: both tails outside are at most a half.
        (Some(lower), Some(upper)) => 1.0 - below(lower) - below(-upper),
    }
}
