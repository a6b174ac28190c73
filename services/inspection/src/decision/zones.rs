//! Zones along the number line.

use shared_types::{Limits, Place, Quantity, Rule, Verdict};

use crate::InspectionError;
use crate::uncertainty::{FACTOR_ONE, guard_factor, width_in_u};

/// Grain of an acceptance limit of a length: 0.1 µm, that of a computed nominal.
pub const LENGTH_GRAIN_PM: i64 = 100_000;
/// Grain of an acceptance limit of an angle: 0.36″, that of a computed nominal.
pub const ANGLE_GRAIN_MAS: i64 = 360;

/// What each place on the number line proves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Zones {
    accept: Option<Limits>,
    reject: Limits,
}

impl Zones {
    /// The zones of a rule for a characteristic's limits and a gauge's standard uncertainty `u` there. Guarded limits
    /// are rounded once, each to the side that claims less.
    ///
    /// # Errors
    /// Says why the rule cannot be kept: a gauge too coarse for the ratio, one limit only, no uncertainty.
    pub fn new(rule: Rule, limits: &Limits, u: Quantity) -> Result<Self, InspectionError> {
        let ends = || [limits.lower(), limits.upper()].into_iter().flatten();
        if !ends().all(|end| end.same_kind(u)) {
            return Err(InspectionError::WrongKind);
        }
        if u.raw() <= 0 {
            return Err(InspectionError::NoUncertainty { u });
        }
        match rule {
            Rule::Plain => Ok(Self::plain(limits)),
            Rule::Ratio(wanted) => {
                fine_enough(limits, u, wanted)?;
                Ok(Self::plain(limits))
            }
            Rule::Guarded(probability) => {
                let factor = guard_factor(width_in_u(limits, u), probability);
                let reject = moved(limits, -band(u, factor.beyond));
                Ok(Self {
                    accept: factor
                        .inside
                        .and_then(|inside| moved(limits, band(u, inside))),
                    reject: reject.ok_or(InspectionError::OutOfRange { u })?,
                })
            }
        }
    }

    /// The zones of the plain rule, for which no uncertainty need be known.
    #[must_use]
    pub const fn plain(limits: &Limits) -> Self {
        Self {
            accept: Some(*limits),
            reject: *limits,
        }
    }

    /// The limits within which a reading passes; none where no reading can.
    #[must_use]
    pub const fn accept(&self) -> Option<&Limits> {
        self.accept.as_ref()
    }

    /// The limits beyond which a reading is too small or too large.
    #[must_use]
    pub const fn reject(&self) -> &Limits {
        &self.reject
    }

    /// What a reading proves; `None` where it is of the other kind.
    #[must_use]
    pub fn ruling(&self, value: Quantity) -> Option<Verdict> {
        Some(match self.reject.place(value)? {
            Place::Below => Verdict::TooSmall,
            Place::Above => Verdict::TooLarge,
            Place::Within => match self.accept.and_then(|accept| accept.place(value)) {
                Some(Place::Within) => Verdict::Pass,
                _ => Verdict::Undecided,
            },
        })
    }
}

/// N to 1: the tolerance is at least N times the interval ± 2u.
fn fine_enough(limits: &Limits, u: Quantity, wanted: u32) -> Result<(), InspectionError> {
    if wanted == 0 {
        return Err(InspectionError::NoRatio);
    }
    let (Some(lower), Some(upper)) = (limits.lower(), limits.upper()) else {
        return Err(InspectionError::OneLimit);
    };
    let width = i128::from(upper.raw() - lower.raw());
    let interval = 4 * i128::from(u.raw());
    if width >= i128::from(wanted) * interval {
        return Ok(());
    }
    Err(InspectionError::GaugeTooCoarse {
        found_tenths: i64::try_from(10 * width / interval).expect("ten widths of a tolerance fit"),
        wanted,
    })
}

/// The guard band, rounded up to a whole number.
fn band(u: Quantity, factor: i64) -> i128 {
    let product = i128::from(u.raw()) * i128::from(factor);
    (product + i128::from(FACTOR_ONE) - 1).div_euclid(i128::from(FACTOR_ONE))
}

/// Both limits moved inwards by `band` (outwards where it is negative), and to the grain in the same direction. `None`
/// where they cross, so that no reading lies between them, or leave the range of their kind.
fn moved(limits: &Limits, band: i128) -> Option<Limits> {
    let end = |limit: Quantity, by: i128, up: bool| {
        let grain = i128::from(match limit {
            Quantity::Length(_) => LENGTH_GRAIN_PM,
            Quantity::Angle(_) => ANGLE_GRAIN_MAS,
        });
        let raw = i128::from(limit.raw()) + by;
        let down = raw.div_euclid(grain) * grain;
        let rounded = if up && down != raw {
            down + grain
        } else {
            down
        };
        limit.with_raw(i64::try_from(rounded).ok()?)
    };
    let inwards = band > 0;
    let lower = limits.lower().map(|limit| end(limit, band, inwards));
    let upper = limits.upper().map(|limit| end(limit, -band, !inwards));
    let whole = |end: Option<Option<Quantity>>| end.map_or(Some(None), |end| end.map(Some));
    Limits::new(whole(lower)?, whole(upper)?).ok()
}
