//! The budget of a gauge at a size.

use shared_types::Quantity;

use super::budget::Budget;
use super::part::{Part, Spread};
use crate::InspectionError;

/// What is known of a gauge and of the shop it is used in.
#[derive(Clone, Debug, PartialEq)]
pub struct GaugeFacts {
    /// Its limit of error, ±, from its standard or its maker; none where only other parts are stated.
    pub limit_of_error: Option<Quantity>,
    /// Where that figure comes from.
    pub limit_source: String,
    /// The step of its display; none where it is not stated.
    pub resolution: Option<Quantity>,
    /// Whether it is set to zero before use, so that its step is rounded twice.
    pub zeroed: bool,
    /// How much it repeats, from a gauge study where there is one.
    pub repeatability: Option<Repeatability>,
    /// The shop's temperature; lengths only.
    pub temperature: Option<Temperature>,
    /// What a person adds.
    pub more: Vec<Part>,
}

/// How much one hand scatters on one piece.
#[derive(Clone, Debug, PartialEq)]
pub struct Repeatability {
    /// Standard deviation.
    pub sd: Quantity,
    /// Degrees of freedom behind it.
    pub freedom: u32,
    /// Where it comes from.
    pub source: String,
}

/// How far the shop may be from 20 °C (ISO 1), and piece and gauge from each other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Temperature {
    /// Both from 20 °C, ±, in thousandths of a kelvin.
    pub off_20_mk: u32,
    /// Piece and gauge from each other, ±, in thousandths of a kelvin.
    pub apart_mk: u32,
    /// Expansion of the piece, in 1e-9 a kelvin: aluminium 23600.
    pub piece_e9: u32,
    /// Expansion of the gauge, in 1e-9 a kelvin: steel 11500.
    pub gauge_e9: u32,
    /// Where the temperatures come from.
    pub source: String,
}

impl GaugeFacts {
    /// The budget of one reading of about `size`.
    ///
    /// # Errors
    /// [`InspectionError::WrongKind`] where lengths and angles meet.
    pub fn budget(&self, size: Quantity) -> Result<Budget, InspectionError> {
        let repeats = self.repeatability.as_ref().map(|repeats| repeats.sd);
        let kinds = [self.limit_of_error, self.resolution, repeats];
        let temperature_of_an_angle =
            self.temperature.is_some() && matches!(size, Quantity::Angle(_));
        if temperature_of_an_angle || !kinds.into_iter().flatten().all(|q| q.same_kind(size)) {
            return Err(InspectionError::WrongKind);
        }
        let grains = |quantity: Quantity| quantity.raw() as f64;
        let step = self.resolution.map(grains);
        let limit = self.limit_of_error.map(|limit| {
            // A display cannot keep a limit of error finer than its step.
            let half = step.map_or(grains(limit), |step| grains(limit).max(step));
            Part::new(
                "limit of error",
                Spread::Rectangular { half },
                &self.limit_source,
            )
        });
        let mut parts: Vec<Part> = limit.into_iter().collect();
        parts.extend(step.map(|step| self.resolution(step)));
        parts.extend(self.repeatability.as_ref().map(|repeats| {
            Part {
                averages: true,
                ..Part::new(
                    "repeatability",
                    Spread::Standard(grains(repeats.sd)),
                    &repeats.source,
                )
                .with_freedom(f64::from(repeats.freedom))
            }
        }));
        if let Some(temperature) = &self.temperature {
            parts.extend(temperature.parts(grains(size)));
        }
        parts.extend(self.more.iter().cloned());
        Ok(Budget { parts })
    }

    /// It stays in a mean: readings that agree to the digit average nothing. Counted beside repeatability, which holds a
    /// little of it too, on the safe side.
    fn resolution(&self, step: f64) -> Part {
        let spread = if self.zeroed {
            Spread::TwoSteps { step }
        } else {
            Spread::Step { step }
        };
        Part::new("resolution", spread, "the step of its display")
    }
}

impl Temperature {
    fn parts(&self, size: f64) -> [Part; 2] {
        let per_k = |e9: f64| size * e9 * 1e-9;
        let kelvin = |mk: u32| f64::from(mk) / 1000.0;
        let (piece, gauge) = (f64::from(self.piece_e9), f64::from(self.gauge_e9));
        let source = &self.source;
        [
            Part::new(
                "temperature of both",
                Spread::Rectangular {
                    half: kelvin(self.off_20_mk),
                },
                source,
            )
            .with_sensitivity(per_k(piece - gauge)),
            Part::new(
                "piece and gauge apart in temperature",
                Spread::Rectangular {
                    half: kelvin(self.apart_mk),
                },
                source,
            )
            .with_sensitivity(per_k(piece)),
        ]
    }
}
