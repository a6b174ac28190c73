//! Coverage factors.

use shared_types::Quantity;

use super::budget::up;
use super::normal;
use super::part::Part;
use super::student;

/// What the combined distribution is like, as far as the coverage factor goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Coverage {
    /// Many parts, none of which rules: normal.
    Normal,
    /// The same, known from so many degrees of freedom only: Student's t (GUM G.3).
    Student(u32),
    /// One rectangular part rules (EA-4/02 M:2022 S9).
    Rectangular,
    /// Two rectangular parts rule: a trapezoid whose top is β of its foot (EA-4/02 M:2022 S10).
    Trapezoid {
        /// Top over foot.
        beta: f64,
    },
}

/// An expanded uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Expanded {
    /// U in grains.
    pub half: f64,
    /// k
    pub k: f64,
    /// The probability that the true value lies within ± U.
    pub probability: f64,
}

impl Expanded {
    /// k in hundredths, rounded up.
    #[must_use]
    pub fn k_hundredths(&self) -> u32 {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a coverage factor for 95 % is from 1.6 to 12.8"
        )]
        let hundredths = (self.k * 100.0).ceil() as u32;
        hundredths
    }

    /// U as a quantity of `kind`'s kind, rounded up; `None` beyond the range of its kind.
    #[must_use]
    pub fn quantity(&self, kind: Quantity) -> Option<Quantity> {
        up(self.half, kind)
    }
}

/// Rectangular parts rule where all others together are at most this part of them (EA-4/02 M:2022 S9 and S10,
/// from memory).
const OTHERS_MOST: f64 = 0.3;

impl Coverage {
    pub(super) fn of(parts: &[Part], freedom: Option<u32>) -> Self {
        if let Some(freedom) = freedom {
            return Self::Student(freedom);
        }
        let mut sorted: Vec<&Part> = parts.iter().collect();
        sorted.sort_by(|a, b| b.standard().total_cmp(&a.standard()));
        let half = |part: &Part| Some(part.spread.rectangular_half()? * part.sensitivity.abs());
        let together = |parts: &[&Part]| {
            parts
                .iter()
                .map(|part| part.standard().powi(2))
                .sum::<f64>()
                .sqrt()
        };
        let rules =
            |first: usize| together(&sorted[first..]) <= OTHERS_MOST * together(&sorted[..first]);
        match sorted.as_slice() {
            [first, ..] if half(first).is_some() && rules(1) => Self::Rectangular,
            [first, second, ..] if rules(2) => match (half(first), half(second)) {
                (Some(a), Some(b)) => Self::Trapezoid {
                    beta: (a - b).abs() / (a + b),
                },
                _ => Self::Normal,
            },
            _ => Self::Normal,
        }
    }

    /// k for a coverage probability.
    #[must_use]
    pub fn factor(self, probability: f64) -> f64 {
        match self {
            Self::Normal => normal::two_sided(probability),
            Self::Student(freedom) => student::two_sided(probability, freedom),
            Self::Rectangular => probability * 3_f64.sqrt(),
            // Within the flat top the probability grows evenly; what is left beyond it are two triangles.
            Self::Trapezoid { beta } => {
                let flat = 2.0 * beta / (1.0 + beta);
                let sd = ((1.0 + beta * beta) / 6.0).sqrt();
                if probability <= flat {
                    probability * (1.0 + beta) / (2.0 * sd)
                } else {
                    (1.0 - ((1.0 - probability) * (1.0 - beta * beta)).sqrt()) / sd
                }
            }
        }
    }

    pub(super) fn expand(self, standard: f64, probability: f64) -> Expanded {
        let k = self.factor(probability);
        Expanded {
            half: k * standard,
            k,
            probability,
        }
    }
}
