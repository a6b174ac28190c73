//! The one place of this crate that reads the clock.

use jiff::Timestamp;
use jiff::tz::TimeZone;

/// Now, in microseconds since 1970-01-01 UTC: the time an event is received.
#[expect(
    clippy::disallowed_methods,
    reason = "the edge: an act posted over HTTP is stamped when it arrives"
)]
pub(crate) fn now_us() -> i64 {
    Timestamp::now().as_microsecond()
}

/// A time of day as the workshop's clock on the wall shows it.
pub(crate) fn time_of_day(at_us: i64, zone: &TimeZone) -> String {
    Timestamp::from_microsecond(at_us).map_or_else(
        |_| "unknown time".to_owned(),
        |at| {
            at.to_zoned_datetime(zone.clone())
                .strftime("%H:%M:%S")
                .to_string()
        },
    )
}

/// RFC 3339 in UTC, for the JSON answers.
pub(crate) fn rfc3339(at_us: i64) -> String {
    Timestamp::from_microsecond(at_us).map_or_else(|_| format!("{at_us} us"), |at| at.to_string())
}
