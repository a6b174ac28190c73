//! One part of a budget.

use shared_types::{Quantity, StatedSpread};

use super::budget::up;
use crate::InspectionError;

/// How large a part may be, and how it is spread. The size is in the part's own unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spread {
    /// A standard uncertainty, from repeated readings or a certificate.
    Standard(f64),
    /// An expanded uncertainty and its coverage factor, from a certificate.
    Expanded {
        /// U
        half: f64,
        /// k
        k: f64,
    },
    /// Anywhere within ± half, alike: a limit of error. GUM (JCGM 100:2008) 4.3.7: half/√3.
    Rectangular {
        /// Half the width.
        half: f64,
    },
    /// Within ± half, the middle likelier: GUM 4.3.9: half/√6.
    Triangular {
        /// Half the width.
        half: f64,
    },
    /// Within ± half, the ends likelier: a swinging temperature. half/√2, the arcsine distribution.
    UShaped {
        /// Half the width.
        half: f64,
    },
    /// A digital step, read once: GUM F.2.2.1: step/√12.
    Step {
        /// The step.
        step: f64,
    },
    /// A digital step that was rounded twice, at zero and at the piece: step/√6.
    TwoSteps {
        /// The step.
        step: f64,
    },
}

impl Spread {
    /// A spread as a person states it.
    #[must_use]
    pub fn stated(value: Quantity, spread: StatedSpread) -> Self {
        let half = value.raw() as f64;
        match spread {
            StatedSpread::Normal => Self::Standard(half),
            StatedSpread::Expanded(hundredths) => Self::Expanded {
                half,
                k: f64::from(hundredths) / 100.0,
            },
            StatedSpread::Rectangular => Self::Rectangular { half },
            StatedSpread::Triangular => Self::Triangular { half },
            StatedSpread::UShaped => Self::UShaped { half },
        }
    }

    /// The standard uncertainty, in the part's own unit.
    #[must_use]
    pub fn standard(self) -> f64 {
        match self {
            Self::Standard(u) => u,
            Self::Expanded { half, k } => half / k,
            Self::Rectangular { half } => half / 3_f64.sqrt(),
            Self::Triangular { half } | Self::TwoSteps { step: half } => half / 6_f64.sqrt(),
            Self::UShaped { half } => half / 2_f64.sqrt(),
            Self::Step { step } => step / 12_f64.sqrt(),
        }
    }

    /// Its distribution in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Standard(_) | Self::Expanded { .. } => "normal",
            Self::Rectangular { .. } | Self::Step { .. } => "rectangular",
            Self::Triangular { .. } | Self::TwoSteps { .. } => "triangular",
            Self::UShaped { .. } => "U-shaped",
        }
    }

    /// Half the width of a rectangular one.
    pub(super) const fn rectangular_half(self) -> Option<f64> {
        match self {
            Self::Rectangular { half } => Some(half),
            Self::Step { step } => Some(step / 2.0),
            _ => None,
        }
    }
}

/// One part of a budget.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// What it comes from, as `resolution`.
    pub name: String,
    /// How large it may be.
    pub spread: Spread,
    /// Grains of the result (picometres or milliarcseconds) for one unit of the part.
    pub sensitivity: f64,
    /// Degrees of freedom behind it; none where it is as good as known.
    pub freedom: Option<f64>,
    /// Whether it becomes smaller in the mean of repeated readings.
    pub averages: bool,
    /// Where the figure comes from.
    pub source: String,
}

impl Part {
    /// A part in grains, well known, that does not average out.
    #[must_use]
    pub fn new(name: &str, spread: Spread, source: &str) -> Self {
        Self {
            name: name.to_owned(),
            spread,
            sensitivity: 1.0,
            freedom: None,
            averages: false,
            source: source.to_owned(),
        }
    }

    /// The same, of another unit.
    #[must_use]
    pub fn with_sensitivity(self, sensitivity: f64) -> Self {
        Self {
            sensitivity,
            ..self
        }
    }

    /// The same, known from so many degrees of freedom.
    #[must_use]
    pub fn with_freedom(self, freedom: f64) -> Self {
        Self {
            freedom: Some(freedom),
            ..self
        }
    }

    /// What it adds to the result, as a standard uncertainty in grains.
    #[must_use]
    pub fn standard(&self) -> f64 {
        (self.sensitivity * self.spread.standard()).abs()
    }

    /// Its degrees of freedom, rounded down.
    #[must_use]
    pub fn whole_freedom(&self) -> Option<u32> {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "clamped to the range"
        )]
        let whole = |freedom: f64| freedom.clamp(0.0, f64::from(u32::MAX)) as u32;
        self.freedom.map(whole)
    }

    /// The same as a quantity of `kind`'s kind, rounded up; `None` beyond the range of its kind.
    #[must_use]
    pub fn quantity(&self, kind: Quantity) -> Option<Quantity> {
        up(self.standard(), kind)
    }

    pub(super) fn check(&self) -> Result<(), InspectionError> {
        let size = self.spread.standard();
        if !(size >= 0.0 && self.standard().is_finite()) {
            return Err(InspectionError::NotAnUncertainty {
                name: self.name.clone(),
            });
        }
        if self
            .freedom
            .is_some_and(|freedom| freedom.is_nan() || freedom < 1.0)
        {
            return Err(InspectionError::TooLittleFreedom {
                name: self.name.clone(),
            });
        }
        Ok(())
    }
}
