//! What a build lays down for all its parts: the general tolerance and the bend-allowance rule.

use std::fmt;
use std::str::FromStr;

use shared_types::Number;

use crate::general::GeneralTolerance;

/// The rules every part of a build is computed by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BuildRules {
    /// For dimensions whose tolerance the part file does not state.
    pub general: GeneralTolerance,
    /// How much sheet a bend takes up.
    pub allowance: AllowanceRule,
}

/// How much sheet a bend takes up. The rules give different blanks by design: a build picks one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AllowanceRule {
    /// BA = (0.01743 R + 0.0078 T) A, FAA-H-8083-31 chapter 4.
    Empirical,
    /// BA = (R + k T) A with the bend angle in radians.
    KFactor(KFactor),
    /// The neutral axis at k T / 2 with k = 0.65 + 0.5 log10(R / T), at most 1; no deduction up to 15°.
    Din6935,
}

/// Where the neutral axis lies, as a part of the thickness from the inside of the bend: more than 0, at
/// most 1, exact to a millionth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KFactor {
    millionths: u32,
}

/// A rule that is none of those known.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RuleError {
    /// Not a bend-allowance rule.
    #[error(
        "found {0:?}, expected \"empirical\", \"din-6935\", \"t/2\" or a k-factor such as \"k 0.44\""
    )]
    Allowance(String),
    /// A k-factor out of range.
    #[error("found the k-factor {0:?}, expected a decimal above 0 and at most 1, to six places")]
    KFactor(String),
    /// Not a general tolerance.
    #[error(
        "found {0:?}, expected \"ISO 2768-1 f\", \"ISO 2768-1 m\", \"ISO 2768-1 c\" or \"ISO 2768-1 v\""
    )]
    General(String),
}

impl KFactor {
    /// The factor as a part of one.
    pub(crate) fn ratio(self) -> f64 {
        f64::from(self.millionths) / 1e6
    }
}

impl FromStr for KFactor {
    type Err = RuleError;
    fn from_str(text: &str) -> Result<Self, RuleError> {
        let wrong = || RuleError::KFactor(text.to_owned());
        let millionths = Number::parse(text, '.')
            .ok()
            .and_then(|number| number.whole(1_000_000))
            .filter(|millionths| (1..=1_000_000).contains(millionths))
            .ok_or_else(wrong)?;
        let millionths = u32::try_from(millionths).map_err(|_| wrong())?;
        Ok(Self { millionths })
    }
}

impl fmt::Display for KFactor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.millionths == 1_000_000 {
            return f.write_str("1");
        }
        let digits = format!("{:06}", self.millionths);
        write!(f, "0.{}", digits.trim_end_matches('0'))
    }
}

/// `empirical`, `din-6935`, `t/2`, `k 0.44`: as a configuration writes it.
impl FromStr for AllowanceRule {
    type Err = RuleError;
    fn from_str(text: &str) -> Result<Self, RuleError> {
        match text {
            "empirical" => Ok(Self::Empirical),
            "din-6935" => Ok(Self::Din6935),
            "t/2" => "0.5".parse().map(Self::KFactor),
            other => other
                .strip_prefix("k ")
                .ok_or_else(|| RuleError::Allowance(text.to_owned()))?
                .parse()
                .map(Self::KFactor),
        }
    }
}

/// The spelling of a configuration, one for each rule.
impl fmt::Display for AllowanceRule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empirical => f.write_str("empirical"),
            Self::Din6935 => f.write_str("din-6935"),
            Self::KFactor(k) => write!(f, "k {k}"),
        }
    }
}
