//! A span of time as a person writes it: `300 ms`, `2 s`.

use std::str::FromStr;

/// Longest span in a configuration: nobody waits a minute at a bench.
const DELAY_MAX_US: i64 = 60_000_000;

/// A span of time in microseconds, from 0 to a minute.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Delay {
    /// How long.
    pub(super) us: i64,
}

/// What is expected where a text is none.
pub(super) const EXPECTED: &str = "a time up to a minute such as \"300 ms\" or \"2 s\"";

/// Not a span of time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected a whole number of ms or s up to a minute such as \"300 ms\" or \"2 s\"")]
pub(super) struct NoDelay;

impl FromStr for Delay {
    type Err = NoDelay;

    fn from_str(text: &str) -> Result<Self, NoDelay> {
        let text = text.trim();
        let (number, us_each) = match text.strip_suffix("ms") {
            Some(number) => (number, 1_000),
            None => (text.strip_suffix('s').ok_or(NoDelay)?, 1_000_000),
        };
        let number = number.trim_end();
        if number.is_empty() || !number.bytes().all(|byte| byte.is_ascii_digit()) {
            return Err(NoDelay);
        }
        let count: i64 = number.parse().map_err(|_| NoDelay)?;
        let us = count.checked_mul(us_each).ok_or(NoDelay)?;
        if us > DELAY_MAX_US {
            return Err(NoDelay);
        }
        Ok(Self { us })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_span_of_time_is_a_whole_number_with_its_unit() {
        for (text, us) in [
            ("300 ms", 300_000),
            ("2s", 2_000_000),
            ("0 ms", 0),
            ("60 s", 60_000_000),
        ] {
            assert_eq!(text.parse(), Ok(Delay { us }), "{text}");
        }
        for text in [
            "",
            "ms",
            "300",
            "1.5 s",
            "-1 s",
            "61 s",
            "9999999999999999999 s",
            "1 min",
            "+1 s",
        ] {
            assert_eq!(text.parse::<Delay>(), Err(NoDelay), "{text}");
        }
    }
}
