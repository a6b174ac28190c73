//! The one place of this crate that reads a clock.

use std::time::{SystemTime, UNIX_EPOCH};

/// Microseconds since 1970-01-01 UTC by the daemon's clock; 0 for a clock before that.
#[expect(
    clippy::disallowed_methods,
    reason = "the moment of reception is known only here, at the edge"
)]
pub(crate) fn now_us() -> i64 {
    SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .ok()
        .and_then(|since| i64::try_from(since.as_micros()).ok())
        .unwrap_or(0)
}
