//! χ², the sum of squared standard normal values.

use super::{Distribution, quantile};
use crate::special::incomplete_gamma;

/// With so many degrees of freedom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChiSquared {
    /// Degrees of freedom, above zero, not necessarily whole.
    pub freedom: f64,
}

impl Distribution for ChiSquared {
    fn lower(&self, x: f64) -> f64 {
        incomplete_gamma(0.5 * self.freedom, 0.5 * x).lower
    }

    fn upper(&self, x: f64) -> f64 {
        incomplete_gamma(0.5 * self.freedom, 0.5 * x).upper
    }

    fn upper_quantile(&self, q: f64) -> f64 {
        quantile::positive(1.0 - q, q, |x| self.lower(x), |x| self.upper(x))
    }

    fn quantile(&self, p: f64) -> f64 {
        quantile::positive(p, 1.0 - p, |x| self.lower(x), |x| self.upper(x))
    }
}
