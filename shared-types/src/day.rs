//! A day of the calendar, as people write it: `2027-03-31`.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// A day of the Gregorian calendar from year 1 to 9999. Days compare; which one is today, an edge says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Day {
    // In this order they compare as days do.
    year: u16,
    month: u8,
    day: u8,
}

/// Not a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected a day such as \"2027-03-31\"")]
pub struct NoDay;

impl Day {
    /// A day of the calendar; `None` where there is no such day.
    #[must_use]
    pub fn new(year: u16, month: u8, day: u8) -> Option<Self> {
        let leap =
            year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
        let days = match month {
            2 if leap => 29,
            2 => 28,
            4 | 6 | 9 | 11 => 30,
            1..=12 => 31,
            _ => return None,
        };
        let there = (1..=9999).contains(&year) && (1..=days).contains(&day);
        there.then_some(Self { year, month, day })
    }
}

impl FromStr for Day {
    type Err = NoDay;

    fn from_str(text: &str) -> Result<Self, NoDay> {
        // Digits where digits stand: "+" and blanks would parse as numbers.
        let shape = text.len() == 10
            && text.bytes().enumerate().all(|(at, byte)| match at {
                4 | 7 => byte == b'-',
                _ => byte.is_ascii_digit(),
            });
        if !shape {
            return Err(NoDay);
        }
        let (year, month) = (text[..4].parse(), text[5..7].parse());
        let (Ok(year), Ok(month), Ok(day)) = (year, month, text[8..].parse()) else {
            return Err(NoDay);
        };
        Self::new(year, month, day).ok_or(NoDay)
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

impl TryFrom<String> for Day {
    type Error = NoDay;
    fn try_from(text: String) -> Result<Self, NoDay> {
        text.parse()
    }
}

impl From<Day> for String {
    fn from(day: Day) -> Self {
        day.to_string()
    }
}
