//! Capability: how well a process fits its tolerance, and how much of that is known.

use std::fmt;

use shared_types::Limits;

use crate::charts::{c4, range_constants};
use crate::distribution::{ChiSquared, Distribution, Normal};
use crate::{Summary, TrendsError};

const WHAT: &str = "a capability";

/// A value with the interval in which it lies at the stated confidence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// The estimate.
    pub value: f64,
    /// The lower end.
    pub lower: f64,
    /// The upper end.
    pub upper: f64,
}

/// The scatter from one reading to the next, which Cp and Cpk are about, and what its estimate is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Within {
    /// The standard deviation.
    pub sigma: f64,
    /// Degrees of freedom of an ordinary standard deviation that is known as well.
    pub freedom: f64,
}

impl Within {
    /// From the mean moving range of `n` single readings, `n` from 2. The steps overlap: their mean has the
    /// variance (0.82643 (n−1) − 0.25560)/(n−1)² in units of its square, from the bivariate normal distribution.
    #[must_use]
    pub fn from_moving_ranges(sigma: f64, n: usize) -> Self {
        let steps = (n.max(2) - 1) as f64;
        let pi = std::f64::consts::PI;
        let single = pi / 2.0 - 1.0;
        let neighbours = 3_f64.sqrt() / 2.0 + pi / 12.0 - 1.0;
        let variance = (steps * single + 2.0 * (steps - 1.0) * neighbours) / (steps * steps);
        Self {
            sigma,
            freedom: 0.5 / variance,
        }
    }

    /// From the mean range of `groups` subgroups of `size`; `None` beyond 25.
    #[must_use]
    pub fn from_ranges(sigma: f64, groups: usize, size: usize) -> Option<Self> {
        let (d2, d3) = range_constants(size)?;
        Some(Self {
            sigma,
            freedom: 0.5 * groups as f64 * (d2 / d3).powi(2),
        })
    }

    /// From the mean standard deviation of `groups` subgroups of `size`, two or more.
    #[must_use]
    pub fn from_deviations(sigma: f64, groups: usize, size: usize) -> Self {
        let square = c4(size) * c4(size);
        Self {
            sigma,
            freedom: 0.5 * groups as f64 * square / (1.0 - square),
        }
    }
}

/// Capability (from the scatter within) and performance (from the scatter of all), with confidence intervals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Capability {
    /// How many readings.
    pub n: usize,
    /// Tolerance over 6σ within; nothing with one limit only.
    pub cp: Option<Interval>,
    /// Distance to the nearer limit over 3σ within.
    pub cpk: Interval,
    /// To the lower limit alone.
    pub cpl: Option<f64>,
    /// To the upper limit alone.
    pub cpu: Option<f64>,
    /// Tolerance over 6s of all readings; nothing with one limit only.
    pub pp: Option<Interval>,
    /// Distance to the nearer limit over 3s of all readings.
    pub ppk: Interval,
    /// The confidence of the intervals.
    pub confidence: f64,
    /// What the number of readings allows to say.
    pub enough: Enough,
}

/// Below this many an index means nothing (common practice, no source) …
const TELLING_LEAST: usize = 10;
/// … below this many it is a hint (common practice, no source) …
const FAIR_LEAST: usize = 30;
/// … and from this many it stands, with its interval (common practice, no source).
const SOUND_LEAST: usize = 100;

/// Whether there are enough readings for an index to mean something, in words.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Enough {
    /// How many readings.
    pub n: usize,
    /// Ppk with its interval.
    pub ppk: Interval,
    /// The confidence of the interval.
    pub confidence: f64,
}

impl fmt::Display for Enough {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { n, ppk, .. } = self;
        match *n {
            0..TELLING_LEAST => write!(f, "{n} readings are too few to mean anything")?,
            TELLING_LEAST..FAIR_LEAST => write!(f, "{n} readings are few, take this as a hint")?,
            FAIR_LEAST..SOUND_LEAST => write!(f, "{n} readings are fair, mind the interval")?,
            _ => write!(f, "{n} readings are enough to go by")?,
        }
        let percent = 100.0 * self.confidence;
        write!(
            f,
            ": Ppk may be anything from {:.2} to {:.2} ({percent:.0} % confidence)",
            ppk.lower, ppk.upper
        )
    }
}

/// The capability of readings against limits; `confidence` is that of the intervals, as 0.95.
///
/// # Errors
/// Fewer than two readings, no scatter, or a confidence that is none.
pub fn capability(
    summary: &Summary,
    limits: &Limits,
    within: &Within,
    confidence: f64,
) -> Result<Capability, TrendsError> {
    let sd = summary.scatter(WHAT)?;
    if !(within.sigma > 0.0 && within.freedom > 0.0) {
        return Err(TrendsError::NoScatter { what: WHAT });
    }
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(TrendsError::OutOfRange {
            what: WHAT,
            parameter: "the confidence",
            expected: "between 0 and 1",
        });
    }
    let end = |limit: shared_types::Quantity| limit.raw() as f64;
    let below = limits.lower().map(|limit| summary.mean - end(limit));
    let above = limits.upper().map(|limit| end(limit) - summary.mean);
    let nearer = match (below, above) {
        (Some(below), Some(above)) => below.min(above),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => unreachable!("limits have at least one end"),
    };
    let width = below.zip(above).map(|(below, above)| below + above);
    let freedom = (summary.n - 1) as f64;
    let ppk = nearer_interval(nearer / (3.0 * sd), summary.n, freedom, confidence);
    Ok(Capability {
        n: summary.n,
        cp: width.map(|w| ratio_interval(w / (6.0 * within.sigma), within.freedom, confidence)),
        cpk: nearer_interval(
            nearer / (3.0 * within.sigma),
            summary.n,
            within.freedom,
            confidence,
        ),
        cpl: below.map(|below| below / (3.0 * within.sigma)),
        cpu: above.map(|above| above / (3.0 * within.sigma)),
        pp: width.map(|w| ratio_interval(w / (6.0 * sd), freedom, confidence)),
        ppk,
        confidence,
        enough: Enough {
            n: summary.n,
            ppk,
            confidence,
        },
    })
}

/// The interval of an index that is a width over a standard deviation of so many degrees of freedom:
/// value √(χ²/ν), as D. C. Montgomery, *Introduction to Statistical Quality Control*, gives it.
#[must_use]
pub fn ratio_interval(value: f64, freedom: f64, confidence: f64) -> Interval {
    let tail = 0.5 * (1.0 - confidence);
    let chi = ChiSquared { freedom };
    Interval {
        value,
        lower: value * (chi.quantile(tail) / freedom).sqrt(),
        upper: value * (chi.upper_quantile(tail) / freedom).sqrt(),
    }
}

/// The interval of an index to the nearer limit: value ± z √(1/(9n) + value²/(2ν)), Bissell's approximation.
fn nearer_interval(value: f64, n: usize, freedom: f64, confidence: f64) -> Interval {
    let z = Normal.upper_quantile(0.5 * (1.0 - confidence));
    let half = z * (1.0 / (9.0 * n as f64) + value * value / (2.0 * freedom)).sqrt();
    Interval {
        value,
        lower: value - half,
        upper: value + half,
    }
}
