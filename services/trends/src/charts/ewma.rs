//! The exponentially weighted moving average, which sees small lasting shifts early.

use super::{Baseline, Chart, WIDTHS};
use crate::TrendsError;

/// A chart of weighted averages.
#[derive(Clone, Debug, PartialEq)]
pub struct Ewma {
    /// The averages with the limits they settle to.
    pub chart: Chart,
    /// The limits at each point: narrower at the start, where little has been averaged.
    pub limits: Vec<(f64, f64)>,
    /// The weight of the newest reading.
    pub lambda: f64,
}

impl Ewma {
    /// The points beyond their own limits, counted from 0.
    pub fn outside(&self) -> impl Iterator<Item = usize> {
        let points = self.chart.points.iter().zip(&self.limits).enumerate();
        points.filter_map(|(at, (point, (lower, upper)))| {
            (point < lower || upper < point).then_some(at)
        })
    }
}

/// Charts readings against a baseline; `lambda`, above 0 and up to 1, is the weight of the newest. 0.2 to 0.3
/// is usual. The average begins at the baseline's centre.
///
/// # Errors
/// [`TrendsError::OutOfRange`] for a weight that is none.
pub fn ewma(readings: &[i64], baseline: &Baseline, lambda: f64) -> Result<Ewma, TrendsError> {
    if !(lambda > 0.0 && lambda <= 1.0) {
        return Err(TrendsError::OutOfRange {
            what: "a chart of weighted averages",
            parameter: "the weight of the newest",
            expected: "above 0 and at most 1",
        });
    }
    let sigma = baseline.sigma * (lambda / (2.0 - lambda)).sqrt();
    let mut average = baseline.centre;
    let mut kept = 1.0;
    let (mut points, mut limits) = (Vec::new(), Vec::new());
    for reading in readings {
        average += lambda * (*reading as f64 - average);
        kept *= (1.0 - lambda) * (1.0 - lambda);
        let width = WIDTHS * sigma * (1.0_f64 - kept).sqrt();
        points.push(average);
        limits.push((baseline.centre - width, baseline.centre + width));
    }
    Ok(Ewma {
        chart: Chart::of_places(baseline.centre, sigma, points),
        limits,
        lambda,
    })
}
