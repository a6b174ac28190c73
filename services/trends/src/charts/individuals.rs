//! Individuals and moving ranges.

use super::{Baseline, Chart, constants::range_constants};
use crate::{Summary, TrendsError};

const WHAT: &str = "a chart of individuals";

/// A chart of single readings and one of the steps between neighbours.
#[derive(Clone, Debug, PartialEq)]
pub struct Individuals {
    /// The readings.
    pub readings: Chart,
    /// The steps between neighbours, one fewer.
    pub moving_ranges: Chart,
    /// What the limits were taken from.
    pub baseline: Baseline,
}

/// Charts readings with limits taken from themselves: mean ± 3 times the mean step / d2(2).
///
/// # Errors
/// Fewer than two readings, or all alike.
pub fn individuals(readings: &[i64]) -> Result<Individuals, TrendsError> {
    let baseline = baseline(readings)?;
    Ok(individuals_against(readings, &baseline))
}

/// Charts readings against limits taken earlier.
#[must_use]
pub fn individuals_against(readings: &[i64], baseline: &Baseline) -> Individuals {
    let (d2, d3) = pair_constants();
    let steps = steps(readings).map(|step| step as f64).collect();
    let points = readings.iter().map(|reading| *reading as f64).collect();
    Individuals {
        readings: Chart::of_places(baseline.centre, baseline.sigma, points),
        moving_ranges: Chart::of_spreads(d2 * baseline.sigma, d3 * baseline.sigma, steps),
        baseline: *baseline,
    }
}

fn baseline(readings: &[i64]) -> Result<Baseline, TrendsError> {
    if readings.len() < 2 {
        return Err(TrendsError::TooFew {
            what: WHAT,
            found: readings.len(),
            least: 2,
        });
    }
    let summary = Summary::of(readings)?;
    let total: i128 = steps(readings).sum();
    if total == 0 {
        return Err(TrendsError::NoScatter { what: WHAT });
    }
    let mean_step = total as f64 / (readings.len() - 1) as f64;
    Ok(Baseline {
        centre: summary.mean,
        sigma: mean_step / pair_constants().0,
        readings: readings.len(),
    })
}

fn steps(readings: &[i64]) -> impl Iterator<Item = i128> {
    let wide = |reading: i64| i128::from(reading);
    readings
        .windows(2)
        .map(move |pair| (wide(pair[1]) - wide(pair[0])).abs())
}

fn pair_constants() -> (f64, f64) {
    range_constants(2).expect("the table begins at two")
}
