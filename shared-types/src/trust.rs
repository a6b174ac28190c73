//! What a gauge can be trusted with, as configured: how fine it shows, how far it may be off, and what it is
//! checked against.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::{Angle, Day, Expansion, GaugeId, GaugeKind, Length, PM_PER_MM, Quantity, StatedPart};

/// The reference every gauge has: closed jaws, or laid on the surface it is zeroed on.
pub const ZERO: &str = "zero";

/// What is stated of a gauge. Each may be missing; without a limit of error it cannot be checked.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Trust {
    /// The step of its display.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub resolution: Option<Quantity>,
    /// How far it may be off.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit_of_error: Option<LimitOfError>,
    /// The last day its calibration holds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calibrated_until: Option<Day>,
    /// It is to be checked after so many days.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub check_every_days: Option<u32>,
    /// What it is checked against, beside zero.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub references: Vec<Reference>,
    /// It should be heard at least once in so many seconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub silent_after_s: Option<u32>,
    /// What its uncertainty is made of beside limit of error and resolution.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub uncertainty: Vec<StatedPart>,
    /// Of a typed one: the instruments whose readings are typed, whose uncertainty they then have.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub typed_from: Vec<GaugeId>,
    /// How much it grows with its temperature; gauge steel where it is not stated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expansion: Option<Expansion>,
}

/// How far a gauge may be off.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LimitOfError {
    /// The same everywhere, as its maker states it.
    Stated(Quantity),
    /// By the length measured, as DIN 862 has it for digital calipers.
    Din862,
}

/// With which of its faces a caliper measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Faces {
    /// The outside jaws; of an angle gauge, its only ones.
    Outside,
    /// The crossed jaws.
    Inside,
    /// The depth bar.
    Depth,
}

/// Something of a known size to check a gauge against.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reference {
    /// What it is called: `gauge block 25`.
    pub name: String,
    /// Its size.
    pub value: Quantity,
    /// What it is measured with.
    pub faces: Faces,
}

impl Trust {
    /// How far the gauge may be off at a size; never less than the step of its display, which hides as
    /// much. `None` where nothing is stated for that size. At zero the step alone is enough.
    #[must_use]
    pub fn limit_at(&self, size: Quantity, faces: Faces) -> Option<Quantity> {
        let step = self.resolution.filter(|step| step.same_kind(size));
        let stated = match self.limit_of_error {
            Some(LimitOfError::Stated(limit)) => Some(limit).filter(|limit| limit.same_kind(size)),
            Some(LimitOfError::Din862) => din_862(size, faces).map(Quantity::Length),
            None => None,
        };
        match (stated, step) {
            (Some(limit), Some(step)) if limit.raw() < step.raw() => Some(step),
            (Some(limit), _) => Some(limit),
            (None, step) => step.filter(|_| size.raw() == 0 && self.limit_of_error.is_none()),
        }
    }

    /// A reference by name; zero is always there.
    #[must_use]
    pub fn reference(&self, name: &str, kind: GaugeKind) -> Option<Reference> {
        self.all_references(kind).find(|r| r.name == name)
    }

    /// Zero, then what the configuration names.
    pub fn all_references(&self, kind: GaugeKind) -> impl Iterator<Item = Reference> + '_ {
        let zero = Reference {
            name: ZERO.to_owned(),
            value: match kind {
                GaugeKind::Caliper => Quantity::Length(Length::ZERO),
                GaugeKind::AngleGauge => Quantity::Angle(Angle::ZERO),
            },
            faces: Faces::Outside,
        };
        std::iter::once(zero).chain(self.references.iter().cloned())
    }
}

/// Limits of error of digital calipers by DIN 862: 20 µm to 100 mm, 30 µm to 600 mm, 40 µm to 1000 mm, and
/// 20 µm more for inside and depth. Second-hand; beyond a metre it says nothing known to us.
fn din_862(size: Quantity, faces: Faces) -> Option<Length> {
    const UM: i64 = PM_PER_MM / 1000;
    let Quantity::Length(length) = size else {
        return None;
    };
    let length = length.pm().abs();
    let limit = if length <= 100 * PM_PER_MM {
        20 * UM
    } else if length <= 600 * PM_PER_MM {
        30 * UM
    } else if length <= 1000 * PM_PER_MM {
        40 * UM
    } else {
        return None;
    };
    let more = match faces {
        Faces::Outside => 0,
        Faces::Inside | Faces::Depth => 20 * UM,
    };
    Length::from_pm(limit + more)
}

/// Not a limit of error.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected \"DIN 862\", or a quantity above zero such as \"0.03 mm\" or \"0.2 deg\"")]
pub struct NoLimitOfError;

impl FromStr for LimitOfError {
    type Err = NoLimitOfError;

    fn from_str(text: &str) -> Result<Self, NoLimitOfError> {
        if text.trim().eq_ignore_ascii_case("DIN 862") {
            return Ok(Self::Din862);
        }
        let stated = text.trim().trim_start_matches('±');
        let limit = Quantity::parse(stated).map_err(|_| NoLimitOfError)?;
        if limit.raw() > 0 {
            Ok(Self::Stated(limit))
        } else {
            Err(NoLimitOfError)
        }
    }
}

impl fmt::Display for LimitOfError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Stated(limit) => write!(f, "±{limit}"),
            Self::Din862 => f.write_str("DIN 862"),
        }
    }
}

impl Faces {
    /// The faces' word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Outside => "outside",
            Self::Inside => "inside",
            Self::Depth => "depth",
        }
    }
}
