//! Times as text.

use jiff::Timestamp;

/// Microseconds since 1970 as RFC 3339 in UTC: a record must read the same in every time zone. Always six
/// decimals, so that times sort as text.
pub(crate) fn when(at_us: i64) -> String {
    // A clock far outside the calendar is a fault of the machine; the number itself is still the truth.
    Timestamp::from_microsecond(at_us).map_or_else(|_| format!("{at_us} us"), |t| format!("{t:.6}"))
}
