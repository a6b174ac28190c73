//! Tolerance limits.

use std::cmp::Ordering;

use serde::{Deserialize, Serialize};

use crate::Quantity;

/// The tolerance interval of a characteristic: the limits belong to it. At least one limit is there,
/// both are of one kind, and the lower is not above the upper.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Written", into = "Written")]
pub struct Limits {
    lower: Option<Quantity>,
    upper: Option<Quantity>,
}

#[derive(Clone, Copy, Serialize, Deserialize)]
struct Written {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    lower: Option<Quantity>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    upper: Option<Quantity>,
}

/// Where a value lies along the number line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// `value < lower`
    Below,
    /// `lower <= value <= upper`
    Within,
    /// `upper < value`
    Above,
}

/// Why two values are not limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LimitsError {
    /// Neither limit is there.
    #[error("no limit given, expected a lower or an upper one")]
    None,
    /// A length and an angle.
    #[error("one limit is a length, the other an angle")]
    WrongKind,
    /// Lower above upper.
    #[error("the lower limit lies above the upper one")]
    Crossed,
}

impl Limits {
    /// Limits, checked.
    ///
    /// # Errors
    /// See [`LimitsError`].
    pub fn new(lower: Option<Quantity>, upper: Option<Quantity>) -> Result<Self, LimitsError> {
        match (lower, upper) {
            (None, None) => Err(LimitsError::None),
            (Some(lower), Some(upper)) => match lower.compare(upper) {
                None => Err(LimitsError::WrongKind),
                Some(Ordering::Greater) => Err(LimitsError::Crossed),
                Some(_) => Ok(Self {
                    lower: Some(lower),
                    upper: Some(upper),
                }),
            },
            _ => Ok(Self { lower, upper }),
        }
    }

    /// The lower limit, where there is one.
    #[must_use]
    pub const fn lower(&self) -> Option<Quantity> {
        self.lower
    }

    /// The upper limit, where there is one.
    #[must_use]
    pub const fn upper(&self) -> Option<Quantity> {
        self.upper
    }

    /// Where `value` lies; `None` where it is of the other kind.
    #[must_use]
    pub fn place(&self, value: Quantity) -> Option<Place> {
        if let Some(lower) = self.lower
            && value.compare(lower)? == Ordering::Less
        {
            return Some(Place::Below);
        }
        if let Some(upper) = self.upper
            && upper.compare(value)? == Ordering::Less
        {
            return Some(Place::Above);
        }
        Some(Place::Within)
    }
}

impl TryFrom<Written> for Limits {
    type Error = LimitsError;
    fn try_from(written: Written) -> Result<Self, Self::Error> {
        Self::new(written.lower, written.upper)
    }
}

impl From<Limits> for Written {
    fn from(limits: Limits) -> Self {
        Self {
            lower: limits.lower,
            upper: limits.upper,
        }
    }
}
