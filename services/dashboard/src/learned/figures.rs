//! A series in figures: where it lies, how it scatters, how it fits its tolerance, and how much of that is known.

use shared_types::Quantity;
use trends::{Capability, Summary, Within, autocorrelation, capability, tolerance_interval};

use super::control::{Control, Kind};
use super::series::Series;
use super::{Untold, shown};

/// Fewest readings of an index or an interval; `trends` calls fewer too few to mean anything.
pub(crate) const READINGS_MIN: usize = 10;

/// A part or a confidence in per cent that can be asked for. Beyond 99 the tails of hand work are not normal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Percent {
    Ninety,
    NinetyFive,
    NinetyNine,
}

impl Percent {
    pub(crate) const ALL: [Self; 3] = [Self::Ninety, Self::NinetyFive, Self::NinetyNine];

    pub(crate) const fn whole(self) -> u8 {
        match self {
            Self::Ninety => 90,
            Self::NinetyFive => 95,
            Self::NinetyNine => 99,
        }
    }

    const fn part(self) -> f64 {
        match self {
            Self::Ninety => 0.90,
            Self::NinetyFive => 0.95,
            Self::NinetyNine => 0.99,
        }
    }
}

/// All of them.
#[derive(Clone, Debug)]
pub(crate) struct Figures {
    pub(crate) n: usize,
    pub(crate) mean: Quantity,
    pub(crate) sd: Option<Quantity>,
    pub(crate) least: Quantity,
    pub(crate) most: Quantity,
    /// How alike each reading is to the one before it, from −1 to 1.
    pub(crate) alike: Result<f64, Untold>,
    pub(crate) capability: Result<Capability, Untold>,
    pub(crate) tolerance: Result<Holds, Untold>,
    pub(crate) coverage: Percent,
    pub(crate) confidence: Percent,
}

/// Where a part of all pieces lies.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Holds {
    pub(crate) lower: Quantity,
    pub(crate) upper: Quantity,
    /// Mean ± so many standard deviations.
    pub(crate) factor: f64,
}

/// The figures of a series; `control` tells how it scatters from one to the next.
pub(crate) fn figures(
    series: &Series,
    control: Result<&Control, Untold>,
    coverage: Percent,
    confidence: Percent,
) -> Result<Figures, Untold> {
    let like = series.points.first().ok_or(Untold::Nothing)?.charted;
    let grouped = control.is_ok_and(|c| matches!(c.kind, Kind::Ranges | Kind::Deviations));
    let readings: Vec<Quantity> = if grouped {
        let groups = series.points.iter().flat_map(|point| &point.group);
        groups.copied().collect()
    } else {
        series.points.iter().map(|point| point.charted).collect()
    };
    let grains = trends::grains(&readings)?;
    let summary = Summary::of(&grains)?;
    let whole = |raw: i64| like.with_raw(raw).ok_or(Untold::OutOfRange);
    Ok(Figures {
        n: summary.n,
        mean: shown(summary.mean, like)?,
        sd: summary.sd.map(|sd| shown(sd, like)).transpose()?,
        least: whole(summary.least)?,
        most: whole(summary.most)?,
        alike: enough(summary.n).and_then(|()| Ok(autocorrelation(&grains)?)),
        capability: capable(series, control, &summary, confidence),
        tolerance: holds(&summary, like, coverage, confidence),
        coverage,
        confidence,
    })
}

fn enough(found: usize) -> Result<(), Untold> {
    if found < READINGS_MIN {
        return Err(Untold::TooFew {
            found,
            least: READINGS_MIN,
        });
    }
    Ok(())
}

fn capable(
    series: &Series,
    control: Result<&Control, Untold>,
    summary: &Summary,
    confidence: Percent,
) -> Result<Capability, Untold> {
    enough(summary.n)?;
    let control = control?;
    let taken = control.taken.as_ref().ok_or(Untold::TooFew {
        found: control.main.marks.len(),
        least: super::control::POINTS_MIN,
    })?;
    let (sigma, groups) = (taken.baseline.sigma, control.main.marks.len());
    let within = match control.kind {
        Kind::Individuals | Kind::Weighted => Within::from_moving_ranges(sigma, summary.n),
        // The chart has been drawn, so that the size is one of a range.
        Kind::Ranges => {
            Within::from_ranges(sigma, groups, series.group).ok_or(Untold::NoSubgroups)?
        }
        Kind::Deviations => Within::from_deviations(sigma, groups, series.group),
    };
    let limits = &series.characteristic.limits;
    Ok(capability(summary, limits, &within, confidence.part())?)
}

fn holds(
    summary: &Summary,
    like: Quantity,
    coverage: Percent,
    confidence: Percent,
) -> Result<Holds, Untold> {
    enough(summary.n)?;
    let interval = tolerance_interval(summary, coverage.part(), confidence.part())?;
    Ok(Holds {
        lower: shown(interval.lower, like)?,
        upper: shown(interval.upper, like)?,
        factor: interval.factor,
    })
}
