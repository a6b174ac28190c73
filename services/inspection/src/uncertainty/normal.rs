//! The normal distribution, right in both tails.

use std::f64::consts::SQRT_2;

/// The probability of a standard normal value below `x`, right to its last digits however small it is.
pub(super) fn below(x: f64) -> f64 {
    0.5 * libm::erfc(-x / SQRT_2)
}

/// The value below which a standard normal one lies with probability `p`, above a half.
pub(super) fn quantile(p: f64) -> f64 {
    two_sided(2.0 * p - 1.0)
}

/// The distance from its middle within which a standard normal value lies with probability `p`.
pub(super) fn two_sided(p: f64) -> f64 {
    halved(|k| libm::erfc(k / SQRT_2) > 1.0 - p)
}

/// Where a condition that holds at zero stops holding, by halving between 0 and 2^20: beyond any factor.
pub(super) fn halved(holds: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (0.0_f64, 1_048_576.0_f64);
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high || high - low < 1e-15 * high {
            return middle;
        }
        if holds(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
}
