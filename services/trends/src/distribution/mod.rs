//! The four distributions that tests, limits and intervals need, with both tails and quantiles.

mod chi_squared;
mod fisher;
mod normal;
mod quantile;
mod student;

pub use chi_squared::ChiSquared;
pub use fisher::Fisher;
pub use normal::Normal;
pub(crate) use quantile::crossing;
pub use student::Student;

/// A distribution of one number.
pub trait Distribution {
    /// The probability of a value up to `x`, right to its last digits however small it is.
    fn lower(&self, x: f64) -> f64;
    /// The probability of a value above `x`, right to its last digits however small it is.
    fn upper(&self, x: f64) -> f64;
    /// The value that is exceeded with probability `q`, between 0 and 1.
    fn upper_quantile(&self, q: f64) -> f64;
    /// The value that is not exceeded with probability `p`, between 0 and 1.
    fn quantile(&self, p: f64) -> f64;
}
