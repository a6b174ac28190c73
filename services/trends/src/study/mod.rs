//! Gauge studies: how much of what a gauge shows is the gauge, how much the hand, and how much the pieces.
//!
//! Every appraiser measures every piece the same number of times, without seeing earlier results.

mod range;
mod variance;

pub use range::by_ranges;
pub use variance::{Interaction, Variance, VarianceLine, by_variance, pooled_by_custom};

use crate::TrendsError;

const WHAT: &str = "a gauge study";

/// Most readings of one study: a study is an afternoon's work of perhaps a hundred readings.
pub const STUDY_READINGS_MAX: usize = 10_000;

/// The readings of a study, in grains.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Readings {
    /// By appraiser, piece and trial; every piece as often by every appraiser.
    cells: Vec<Vec<Vec<i64>>>,
}

impl Readings {
    /// Readings by appraiser, piece and trial: at least two of each.
    ///
    /// # Errors
    /// Fewer than two appraisers, pieces or trials, unlike numbers of them, or too many readings.
    pub fn new(cells: Vec<Vec<Vec<i64>>>) -> Result<Self, TrendsError> {
        let pieces = cells.first().map_or(0, Vec::len);
        let trials = cells.first().and_then(|c| c.first()).map_or(0, Vec::len);
        for found in [cells.len(), pieces, trials] {
            if found < 2 {
                return Err(TrendsError::TooFew {
                    what: WHAT,
                    found,
                    least: 2,
                });
            }
        }
        let sizes = cells.iter().flat_map(|by_piece| {
            let pieces_here = (by_piece.len(), pieces);
            std::iter::once(pieces_here).chain(by_piece.iter().map(|cell| (cell.len(), trials)))
        });
        for (found, expected) in sizes {
            if found != expected {
                return Err(TrendsError::Uneven {
                    what: WHAT,
                    found,
                    expected,
                });
            }
        }
        let found = cells.len() * pieces * trials;
        if found > STUDY_READINGS_MAX {
            return Err(TrendsError::TooMany {
                what: WHAT,
                found,
                most: STUDY_READINGS_MAX,
            });
        }
        Ok(Self { cells })
    }

    /// How many appraisers.
    #[must_use]
    pub fn appraisers(&self) -> usize {
        self.cells.len()
    }

    /// How many pieces.
    #[must_use]
    pub fn pieces(&self) -> usize {
        self.cells[0].len()
    }

    /// How many times each appraiser measured each piece.
    #[must_use]
    pub fn trials(&self) -> usize {
        self.cells[0][0].len()
    }
}

/// What a study found, as standard deviations in grains.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Study {
    /// EV, equipment variation: one hand, one piece, again.
    pub repeatability: f64,
    /// Degrees of freedom behind it, for an uncertainty budget.
    pub freedom: f64,
    /// AV, appraiser variation: another hand.
    pub reproducibility: f64,
    /// Hands that differ on some pieces more than on others; zero where it was pooled or not looked for.
    pub interaction: f64,
    /// PV: the pieces.
    pub pieces: f64,
}

impl Study {
    /// GRR: gauge and hands together.
    #[must_use]
    pub fn gauge(&self) -> f64 {
        (self.repeatability.powi(2) + self.reproducibility.powi(2) + self.interaction.powi(2))
            .sqrt()
    }

    /// TV: all there is.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.gauge().hypot(self.pieces)
    }

    /// %GRR of the total.
    #[must_use]
    pub fn percent_of_total(&self) -> f64 {
        100.0 * self.gauge() / self.total()
    }

    /// 6 GRR as a percentage of a tolerance width in grains.
    #[must_use]
    pub fn percent_of_tolerance(&self, width: i64) -> f64 {
        600.0 * self.gauge() / width as f64
    }

    /// ndc: into how many classes the gauge can sort such pieces, √2 PV/GRR, rounded down (AIAG's manual rounds
    /// √2 to 1.41).
    #[must_use]
    pub fn distinct_classes(&self) -> f64 {
        (std::f64::consts::SQRT_2 * self.pieces / self.gauge()).floor()
    }
}
