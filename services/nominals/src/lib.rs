//! The only crate that knows part definitions, sheet-metal geometry, floating point and rounding.
//! Text in, values out: no file, no clock, no socket.

// Sines and tangents of a bend have no exact integers. Every result is rounded once, in `measure`,
// and nothing outside this crate sees a float.
#![expect(
    clippy::float_arithmetic,
    reason = "sheet-metal geometry is computed here, and rounded in one place"
)]

pub mod bend;
pub mod form;
pub mod general;

mod block;
mod contour;
mod cornered;
mod diagonal;
mod draft;
mod family;
mod flange;
mod free;
mod guidance;
mod hole;
mod measure;
mod outline;
mod panel;
mod part;
mod pen;
mod plate;
mod polygon;
mod rivets;
mod rules;
mod section;
mod springback;
mod stock;
mod tolerance;

pub use part::part;
pub use rules::{AllowanceRule, BuildRules, KFactor, RuleError};
