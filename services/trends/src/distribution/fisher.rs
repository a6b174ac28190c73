//! F, the ratio of two variances.

use super::{Distribution, quantile};
use crate::special::{Tails, incomplete_beta};

/// With so many degrees of freedom above and below the line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fisher {
    /// Of the variance above the line, above zero.
    pub over: f64,
    /// Of the variance below the line, above zero.
    pub under: f64,
}

impl Fisher {
    fn tails(&self, x: f64) -> Tails {
        let (a, b) = (self.over, self.under);
        if x <= 0.0 {
            return incomplete_beta(0.5 * a, 0.5 * b, 0.0, 1.0);
        }
        if x == f64::INFINITY {
            return incomplete_beta(0.5 * a, 0.5 * b, 1.0, 0.0);
        }
        let whole = a * x + b;
        incomplete_beta(0.5 * a, 0.5 * b, a * x / whole, b / whole)
    }
}

impl Distribution for Fisher {
    fn lower(&self, x: f64) -> f64 {
        self.tails(x).lower
    }

    fn upper(&self, x: f64) -> f64 {
        self.tails(x).upper
    }

    fn upper_quantile(&self, q: f64) -> f64 {
        quantile::positive(1.0 - q, q, |x| self.lower(x), |x| self.upper(x))
    }

    fn quantile(&self, p: f64) -> f64 {
        quantile::positive(p, 1.0 - p, |x| self.lower(x), |x| self.upper(x))
    }
}
