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
mod build;
mod contour;
mod cornered;
mod decision;
mod derived;
mod diagonal;
mod draft;
mod expansion;
mod family;
mod fit;
mod flange;
mod free;
mod guidance;
mod hand;
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
mod settle;
mod springback;
mod stock;
mod tolerance;

pub use build::{Part, PartFile, Taken, build};
pub use part::part;
pub use rules::{AllowanceRule, BuildRules, KFactor, RuleError};
