//! A part of a gauge's uncertainty that a person states: from a certificate, a study, or what is known of the shop.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::Quantity;

/// One stated part.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StatedPart {
    /// What it comes from.
    pub name: String,
    /// How large it may be: the standard or expanded uncertainty, or half the width.
    pub value: Quantity,
    /// How it is spread.
    pub spread: StatedSpread,
    /// Where the figure comes from.
    pub source: String,
    /// Degrees of freedom behind it; none where it is as good as known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub freedom: Option<u32>,
    /// Whether it becomes smaller in a mean of repeated readings.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub repeats: bool,
}

/// How a stated part is spread. Written and stored as `normal`, `expanded 2`, `rectangular`, `triangular`, `u-shaped`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum StatedSpread {
    /// A standard uncertainty.
    Normal,
    /// An expanded one, with its coverage factor in hundredths.
    Expanded(u32),
    /// Anywhere within its limits, alike.
    Rectangular,
    /// The middle likelier.
    Triangular,
    /// The ends likelier: what swings.
    UShaped,
}

/// Not a spread.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "expected \"normal\" (a standard uncertainty), \"expanded 2\" (with its k, 1 to 10), \"rectangular\", \"triangular\" or \"u-shaped\""
)]
pub struct NoSpread;

impl FromStr for StatedSpread {
    type Err = NoSpread;

    fn from_str(text: &str) -> Result<Self, NoSpread> {
        Ok(match text.trim() {
            "normal" => Self::Normal,
            "rectangular" => Self::Rectangular,
            "triangular" => Self::Triangular,
            "u-shaped" => Self::UShaped,
            other => {
                let k = other.strip_prefix("expanded ").ok_or(NoSpread)?.trim();
                let k = crate::Number::parse(k, '.').ok().and_then(|k| k.whole(100));
                let k = k.filter(|k| (100..=1000).contains(k)).ok_or(NoSpread)?;
                Self::Expanded(u32::try_from(k).map_err(|_| NoSpread)?)
            }
        })
    }
}

impl fmt::Display for StatedSpread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Normal => f.write_str("normal"),
            Self::Expanded(k) => write!(f, "expanded {}.{:02}", k / 100, k % 100),
            Self::Rectangular => f.write_str("rectangular"),
            Self::Triangular => f.write_str("triangular"),
            Self::UShaped => f.write_str("u-shaped"),
        }
    }
}

impl TryFrom<String> for StatedSpread {
    type Error = NoSpread;
    fn try_from(text: String) -> Result<Self, NoSpread> {
        text.parse()
    }
}

impl From<StatedSpread> for String {
    fn from(spread: StatedSpread) -> Self {
        spread.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spread_is_read_as_it_is_written() {
        for text in [
            "normal",
            "expanded 2.00",
            "expanded 2.05",
            "rectangular",
            "triangular",
            "u-shaped",
        ] {
            assert_eq!(text.parse::<StatedSpread>().unwrap().to_string(), text);
        }
        assert_eq!("expanded 2".parse(), Ok(StatedSpread::Expanded(200)));
        for text in [
            "",
            "expanded",
            "expanded 0.5",
            "expanded 11",
            "expanded 2.005",
            "Normal",
        ] {
            assert_eq!(text.parse::<StatedSpread>(), Err(NoSpread), "{text}");
        }
    }
}
