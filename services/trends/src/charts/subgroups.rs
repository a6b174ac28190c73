//! Means of subgroups, with their ranges or standard deviations.

use super::{Baseline, Chart, RANGE_SIZE_MAX, c4, constants::range_constants};
use crate::{Summary, TrendsError};

const WHAT: &str = "a chart of subgroups";

/// What stands for the scatter within a subgroup.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spread {
    /// Its range: X-bar and R.
    Range,
    /// Its standard deviation: X-bar and S.
    Deviation,
}

/// A chart of subgroups' means and one of their scatter.
#[derive(Clone, Debug, PartialEq)]
pub struct Subgroups {
    /// The means.
    pub means: Chart,
    /// The ranges or standard deviations.
    pub spreads: Chart,
    /// What the limits were taken from; its sigma is that of one reading.
    pub baseline: Baseline,
}

/// Charts subgroups of one size with limits taken from themselves.
///
/// # Errors
/// Fewer than two subgroups, unlike sizes, a size below two or above [`RANGE_SIZE_MAX`] for ranges, no scatter.
pub fn subgroups(groups: &[&[i64]], spread: Spread) -> Result<Subgroups, TrendsError> {
    if groups.len() < 2 {
        return Err(TrendsError::TooFew {
            what: WHAT,
            found: groups.len(),
            least: 2,
        });
    }
    let unit = Unit::of(groups, spread)?;
    let (means, spreads) = points(groups, spread)?;
    let sigma = average(&spreads) / unit.mean;
    if sigma == 0.0 {
        return Err(TrendsError::NoScatter { what: WHAT });
    }
    let baseline = Baseline {
        centre: average(&means),
        sigma,
        readings: groups.len() * unit.size,
    };
    Ok(charts(&unit, means, spreads, &baseline))
}

/// Charts subgroups of one size against limits taken earlier.
///
/// # Errors
/// As [`subgroups`], but one subgroup is enough and scatter is not needed.
pub fn subgroups_against(
    groups: &[&[i64]],
    spread: Spread,
    baseline: &Baseline,
) -> Result<Subgroups, TrendsError> {
    let unit = Unit::of(groups, spread)?;
    let (means, spreads) = points(groups, spread)?;
    Ok(charts(&unit, means, spreads, baseline))
}

/// Mean and standard deviation of the spread of a subgroup from a population of standard deviation 1.
struct Unit {
    size: usize,
    mean: f64,
    sd: f64,
}

impl Unit {
    fn of(groups: &[&[i64]], spread: Spread) -> Result<Self, TrendsError> {
        let size = groups.first().map_or(0, |group| group.len());
        if size < 2 {
            return Err(TrendsError::TooFew {
                what: WHAT,
                found: size,
                least: 2,
            });
        }
        if let Some(other) = groups.iter().find(|group| group.len() != size) {
            return Err(TrendsError::Uneven {
                what: WHAT,
                found: other.len(),
                expected: size,
            });
        }
        let (mean, sd) = match spread {
            Spread::Range => range_constants(size)
                .filter(|_| size <= RANGE_SIZE_MAX)
                .ok_or(TrendsError::TooMany {
                    what: WHAT,
                    found: size,
                    most: RANGE_SIZE_MAX,
                })?,
            Spread::Deviation => (c4(size), (1.0 - c4(size) * c4(size)).sqrt()),
        };
        Ok(Self { size, mean, sd })
    }
}

fn points(groups: &[&[i64]], spread: Spread) -> Result<(Vec<f64>, Vec<f64>), TrendsError> {
    let mut means = Vec::with_capacity(groups.len());
    let mut spreads = Vec::with_capacity(groups.len());
    for group in groups {
        let summary = Summary::of(group)?;
        means.push(summary.mean);
        spreads.push(match spread {
            Spread::Range => (i128::from(summary.most) - i128::from(summary.least)) as f64,
            Spread::Deviation => summary.sd.expect("a subgroup has two readings or more"),
        });
    }
    Ok((means, spreads))
}

fn charts(unit: &Unit, means: Vec<f64>, spreads: Vec<f64>, baseline: &Baseline) -> Subgroups {
    let sigma = baseline.sigma;
    Subgroups {
        means: Chart::of_places(baseline.centre, sigma / (unit.size as f64).sqrt(), means),
        spreads: Chart::of_spreads(unit.mean * sigma, unit.sd * sigma, spreads),
        baseline: *baseline,
    }
}

fn average(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}
