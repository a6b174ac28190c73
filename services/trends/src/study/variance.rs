//! The study by analysis of variance of two crossed factors, which sees interaction.

use super::{Readings, Study, WHAT};
use crate::TrendsError;
use crate::distribution::{Distribution, Fisher};

/// What becomes of the interaction between appraisers and pieces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Interaction {
    /// Kept as a part of its own.
    Kept,
    /// Pooled with repeatability, where it cannot be told from it.
    Pooled,
}

/// One source in the table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VarianceLine {
    /// Sum of squares, in squared grains.
    pub squares: f64,
    /// Degrees of freedom.
    pub freedom: f64,
}

impl VarianceLine {
    /// Mean square.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.squares / self.freedom
    }
}

/// A study with its table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Variance {
    /// What it found.
    pub study: Study,
    /// Between appraisers.
    pub appraisers: VarianceLine,
    /// Between pieces.
    pub pieces: VarianceLine,
    /// Interaction.
    pub interaction: VarianceLine,
    /// Within cells.
    pub repeats: VarianceLine,
    /// The probability of so much interaction by chance alone.
    pub interaction_p: f64,
}

/// Interaction that chance alone would give more often than this is pooled, by the custom of gauge studies
/// (AIAG MSA manual, from memory).
const POOLED_ABOVE: f64 = 0.25;

/// By analysis of variance, with the interaction pooled where chance alone would often give as much.
///
/// # Errors
/// As [`by_variance`].
pub fn pooled_by_custom(readings: &Readings) -> Result<(Interaction, Variance), TrendsError> {
    let kept = by_variance(readings, Interaction::Kept)?;
    if kept.interaction_p > POOLED_ABOVE {
        by_variance(readings, Interaction::Pooled).map(|pooled| (Interaction::Pooled, pooled))
    } else {
        Ok((Interaction::Kept, kept))
    }
}

/// By analysis of variance. A part that comes out below zero is none.
///
/// # Errors
/// No scatter at all, or readings too far apart.
pub fn by_variance(readings: &Readings, interaction: Interaction) -> Result<Variance, TrendsError> {
    let squares = Squares::of(readings).ok_or(TrendsError::TooSpread { what: WHAT })?;
    if squares.total == 0 {
        return Err(TrendsError::NoScatter { what: WHAT });
    }
    let count = |n: usize| n as f64;
    let (a, p, t) = (
        count(readings.appraisers()),
        count(readings.pieces()),
        count(readings.trials()),
    );
    let scale = a * p * t;
    let line = |squares: i128, freedom: f64| VarianceLine {
        squares: squares as f64 / scale,
        freedom,
    };
    let appraisers = line(squares.appraisers, a - 1.0);
    let pieces = line(squares.pieces, p - 1.0);
    let crossed = line(
        squares.cells - squares.appraisers - squares.pieces,
        (a - 1.0) * (p - 1.0),
    );
    let repeats = line(squares.total - squares.cells, a * p * (t - 1.0));
    let error = match interaction {
        Interaction::Kept => repeats,
        Interaction::Pooled => line(
            squares.total - squares.appraisers - squares.pieces,
            repeats.freedom + crossed.freedom,
        ),
    };
    // What appraisers and pieces are held against: the interaction where it is a part of its own.
    let (against, own) = match interaction {
        Interaction::Kept => (crossed.mean(), (crossed.mean() - error.mean()) / t),
        Interaction::Pooled => (error.mean(), 0.0),
    };
    let root = |variance: f64| variance.max(0.0).sqrt();
    let fisher = Fisher {
        over: crossed.freedom,
        under: repeats.freedom,
    };
    Ok(Variance {
        study: Study {
            repeatability: root(error.mean()),
            freedom: error.freedom,
            reproducibility: root((appraisers.mean() - against) / (p * t)),
            interaction: root(own),
            pieces: root((pieces.mean() - against) / (a * t)),
        },
        appraisers,
        pieces,
        interaction: crossed,
        repeats,
        interaction_p: fisher.upper(crossed.mean() / repeats.mean()),
    })
}

/// Sums of squares times the number of readings, exact: N Σ T²/n − (ΣT)² is whole.
struct Squares {
    appraisers: i128,
    pieces: i128,
    cells: i128,
    total: i128,
}

impl Squares {
    /// `None` where they do not fit 127 bits: with 100 readings, some 100 m apart.
    fn of(readings: &Readings) -> Option<Self> {
        let all = || readings.cells.iter().flatten().flatten();
        let (a, p, t) = (readings.appraisers(), readings.pieces(), readings.trials());
        let n = i128::try_from(a * p * t).ok()?;
        let near = all().map(|x| i128::from(*x)).sum::<i128>().div_euclid(n);
        let off = |reading: &i64| i128::from(*reading) - near;
        let total_of = |cell: &Vec<i64>| cell.iter().map(off).sum::<i128>();
        let grand: i128 = all().map(off).sum();
        let by_appraiser = readings
            .cells
            .iter()
            .map(|by_piece| by_piece.iter().map(total_of).sum());
        let by_piece = (0..p).map(|piece| {
            let by_appraiser = readings.cells.iter();
            by_appraiser
                .map(|by_piece| total_of(&by_piece[piece]))
                .sum()
        });
        let by_cell = readings.cells.iter().flatten().map(total_of);
        let level = |totals: &mut dyn Iterator<Item = i128>, groups: usize| -> Option<i128> {
            let squares = squares(totals)?;
            let scaled = squares.checked_mul(i128::try_from(groups).ok()?)?;
            scaled.checked_sub(grand.checked_mul(grand)?)
        };
        Some(Self {
            appraisers: level(&mut by_appraiser.into_iter(), a)?,
            pieces: level(&mut by_piece.into_iter(), p)?,
            cells: level(&mut by_cell.into_iter(), a * p)?,
            total: level(&mut all().map(off), a * p * t)?,
        })
    }
}

fn squares(values: &mut dyn Iterator<Item = i128>) -> Option<i128> {
    let mut sum = 0_i128;
    for value in values {
        sum = sum.checked_add(value.checked_mul(value)?)?;
    }
    Some(sum)
}
