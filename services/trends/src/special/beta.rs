//! The regularized incomplete beta function.

use super::peak::binomial;
use super::{TERMS_MAX, Tails};

/// I_x(a, b) and its complement, by a continued fraction. Both x and y = 1 − x are given,
/// so that neither loses its digits.
pub(crate) fn incomplete_beta(a: f64, b: f64, x: f64, y: f64) -> Tails {
    if x <= 0.0 {
        return Tails::from_lower(0.0);
    }
    if y <= 0.0 {
        return Tails::from_upper(0.0);
    }
    if x < (a + 1.0) / (a + b + 2.0) {
        Tails::from_lower(part(a, b, x, y))
    } else {
        Tails::from_upper(part(b, a, y, x))
    }
}

fn part(a: f64, b: f64, x: f64, y: f64) -> f64 {
    // x^a y^b / B(a, b) is the binomial weight times a b / (a + b).
    binomial(a, b, x, y) * (a * b / (a + b)) / fraction(a, b, x, y)
}

/// The fraction of A. R. DiDonato and A. H. Morris, *ACM Transactions on Mathematical Software* 18 (1992), by Lentz's way of
/// evaluating it. Its terms hold y as well, so that nothing cancels where x is near one.
fn fraction(a: f64, b: f64, x: f64, y: f64) -> f64 {
    let first = |n: f64| (a + n) * (a * y - b * x + 1.0 + n * (1.0 + y)) / (a + 2.0 * n + 1.0);
    let rest = |n: f64| n + n * (b - n) * x / (a + 2.0 * n - 1.0) + first(n);
    let away = |value: f64| {
        if value == 0.0 {
            f64::MIN_POSITIVE
        } else {
            value
        }
    };
    let mut product = away(first(0.0));
    let (mut c, mut d) = (product, 0.0);
    for step in 1..TERMS_MAX {
        let n = f64::from(step);
        let root = x / (a + 2.0 * n - 1.0);
        let over = (a + n - 1.0) * (a + b + n - 1.0) * n * (b - n) * root * root;
        d = 1.0 / away(rest(n) + over * d);
        c = away(rest(n) + over / c);
        product *= c * d;
        if (c * d - 1.0).abs() < f64::EPSILON {
            break;
        }
    }
    product
}
