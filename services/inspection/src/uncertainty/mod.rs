//! The uncertainty of a reading, its budget, and the probabilities that follow from it.
//!
//! What leaves this module for a verdict are whole numbers, rounded once and to the safe side: the standard
//! uncertainty upwards, the guard band upwards. The comparison itself is made in [`crate::decision`], in integers.

// Roots, and the normal distribution; see above for how they become whole numbers.
#![expect(
    clippy::float_arithmetic,
    reason = "uncertainties are roots of sums of squares; no float reaches a comparison"
)]

mod budget;
mod chance;
mod coverage;
mod gauge;
mod guard;
mod normal;
mod part;
mod student;

pub use budget::{Budget, Combined, Share};
pub use chance::{Chances, chances, conformance};
pub use coverage::{Coverage, Expanded};
pub use gauge::{GaugeFacts, Repeatability, Temperature};
pub(crate) use guard::width_in_u;
pub use guard::{FACTOR_ONE, GuardFactor, guard_factor, guarding};
pub use part::{Part, Spread};
