//! Student's t for whole degrees of freedom: finite sums, M. Abramowitz and I. Stegun, *Handbook of Mathematical
//! Functions*, 26.7.3 and 26.7.4.

use super::normal::halved;

/// Most degrees of freedom that are told apart: beyond a thousand t is within 0.3 % of the normal value at any usual
/// probability, and taken a little too large.
const FREEDOM_MAX: u32 = 1000;

/// The distance within which t of `freedom` degrees (one or more) lies with probability `p`.
pub(super) fn two_sided(p: f64, freedom: u32) -> f64 {
    let freedom = freedom.clamp(1, FREEDOM_MAX);
    halved(|t| within(t, freedom) < p)
}

/// The probability that t of `freedom` degrees lies below `x`.
pub(super) fn below(x: f64, freedom: u32) -> f64 {
    let freedom = freedom.clamp(1, FREEDOM_MAX);
    let beyond = 0.5 * (1.0 - within(x.abs(), freedom));
    if x < 0.0 { beyond } else { 1.0 - beyond }
}

/// The probability that t lies within ± `t`.
fn within(t: f64, freedom: u32) -> f64 {
    let angle = (t / f64::from(freedom).sqrt()).atan();
    let (sine, cosine) = angle.sin_cos();
    let square = cosine * cosine;
    // 1 + 1/2 c² + (1·3)/(2·4) c⁴ … for even, c (1 + 2/3 c² + (2·4)/(3·5) c⁴ …) for odd, up to c^(freedom − 2).
    let odd = freedom % 2 == 1;
    let mut term = if odd { cosine } else { 1.0 };
    let mut sum = 0.0;
    for power in (freedom % 2..freedom.saturating_sub(1)).step_by(2) {
        sum += term;
        let next = f64::from(power + 1);
        term *= square * next / (next + 1.0);
    }
    if odd {
        std::f64::consts::FRAC_2_PI * (angle + sine * sum)
    } else {
        sine * sum
    }
}
