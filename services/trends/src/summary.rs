//! Mean and scatter of readings.

use crate::TrendsError;
use crate::exact::Exact;

/// Most readings of one statistic: with that many of up to ±2^50 grains (one kilometre) the sum of squares
/// stays below 2^127. A shop that measures one dimension once a minute takes thirty years to reach it.
pub const READINGS_MAX: usize = 1 << 24;

/// How many readings, their mean and their scatter, in grains.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Summary {
    /// How many.
    pub n: usize,
    /// Their mean.
    pub mean: f64,
    /// Their standard deviation (n − 1); nothing for a single one.
    pub sd: Option<f64>,
    /// The smallest.
    pub least: i64,
    /// The largest.
    pub most: i64,
}

impl Summary {
    /// The summary of at least one reading.
    ///
    /// # Errors
    /// [`TrendsError::TooFew`] for none, [`TrendsError::TooMany`] beyond [`READINGS_MAX`].
    pub fn of(readings: &[i64]) -> Result<Self, TrendsError> {
        let sums = Sums::of(readings, "a mean")?;
        let sd = (sums.n > 1).then(|| (sums.squares().f64() / (sums.n - 1) as f64).sqrt());
        Ok(Self {
            n: readings.len(),
            mean: sums.mean().f64(),
            sd,
            least: readings.iter().copied().min().unwrap_or_default(),
            most: readings.iter().copied().max().unwrap_or_default(),
        })
    }

    /// The standard deviation, which must be there and above zero.
    pub(crate) fn scatter(&self, what: &'static str) -> Result<f64, TrendsError> {
        match self.sd {
            None => Err(TrendsError::TooFew {
                what,
                found: self.n,
                least: 2,
            }),
            Some(sd) if sd > 0.0 => Ok(sd),
            Some(_) => Err(TrendsError::NoScatter { what }),
        }
    }
}

/// How alike each reading is to the one before it: the lag-1 autocorrelation, between −1 and 1. Near zero
/// readings stand alone, as every chart supposes; far above it they drift.
///
/// # Errors
/// As [`Summary::of`], for fewer than two readings; [`TrendsError::NoScatter`] where all are alike.
pub fn autocorrelation(readings: &[i64]) -> Result<f64, TrendsError> {
    const WHAT: &str = "an autocorrelation";
    let sums = Sums::of(readings, WHAT)?;
    let ([first, .., last], squares) = (readings, sums.squares().f64()) else {
        return Err(TrendsError::TooFew {
            what: WHAT,
            found: readings.len(),
            least: 2,
        });
    };
    if squares == 0.0 {
        return Err(TrendsError::NoScatter { what: WHAT });
    }
    let off = |reading: &i64| i128::from(*reading) - sums.near;
    let products: i128 = readings
        .windows(2)
        .map(|pair| off(&pair[0]) * off(&pair[1]))
        .sum();
    // Σ (d − r/n)(d' − r/n), with d from a whole number near the mean and r = Σ d, over n².
    let (n, r) = (sums.n, sums.rest);
    let correction = (n - 1) * r * r - n * r * (2 * r - off(first) - off(last));
    Ok(Exact::new(products, correction, n * n).f64() / squares)
}

/// Exact sums about a whole number near the mean.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sums {
    pub(crate) n: i128,
    /// The mean, rounded down.
    pub(crate) near: i128,
    /// Σ (x − near), below n.
    pub(crate) rest: i128,
    /// Σ (x − near)²
    pub(crate) about: i128,
}

impl Sums {
    pub(crate) fn of(readings: &[i64], what: &'static str) -> Result<Self, TrendsError> {
        if readings.is_empty() {
            return Err(TrendsError::TooFew {
                what,
                found: 0,
                least: 1,
            });
        }
        if readings.len() > READINGS_MAX {
            return Err(TrendsError::TooMany {
                what,
                found: readings.len(),
                most: READINGS_MAX,
            });
        }
        let n = readings.len() as i128;
        let sum: i128 = readings.iter().map(|x| i128::from(*x)).sum();
        let near = sum.div_euclid(n);
        let mut about = 0_i128;
        for reading in readings {
            let off = i128::from(*reading) - near;
            // A quantity is bounded, a bare i64 is not.
            about = off
                .checked_mul(off)
                .and_then(|square| about.checked_add(square))
                .ok_or(TrendsError::TooSpread { what })?;
        }
        Ok(Self {
            n,
            near,
            rest: sum.rem_euclid(n),
            about,
        })
    }

    pub(crate) fn mean(&self) -> Exact {
        Exact::new(self.near, self.rest, self.n)
    }

    /// Sum of squares about the mean.
    pub(crate) fn squares(&self) -> Exact {
        Exact::new(self.about, -(self.rest * self.rest), self.n)
    }
}
