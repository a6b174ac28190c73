//! The decision rule: how readings are judged.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// How readings are judged. It is written and stored as `plain`, `guarded 95 %` or `ratio 4`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum Rule {
    /// The reading against the limits, whatever its uncertainty.
    #[default]
    Plain,
    /// ISO 14253-1: proved inside, proved outside, otherwise undecided.
    Guarded(Probability),
    /// ASME B89.7.3.1, N to 1: the reading against the limits, by a gauge whose expanded uncertainty (k = 2), taken both
    /// ways, fits N times into the tolerance.
    Ratio(u32),
}

/// Largest ratio that can be asked for: beyond it no gauge of a workshop is fine enough for any tolerance.
pub const RATIO_MAX: u32 = 1000;

impl Rule {
    /// The rule in a sentence, with its source.
    #[must_use]
    pub fn sentence(self) -> String {
        match self {
            Self::Plain => "the reading against the limits".to_owned(),
            Self::Guarded(p) => format!("proved with {p} probability (ISO 14253-1)"),
            Self::Ratio(n) => format!(
                "the reading against the limits, by a gauge at least {n} to 1 (ASME B89.7.3.1)"
            ),
        }
    }
}

impl fmt::Display for Rule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Plain => f.write_str("plain"),
            Self::Guarded(p) => write!(f, "guarded {p}"),
            Self::Ratio(n) => write!(f, "ratio {n}"),
        }
    }
}

/// Not a decision rule.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "found {found:?}, expected \"plain\", \"guarded\" (with 95 %), \"guarded 97.5 %\" (above 50 %, below 100 %), or \"ratio 4\" (1 to 1000)"
)]
pub struct NoRule {
    /// What was written.
    pub found: String,
}

impl FromStr for Rule {
    type Err = NoRule;

    fn from_str(text: &str) -> Result<Self, NoRule> {
        let mut words = text.trim().splitn(2, ' ');
        let (word, rest) = (words.next().unwrap_or_default(), words.next());
        let rule = match (word, rest) {
            ("plain", None) => Some(Self::Plain),
            ("guarded", None) => Some(Self::Guarded(Probability::DEFAULT)),
            ("guarded", Some(p)) => Probability::parse(p).map(Self::Guarded),
            ("ratio", Some(n)) => {
                let ratio = n.trim().parse().ok();
                ratio
                    .filter(|n| (1..=RATIO_MAX).contains(n))
                    .map(Self::Ratio)
            }
            _ => None,
        };
        rule.ok_or_else(|| NoRule {
            found: text.to_owned(),
        })
    }
}

impl TryFrom<String> for Rule {
    type Error = NoRule;
    fn try_from(text: String) -> Result<Self, NoRule> {
        text.parse()
    }
}

impl From<Rule> for String {
    fn from(rule: Rule) -> Self {
        rule.to_string()
    }
}

/// A probability above a half, in ten-thousandths.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Probability(u16);

impl Probability {
    /// 95 %, the default of ISO 14253-1:2017.
    pub const DEFAULT: Self = Self(9500);

    /// So many in ten thousand, from 5001 to 9999.
    #[must_use]
    pub const fn new(in_10_000: u16) -> Option<Self> {
        if in_10_000 > 5000 && in_10_000 < 10_000 {
            Some(Self(in_10_000))
        } else {
            None
        }
    }

    /// In ten-thousandths.
    #[must_use]
    pub const fn in_10_000(self) -> u16 {
        self.0
    }

    /// `95 %`, `97.5%`, with two decimals at most.
    fn parse(text: &str) -> Option<Self> {
        let number = text.trim().strip_suffix('%')?.trim_end();
        let (whole, rest) = number.split_once('.').unwrap_or((number, "0"));
        let digits = |text: &str, most: usize| {
            let right = (1..=most).contains(&text.len());
            (right && text.bytes().all(|b| b.is_ascii_digit())).then(|| text.parse::<u16>().ok())?
        };
        let rest = digits(rest, 2)? * if rest.len() == 1 { 10 } else { 1 };
        Self::new(digits(whole, 2)? * 100 + rest)
    }
}

/// `95 %`, `97.5 %`.
impl fmt::Display for Probability {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (whole, rest) = (self.0 / 100, self.0 % 100);
        match (rest, rest % 10) {
            (0, _) => write!(f, "{whole} %"),
            (_, 0) => write!(f, "{whole}.{} %", rest / 10),
            _ => write!(f, "{whole}.{rest:02} %"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rule_is_read_as_it_is_written_and_nothing_else_is_one() {
        for (text, written) in [
            ("plain", "plain"),
            ("guarded", "guarded 95 %"),
            ("guarded 97.5%", "guarded 97.5 %"),
            ("guarded 99.73 %", "guarded 99.73 %"),
            ("guarded 99.05 %", "guarded 99.05 %"),
            ("ratio 4", "ratio 4"),
        ] {
            let rule: Rule = text.parse().unwrap();
            assert_eq!(rule.to_string(), written);
            assert_eq!(written.parse(), Ok(rule));
        }
        for text in [
            "",
            "Plain",
            "plain 95 %",
            "guarded 50 %",
            "guarded 100 %",
            "guarded 95",
            "guarded -95 %",
            "guarded 99.999 %",
            "guarded 9.5.1 %",
            "ratio",
            "ratio 0",
            "ratio 1001",
            "ratio 4:1",
        ] {
            assert!(text.parse::<Rule>().is_err(), "{text}");
        }
    }
}
