//! Binomial and Poisson weights without cancellation, after C. Loader, *Fast and Accurate Computation of
//! Binomial Probabilities* (2000): logarithms of gamma functions of large arguments are never subtracted.

use std::f64::consts::PI;

/// Γ(a+b+1)/(Γ(a+1)Γ(b+1)) x^a y^b with x + y = 1.
pub(crate) fn binomial(a: f64, b: f64, x: f64, y: f64) -> f64 {
    let n = a + b;
    let log = stirling_rest(n)
        - stirling_rest(a)
        - stirling_rest(b)
        - deviance(a, n * x)
        - deviance(b, n * y);
    (n / (2.0 * PI * a * b)).sqrt() * log.exp()
}

/// x^a e^−x / Γ(a+1)
pub(crate) fn poisson(a: f64, x: f64) -> f64 {
    (-stirling_rest(a) - deviance(a, x)).exp() / (2.0 * PI * a).sqrt()
}

/// ln Γ(z+1) less Stirling's formula for it.
fn stirling_rest(z: f64) -> f64 {
    if z < 15.0 {
        return libm::lgamma(z + 1.0) - (z + 0.5) * z.ln() + z - 0.5 * (2.0 * PI).ln();
    }
    // Bernoulli's numbers: 1/12, 1/360, 1/1260, 1/1680, 1/1188, 691/360360 and 1/156.
    let s = 1.0 / (z * z);
    let terms = [
        1.0 / 12.0,
        -1.0 / 360.0,
        1.0 / 1260.0,
        -1.0 / 1680.0,
        1.0 / 1188.0,
        -691.0 / 360_360.0,
        1.0 / 156.0,
    ];
    terms.iter().rev().fold(0.0, |sum, term| sum * s + term) / z
}

/// x ln(x/m) + m − x, where x and m may be close.
fn deviance(x: f64, m: f64) -> f64 {
    let gap = x - m;
    if gap.abs() >= 0.1 * (x + m) {
        return x * (x / m).ln() - gap;
    }
    let v = gap / (x + m);
    let mut sum = gap * v;
    let mut term = 2.0 * x * v;
    for odd in (3..).step_by(2) {
        term *= v * v;
        let next = sum + term / f64::from(odd);
        if next == sum {
            break;
        }
        sum = next;
    }
    sum
}
