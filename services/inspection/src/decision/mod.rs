//! The decision rule: which readings prove what. In integers.
//!
//! Zones are computed once from limits and uncertainty; a reading is then compared with them along the number line.

mod settle;
mod zones;

pub use settle::{REPEATS_MAX, settle, uncertainty_of_mean};
pub use zones::{ANGLE_GRAIN_MAS, LENGTH_GRAIN_PM, Zones};
