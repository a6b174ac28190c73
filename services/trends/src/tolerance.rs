//! Tolerance intervals: where a stated part of all pieces lies, with a stated confidence.

use crate::distribution::{ChiSquared, Distribution, Normal, crossing};
use crate::{Summary, TrendsError};

const WHAT: &str = "a tolerance interval";

/// An interval that holds at least `coverage` of all pieces, with `confidence`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ToleranceInterval {
    /// Mean less k times s.
    pub lower: f64,
    /// Mean and k times s.
    pub upper: f64,
    /// k
    pub factor: f64,
    /// The part of all pieces.
    pub coverage: f64,
    /// The confidence.
    pub confidence: f64,
}

/// The two-sided tolerance interval of normal readings.
///
/// # Errors
/// Fewer than two readings; a coverage or confidence that is none.
pub fn tolerance_interval(
    summary: &Summary,
    coverage: f64,
    confidence: f64,
) -> Result<ToleranceInterval, TrendsError> {
    let sd = summary.scatter(WHAT)?;
    let factor = two_sided_factor(summary.n, coverage, confidence)?;
    Ok(ToleranceInterval {
        lower: summary.mean - factor * sd,
        upper: summary.mean + factor * sd,
        factor,
        coverage,
        confidence,
    })
}

/// k2, exact for normal readings: at least `coverage` of all pieces lies within mean ± k2 s. The chance that the scatter is
/// large enough, averaged over where the mean may lie (ISO 16269-6 tabulates it so, from memory).
///
/// # Errors
/// As [`tolerance_interval`].
pub fn two_sided_factor(n: usize, coverage: f64, confidence: f64) -> Result<f64, TrendsError> {
    check(n, coverage, confidence)?;
    let freedom = (n - 1) as f64;
    let chi = ChiSquared { freedom };
    // A mean z standard errors off needs limits so far apart, in population standard deviations.
    let reaches: Vec<(f64, f64)> = (-OFF_STEPS..=OFF_STEPS)
        .map(|step| f64::from(step) * OFF_STEP)
        .map(|z| {
            let reach = reach(z / (n as f64).sqrt(), coverage);
            (Normal::density(z) * OFF_STEP, freedom * reach * reach)
        })
        .collect();
    let held = |k: f64| -> f64 {
        let chances = reaches
            .iter()
            .map(|(weight, scaled)| weight * chi.upper(scaled / (k * k)));
        chances.sum()
    };
    Ok(crossing(|k| held(k) < confidence))
}

/// The trapezoid rule is right to the last digits with this step and reach for an integrand that falls off like a normal
/// density.
const OFF_STEP: f64 = 0.1;
const OFF_STEPS: i32 = 85;

/// How far to both sides of a point `off` standard deviations from the mean a part `coverage` of a population lies.
fn reach(off: f64, coverage: f64) -> f64 {
    let off = off.abs();
    // 1 − Φ(r + off) − Φ(off − r), so that nothing cancels far out.
    crossing(|r| Normal.upper(r + off) + Normal.lower(off - r) > 1.0 - coverage)
}

/// k2 of Howe (1969), as the NIST/SEMATECH e-Handbook 7.2.6.3 gives it: z √((n−1)(1 + 1/n)/χ²). Within a per cent of the
/// exact factor from ten readings on, and mostly a little too small.
///
/// # Errors
/// As [`tolerance_interval`].
pub fn howe_factor(n: usize, coverage: f64, confidence: f64) -> Result<f64, TrendsError> {
    check(n, coverage, confidence)?;
    let (count, freedom) = (n as f64, (n - 1) as f64);
    let z = Normal.upper_quantile(0.5 * (1.0 - coverage));
    let chi = ChiSquared { freedom }.quantile(1.0 - confidence);
    Ok(z * (freedom * (1.0 + 1.0 / count) / chi).sqrt())
}

/// k1, exact: at least `coverage` of all pieces lies above mean − k1 s (or below mean + k1 s). The noncentral
/// t distribution, integrated over the scatter.
///
/// # Errors
/// As [`tolerance_interval`].
pub fn one_sided_factor(n: usize, coverage: f64, confidence: f64) -> Result<f64, TrendsError> {
    check(n, coverage, confidence)?;
    let z = Normal.quantile(coverage);
    let (mut low, mut high) = (-1.0, 1.0);
    while held(n, z, low) > confidence {
        low *= 2.0;
    }
    while held(n, z, high) < confidence {
        high *= 2.0;
    }
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high || high - low < 1e-13 * high.abs().max(1.0) {
            return Ok(middle);
        }
        if held(n, z, middle) < confidence {
            low = middle;
        } else {
            high = middle;
        }
    }
}

/// The probability that mean + k s lies above the population's mean and z standard deviations: the mean of
/// Φ(√n (k s − z)) over the distribution of s.
fn held(n: usize, z: f64, k: f64) -> f64 {
    let (root, freedom) = ((n as f64).sqrt(), (n - 1) as f64);
    // With s = e^v the integrand falls off fast on both sides, where the trapezoid rule is right to the last
    // digits. Its logarithm peaks at v = 0.
    let log_weight = |v: f64| freedom * (v - 0.5 * (2.0 * v).exp() + 0.5);
    let reach = 9.0 / freedom.sqrt() + if n < 10 { 40.0 / freedom } else { 0.0 };
    const STEPS: i32 = 1500;
    let (mut weights, mut sum) = (0.0, 0.0);
    for step in -STEPS..=STEPS {
        let v = reach * f64::from(step) / f64::from(STEPS);
        let weight = log_weight(v).exp();
        weights += weight;
        sum += weight * Normal.lower(root * (k * v.exp() - z));
    }
    sum / weights
}

fn check(n: usize, coverage: f64, confidence: f64) -> Result<(), TrendsError> {
    if n < 2 {
        return Err(TrendsError::TooFew {
            what: WHAT,
            found: n,
            least: 2,
        });
    }
    for (parameter, value) in [("the coverage", coverage), ("the confidence", confidence)] {
        if !(value > 0.0 && value < 1.0) {
            return Err(TrendsError::OutOfRange {
                what: WHAT,
                parameter,
                expected: "between 0 and 1",
            });
        }
    }
    Ok(())
}
