//! The one clock of this crate: events of the daemon itself are stamped here.

use std::time::{SystemTime, UNIX_EPOCH};

/// Microseconds since 1970-01-01 UTC.
#[expect(
    clippy::disallowed_methods,
    reason = "the daemon's own events are stamped at this edge"
)]
pub(crate) fn now_us() -> i64 {
    let since = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .unwrap_or_default();
    i64::try_from(since.as_micros()).unwrap_or(i64::MAX)
}
