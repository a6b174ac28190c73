//! The one place of this crate that reads the clock.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use shared_types::Day;

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

/// The day and the time of day on the workshop's wall.
pub(crate) fn day_and_time(at_us: i64, zone: &TimeZone) -> String {
    on_the_wall(at_us, zone, "%Y-%m-%d %H:%M")
}

/// The day on the workshop's wall.
pub(crate) fn day_of(at_us: i64, zone: &TimeZone) -> String {
    on_the_wall(at_us, zone, "%Y-%m-%d")
}

fn on_the_wall(at_us: i64, zone: &TimeZone, format: &str) -> String {
    Timestamp::from_microsecond(at_us).map_or_else(
        |_| "unknown time".to_owned(),
        |at| {
            let there = at.to_zoned_datetime(zone.clone());
            there.strftime(format).to_string()
        },
    )
}

/// The day that is `now_us` in the workshop. Beyond what a calendar holds, its first day: then nothing has ended.
pub(crate) fn today(now_us: i64, zone: &TimeZone) -> Day {
    let first = Day::new(1, 1, 1).expect("the first of January is a day");
    day_of(now_us, zone).parse().unwrap_or(first)
}

/// RFC 3339 in UTC, for the JSON answers.
pub(crate) fn rfc3339(at_us: i64) -> String {
    Timestamp::from_microsecond(at_us).map_or_else(|_| format!("{at_us} us"), |at| at.to_string())
}
