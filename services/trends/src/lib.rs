//! The only crate that knows statistics: what many readings say together. Values in, values out: no clock,
//! no file, no database, and no verdict, which belongs to `inspection` alone.
//!
//! Readings come in as whole grains, the picometres or milliarcseconds of [`shared_types::Quantity::raw`],
//! all of one characteristic and so of one kind ([`grains`] checks it). Sums over them are exact integers; each result is turned
//! into a float once, at its end. What comes out is in the same grains, and [`quantity`] makes it one again.

// Means, variances and distributions are no integers. Nothing here decides a verdict.
#![expect(
    clippy::float_arithmetic,
    reason = "statistics are computed here; no verdict comes from them"
)]

pub mod charts;
pub mod distribution;
pub mod springback;
pub mod study;

mod anova;
mod capability;
mod error;
mod exact;
mod kind;
mod pairing;
mod rules;
mod special;
mod summary;
mod tolerance;

pub use anova::{OneWay, one_way};
pub use capability::{Capability, Enough, Interval, Within, capability, ratio_interval};
pub use error::TrendsError;
pub use kind::{grains, quantity};
pub use pairing::{PAIRING_MAX, Pairing, Table, clearances, pair};
pub use rules::{Offence, Rule, RuleSet, offences};
pub use summary::{READINGS_MAX, Summary, autocorrelation};
pub use tolerance::{
    ToleranceInterval, howe_factor, one_sided_factor, tolerance_interval, two_sided_factor,
};
