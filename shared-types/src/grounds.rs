//! What a verdict rests on: the rule, what is known of the reading's uncertainty, and what follows from both.
//! Whole numbers only; each was rounded once, to the side that claims less.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::{GaugeId, Limits, Quantity, Rule, Seq, Verdict};

/// What a verdict rests on. There is none where the rule is plain and nothing is known of the gauge.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Grounds {
    /// The rule in force.
    pub rule: Rule,
    /// Whose uncertainty it is: the instrument read. None for a value computed from readings.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gauge: Option<GaugeId>,
    /// The uncertainty of the value judged.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub uncertainty: Option<Uncertainty>,
    /// The limits between which a reading passes, where they are not those of the tolerance. None where the rule does
    /// not move them, or no reading can pass: [`Grounds::lacking`] tells.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub accept: Option<Limits>,
    /// The limits beyond which a reading is too small or too large, where they are not those of the tolerance.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reject: Option<Limits>,
    /// The probability that the true value lies within its limits.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chance: Option<Chance>,
    /// What would decide an undecided one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub settle: Option<Settle>,
    /// Why the rule cannot be kept.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lacking: Option<Lacking>,
    /// Some: not the reading alone was judged, but the mean of it and undecided ones before it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mean: Option<MeanOf>,
}

/// A combined standard uncertainty (GUM, JCGM 100:2008) and its parts.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Uncertainty {
    /// u, rounded up.
    pub standard: Quantity,
    /// Effective degrees of freedom where they matter (GUM G.4.1), rounded down.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub freedom: Option<u32>,
    /// Its parts.
    pub parts: Arc<[Contribution]>,
}

/// What one part adds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Contribution {
    /// What it comes from: `limit of error`.
    pub name: String,
    /// Its standard uncertainty, rounded up.
    pub standard: Quantity,
    /// How it is spread.
    pub spread: SpreadWord,
    /// Whether it becomes smaller in a mean of repeated readings.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub averages: bool,
}

/// The form of a distribution.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SpreadWord {
    /// Normal, or Student's t.
    Normal,
    /// Anywhere within its limits, alike.
    Rectangular,
    /// The middle likelier.
    Triangular,
    /// The ends likelier.
    UShaped,
}

impl SpreadWord {
    /// The distribution's word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Normal => "normal",
            Self::Rectangular => "rectangular",
            Self::Triangular => "triangular",
            Self::UShaped => "U-shaped",
        }
    }
}

/// The denominator of a [`Chance`].
pub const CHANCE_ONE: u64 = 1_000_000_000_000_000;

/// A conformance probability (JCGM 106:2012), as the smaller of it and its complement, so that one in a million is told
/// from one in a billion on either side.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Chance {
    /// So many in 10¹⁵ that it lies outside its limits, rounded up; at most half of all.
    Outside(u64),
    /// So many in 10¹⁵ that it lies within them, rounded down; less than half of all.
    Within(u64),
}

impl Chance {
    /// In words that a person reads: `99.8 % likely within`, `1 in 12,000 outside`.
    #[must_use]
    pub fn words(self) -> String {
        let (small, rare, common) = match self {
            Self::Outside(small) => (small, "outside", "within"),
            Self::Within(small) => (small, "within", "outside"),
        };
        if small < CHANCE_ONE / 1_000_000_000 {
            return format!("less than 1 in a billion {rare}");
        }
        if small < CHANCE_ONE / 1000 {
            return format!("1 in {} {rare}", two_digits(CHANCE_ONE / small));
        }
        // To a tenth of a per cent, and never better than it is.
        let tenths = match self {
            Self::Outside(_) => (CHANCE_ONE - small) / (CHANCE_ONE / 1000),
            Self::Within(_) => (CHANCE_ONE - small).div_ceil(CHANCE_ONE / 1000),
        };
        format!("{}.{} % likely {common}", tenths / 10, tenths % 10)
    }
}

/// The first two digits, the rest as zeros, in groups of three: 12,000.
fn two_digits(number: u64) -> String {
    let mut unit = 1;
    while number / unit >= 100 {
        unit *= 10;
    }
    let digits = (number / unit * unit).to_string();
    let mut text = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// What would decide an undecided reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settle {
    /// How many readings in all, were their mean the same as this one; none where repeating does not help.
    pub repeats: Option<u32>,
    /// The standard uncertainty a gauge would need for one such reading; none where no gauge would: the value lies on
    /// its limit.
    pub uncertainty: Option<Quantity>,
    /// What it would then prove.
    pub to: Verdict,
}

/// Why a rule cannot be kept. The reading is then undecided.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Lacking {
    /// Nothing is known of the gauge's uncertainty there.
    Uncertainty,
    /// Guarded: the gauge is so coarse that no reading whatever could pass.
    NoneCanPass,
    /// Ratio: the gauge has this many tenths to 1 for this tolerance, rounded down.
    TooCoarse(i64),
    /// Ratio: the characteristic has one limit only.
    OneLimit,
}

/// A mean that was judged in the place of one reading.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MeanOf {
    /// The mean, rounded half to even to a whole picometre or milliarcsecond.
    pub value: Quantity,
    /// The readings it is of, by their entries, in order; the one judged is the last.
    pub of: Vec<Seq>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chance_is_told_as_people_say_it_and_never_better_than_it_is() {
        let part = |of: u64| CHANCE_ONE / of;
        for (chance, words) in [
            (Chance::Outside(0), "less than 1 in a billion outside"),
            (Chance::Outside(part(12_345)), "1 in 12,000 outside"),
            (Chance::Outside(part(1_000_000)), "1 in 1,000,000 outside"),
            (Chance::Outside(part(1000)), "99.9 % likely within"),
            (Chance::Outside(2_000_000_000_001), "99.7 % likely within"),
            (Chance::Outside(part(2)), "50.0 % likely within"),
            (Chance::Within(part(4)), "75.0 % likely outside"),
            (Chance::Within(part(200_000)), "1 in 200,000 within"),
        ] {
            assert_eq!(chance.words(), words, "{chance:?}");
        }
    }
}
