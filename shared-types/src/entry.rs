//! One row of the history.

use serde::{Deserialize, Serialize};

use crate::{Event, Finding, Seq};

/// What happened, when it was received, and what was concluded.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fact {
    /// When it was received: microseconds since 1970-01-01 UTC by the daemon's clock.
    pub at_us: i64,
    /// What happened.
    pub event: Event,
    /// What was concluded.
    pub finding: Finding,
}

/// A fact in its place in the history.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// Its place.
    pub seq: Seq,
    /// What it says.
    pub fact: Fact,
}
