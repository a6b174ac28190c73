//! The study by averages and ranges: simple enough for paper, blind to interaction.

use super::{Readings, Study, WHAT};
use crate::TrendsError;
use crate::charts::range_constants;

/// Repeatability from the mean range within cells, reproducibility from the range of the appraisers' means
/// less what repeatability adds to it, pieces from the range of the pieces' means.
///
/// # Errors
/// No scatter at all, or more than 25 appraisers, pieces or trials.
pub fn by_ranges(readings: &Readings) -> Result<Study, TrendsError> {
    let (appraisers, pieces, trials) =
        (readings.appraisers(), readings.pieces(), readings.trials());
    let (d2, d3) = constants(trials)?;
    let cells = || readings.cells.iter().flatten();
    let ranges = cells()
        .map(|cell| range(cell.iter().copied()))
        .sum::<i128>();
    let cell_count = appraisers * pieces;
    let repeatability = ranges as f64 / cell_count as f64 / d2;

    let sum = |values: &mut dyn Iterator<Item = i64>| values.map(i128::from).sum::<i128>();
    let by_appraiser = readings
        .cells
        .iter()
        .map(|by_piece| sum(&mut by_piece.iter().flatten().copied()));
    let apart = range(by_appraiser) as f64 / (pieces * trials) as f64 / single_range(appraisers)?;
    let by_piece = (0..pieces).map(|piece| {
        let all = readings.cells.iter().flat_map(|by_piece| &by_piece[piece]);
        sum(&mut all.copied())
    });
    let pieces_apart = range(by_piece) as f64 / (appraisers * trials) as f64;

    let added = repeatability * repeatability / (pieces * trials) as f64;
    let study = Study {
        repeatability,
        freedom: 0.5 * cell_count as f64 * (d2 / d3).powi(2),
        reproducibility: (apart * apart - added).max(0.0).sqrt(),
        interaction: 0.0,
        pieces: pieces_apart / single_range(pieces)?,
    };
    if study.total() > 0.0 {
        Ok(study)
    } else {
        Err(TrendsError::NoScatter { what: WHAT })
    }
}

fn range<T: Into<i128>>(values: impl Iterator<Item = T>) -> i128 {
    let (mut least, mut most) = (i128::MAX, i128::MIN);
    for value in values {
        let value = value.into();
        least = least.min(value);
        most = most.max(value);
    }
    most - least
}

fn constants(size: usize) -> Result<(f64, f64), TrendsError> {
    range_constants(size).ok_or(TrendsError::TooMany {
        what: WHAT,
        found: size,
        most: 25,
    })
}

/// d2* of one range, √(d2² + d3²): its inverse is K2 and K3 of the AIAG manual.
fn single_range(size: usize) -> Result<f64, TrendsError> {
    constants(size).map(|(d2, d3)| d2.hypot(d3))
}
