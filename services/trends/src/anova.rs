//! Analysis of variance of one factor: do groups differ by more than their own scatter?

use crate::TrendsError;
use crate::distribution::{Distribution, Fisher};
use crate::exact::Exact;
use crate::summary::Sums;

const WHAT: &str = "an analysis of variance";

/// Sums of squares in squared grains, and the test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OneWay {
    /// Between the groups' means.
    pub between: f64,
    /// Degrees of freedom between.
    pub between_freedom: usize,
    /// Within the groups.
    pub within: f64,
    /// Degrees of freedom within.
    pub within_freedom: usize,
    /// Mean square between over mean square within.
    pub f: f64,
    /// The probability of so large an F were there no difference between the groups.
    pub p: f64,
    /// The part of all scatter that lies between the groups.
    pub r_squared: f64,
    /// The standard deviation within a group.
    pub residual_sd: f64,
}

/// Analyses groups of readings of any size, none empty.
///
/// # Errors
/// Fewer than two groups or no repeats; values too far apart; no scatter within the groups.
pub fn one_way(groups: &[&[i64]]) -> Result<OneWay, TrendsError> {
    if groups.len() < 2 {
        return Err(TrendsError::TooFew {
            what: WHAT,
            found: groups.len(),
            least: 2,
        });
    }
    let sums = groups
        .iter()
        .map(|group| Sums::of(group, WHAT))
        .collect::<Result<Vec<_>, _>>()?;
    let n: i128 = sums.iter().map(|group| group.n).sum();
    let k = groups.len() as i128;
    if n == k {
        return Err(TrendsError::TooFew {
            what: WHAT,
            found: groups.len(),
            least: groups.len() + 1,
        });
    }
    let within = within(&sums);
    let between = between(&sums, n)?;
    let (between_freedom, within_freedom) = (groups.len() - 1, (n - k) as f64);
    if within == 0.0 {
        return Err(TrendsError::NoScatter { what: WHAT });
    }
    let f = between / between_freedom as f64 / (within / within_freedom);
    let fisher = Fisher {
        over: between_freedom as f64,
        under: within_freedom,
    };
    Ok(OneWay {
        between,
        between_freedom,
        within,
        within_freedom: groups.iter().map(|group| group.len() - 1).sum(),
        f,
        p: fisher.upper(f),
        r_squared: between / (between + within),
        residual_sd: (within / within_freedom).sqrt(),
    })
}

/// Σ (about − rest²/n): whole parts exactly, the parts below one beside them.
fn within(sums: &[Sums]) -> f64 {
    let whole: i128 = sums.iter().map(|group| group.about).sum();
    less_quotients(whole, sums.iter().map(|g| (g.rest * g.rest, g.n)))
}

/// Σ T²/n − (ΣT)²/N, with the totals T taken about one whole number near the grand mean.
fn between(sums: &[Sums], n: i128) -> Result<f64, TrendsError> {
    let too_spread = TrendsError::TooSpread { what: WHAT };
    let total: i128 = sums.iter().map(|g| g.n * g.near + g.rest).sum();
    let near = total.div_euclid(n);
    let rest = total.rem_euclid(n);
    let mut whole = 0_i128;
    let mut quotients = vec![(rest * rest, n)];
    for group in sums {
        let off = (group.near - near) * group.n + group.rest;
        let square = off.checked_mul(off).ok_or(too_spread)?;
        // T²/n = −(−T² div n) − … : taken away as a negative quotient, so that both signs go one way.
        whole = whole.checked_add(square / group.n).ok_or(too_spread)?;
        quotients.push((-(square % group.n), group.n));
    }
    Ok(less_quotients(whole, quotients.into_iter()))
}

/// `whole − Σ over/under`: the whole parts of the quotients exactly, their rests as floats below one.
fn less_quotients(whole: i128, quotients: impl Iterator<Item = (i128, i128)>) -> f64 {
    let (mut whole, mut rests) = (whole, Vec::new());
    for (over, under) in quotients {
        whole -= over.div_euclid(under);
        rests.push((over.rem_euclid(under), under));
    }
    // With one size of group the rests have one denominator and stay exact as well.
    let under = rests.first().map_or(1, |rest| rest.1);
    if rests.iter().all(|rest| under % rest.1 == 0) {
        let over: i128 = rests.iter().map(|rest| rest.0 * (under / rest.1)).sum();
        return Exact::new(whole, -over, under).f64();
    }
    whole as f64
        - rests
            .iter()
            .map(|rest| rest.0 as f64 / rest.1 as f64)
            .sum::<f64>()
}
