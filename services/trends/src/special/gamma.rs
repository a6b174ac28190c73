//! The regularized incomplete gamma function.

use super::peak::poisson;
use super::{SMALL, TERMS_MAX, Tails};

/// P(a, x) and Q(a, x): a series below the mean, a continued fraction above it (DLMF 8.11.4 and 8.9.2).
pub(crate) fn incomplete_gamma(a: f64, x: f64) -> Tails {
    if x <= 0.0 {
        return Tails::from_lower(0.0);
    }
    if x == f64::INFINITY {
        return Tails::from_upper(0.0);
    }
    if x < a + 1.0 {
        Tails::from_lower(poisson(a, x) * series(a, x))
    } else {
        Tails::from_upper(poisson(a, x) * a * fraction(a, x))
    }
}

fn series(a: f64, x: f64) -> f64 {
    let (mut term, mut sum) = (1.0, 1.0);
    for step in 1..TERMS_MAX {
        term *= x / (a + f64::from(step));
        sum += term;
        if term < sum * SMALL {
            break;
        }
    }
    sum
}

/// Lentz's way of evaluating the fraction.
fn fraction(a: f64, x: f64) -> f64 {
    let mut b = x + 1.0 - a;
    let mut c = f64::MAX;
    let mut d = 1.0 / b;
    let mut product = d;
    for step in 1..TERMS_MAX {
        let step = f64::from(step);
        let over = step * (a - step);
        b += 2.0;
        d = 1.0 / (over * d + b);
        c = b + over / c;
        let factor = c * d;
        product *= factor;
        if (factor - 1.0).abs() < f64::EPSILON {
            break;
        }
    }
    product
}
