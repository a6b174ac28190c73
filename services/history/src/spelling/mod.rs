//! The stored spelling of a fact: compact JSON of our own, private to this crate. What is on disk is
//! hashed as it stands and lives longer than the shared types, so no derive of theirs is used here.
//!
//! Top level, in this order: `k` idempotency key where there is one, `t` received at (µs), `e` the event by its word,
//! `f` the finding by its word, left out where there is nothing to conclude.

#[cfg(test)]
mod any_climate;
#[cfg(test)]
mod any_fact;
mod climate;
mod disposed;
mod event;
mod extra;
mod finding;
mod frame;
mod grounds;
mod plan;
mod sketch;
mod study;
#[cfg(test)]
mod tests;
mod trust;
mod words;

use std::borrow::Cow;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD_NO_PAD;
use serde::{Deserialize, Serialize};
use shared_types::{Fact, LimitsError};

use event::EventSpelt;
use finding::FindingSpelt;
use words::Text;

/// Why a stored body is not a fact.
#[derive(Debug, thiserror::Error)]
pub enum SpellingError {
    /// Not the JSON expected, or a value in it that its type refuses.
    #[error("the stored body cannot be read: {0}")]
    Json(#[from] serde_json::Error),
    /// A frame needs its bytes once, as text or as base64.
    #[error(
        "found a frame without readable bytes, expected them once: as text in \"b\" or as base64 in \"x\""
    )]
    Bytes,
    /// A frame is a reading, garbled or no new reading.
    #[error(
        "found a frame that is none of those or two, expected a reading in \"d\", a reason in \"u\" or one in \"s\"; a count in \"c\" is 2 or more"
    )]
    Decoded,
    /// A judged value is missing.
    #[error("found a verdict without a value on an event that is no reading")]
    Value,
    /// A number of a verdict's grounds is none of its kind.
    #[error("the grounds of a verdict hold a number beyond the range of what was judged")]
    Grounds,
    /// A mean of too few or too many.
    #[error("found a mean of {0} readings, expected 2 to 25")]
    Mean(u8),
    /// Words for another number of characteristics than the plan has.
    #[error("found words for {found} characteristics of the right piece, expected {expected}")]
    Mirrored {
        /// Words there are.
        found: usize,
        /// Characteristics there are.
        expected: usize,
    },
    /// A coefficient no material has.
    #[error("found an expansion of {0}e-9 a kelvin, expected at most 200000e-9")]
    Expansion(u32),
    /// Limits that are none.
    #[error("the limits of a characteristic cannot be: {0}")]
    Limits(#[from] LimitsError),
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row<'a> {
    // The tables cut the key out at the front, up to `","t":`.
    #[serde(borrow, default, skip_serializing_if = "Option::is_none")]
    k: Option<Text<'a>>,
    t: i64,
    #[serde(borrow)]
    e: EventSpelt<'a>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    f: Option<FindingSpelt>,
}

/// The stored body of a fact with its idempotency key.
pub(crate) fn encode(fact: &Fact, key: Option<&str>) -> String {
    let row = Row {
        k: key.map(|key| Text(stored_key(key))),
        t: fact.at_us,
        e: EventSpelt::of(&fact.event),
        f: FindingSpelt::of(&fact.finding, &fact.event),
    };
    serde_json::to_string(&row).expect("text, whole numbers and words are always JSON")
}

/// The fact of a stored body. Every invariant is checked again.
pub(crate) fn decode(body: &str) -> Result<Fact, SpellingError> {
    let row: Row<'_> = serde_json::from_str(body)?;
    let event = row.e.read()?;
    let finding = FindingSpelt::read(row.f, &event)?;
    Ok(Fact {
        at_us: row.t,
        event,
        finding,
    })
}

/// An idempotency key as it is stored and looked up. The tables take it out of the body as it stands
/// there, and SQLite's text functions stop at a NUL: a key that JSON would escape is stored as base64
/// behind `=`; one that begins with `=` too, so that no two keys are stored alike.
pub(crate) fn stored_key(key: &str) -> Cow<'_, str> {
    let escaped = |c: char| c.is_control() || matches!(c, '"' | '\\');
    if key.starts_with('=') || key.chars().any(escaped) {
        Cow::Owned(format!("={}", STANDARD_NO_PAD.encode(key)))
    } else {
        Cow::Borrowed(key)
    }
}
