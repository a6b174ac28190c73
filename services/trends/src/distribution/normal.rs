//! The normal distribution.

use std::f64::consts::SQRT_2;

use super::{Distribution, quantile};

/// Mean 0, standard deviation 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Normal;

impl Normal {
    /// Its density at `x`.
    #[must_use]
    pub fn density(x: f64) -> f64 {
        (-0.5 * x * x).exp() / (2.0 * std::f64::consts::PI).sqrt()
    }
}

impl Distribution for Normal {
    fn lower(&self, x: f64) -> f64 {
        0.5 * libm::erfc(-x / SQRT_2)
    }

    fn upper(&self, x: f64) -> f64 {
        0.5 * libm::erfc(x / SQRT_2)
    }

    fn upper_quantile(&self, q: f64) -> f64 {
        quantile::even(1.0 - q, q, |x| self.upper(x))
    }

    fn quantile(&self, p: f64) -> f64 {
        quantile::even(p, 1.0 - p, |x| self.upper(x))
    }
}
