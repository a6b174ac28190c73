//! What a part goes into, and what of it moves with the mating piece as measured.

use serde::{Deserialize, Serialize};

use crate::{CharacteristicId, Length, PartId, Quantity};

/// What a part goes into.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fit {
    /// The mating part.
    pub into: PartId,
    /// The gap wanted on each side.
    pub clearance: Length,
    /// What the part's nominals follow.
    pub source: FitSource,
    /// In how many different mating pieces the first article is tried; `None` as the build says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first_article_mates: Option<u32>,
}

/// What the nominals of a part that goes into another follow.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum FitSource {
    /// The mating part's plan.
    Plan,
    /// The mating piece's own readings, from when a person names it; until then its plan.
    Measured,
}

/// The nominal is computed from the mating part's plan; for a mating piece measured otherwise, nominal and
/// limits move by the difference, one for one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Follows {
    /// Of the mating part.
    pub characteristic: CharacteristicId,
    /// What the mating part's plan wants there.
    pub planned: Quantity,
}
