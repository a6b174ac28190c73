//! Student's t.

use super::{Distribution, Normal, quantile};
use crate::special::incomplete_beta;

/// With so many degrees of freedom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Student {
    /// Degrees of freedom, above zero, not necessarily whole; infinite for the normal distribution.
    pub freedom: f64,
}

impl Distribution for Student {
    fn lower(&self, x: f64) -> f64 {
        self.upper(-x)
    }

    fn upper(&self, x: f64) -> f64 {
        if self.freedom == f64::INFINITY {
            return Normal.upper(x);
        }
        let (v, square) = (self.freedom, x * x);
        let tails = incomplete_beta(0.5 * v, 0.5, v / (v + square), square / (v + square));
        if x > 0.0 {
            0.5 * tails.lower
        } else {
            0.5 + 0.5 * tails.upper
        }
    }

    fn upper_quantile(&self, q: f64) -> f64 {
        quantile::even(1.0 - q, q, |x| self.upper(x))
    }

    fn quantile(&self, p: f64) -> f64 {
        quantile::even(p, 1.0 - p, |x| self.upper(x))
    }
}
