//! Control charts: whether a process runs as it did when its limits were taken.
//!
//! Limits are taken from the readings themselves, or from a [`Baseline`] taken earlier: a chart that keeps its
//! old limits sees a slow drift, one that takes new ones with each reading follows it.

mod constants;
mod ewma;
mod individuals;
mod subgroups;

pub use constants::{RANGE_SIZE_MAX, c4, range_constants};
pub use ewma::{Ewma, ewma};
pub use individuals::{Individuals, individuals, individuals_against};
pub use subgroups::{Spread, Subgroups, subgroups, subgroups_against};

/// Chart limits lie three standard deviations from the centre line (Shewhart).
pub const WIDTHS: f64 = 3.0;

/// Where a process ran, and how much single readings scattered from one to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Baseline {
    /// The centre.
    pub centre: f64,
    /// The standard deviation of one reading, from the scatter between neighbours.
    pub sigma: f64,
    /// How many readings it was taken from.
    pub readings: usize,
}

/// A control chart.
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    /// The centre line.
    pub centre: f64,
    /// The standard deviation of a plotted point.
    pub sigma: f64,
    /// The lower limit; never below zero for ranges and standard deviations.
    pub lower: f64,
    /// The upper limit.
    pub upper: f64,
    /// The points, in order.
    pub points: Vec<f64>,
}

impl Chart {
    /// The points beyond the limits, counted from 0.
    pub fn outside(&self) -> impl Iterator<Item = usize> {
        let beyond = |point: f64| point < self.lower || self.upper < point;
        let points = self.points.iter().enumerate();
        points.filter_map(move |(at, point)| beyond(*point).then_some(at))
    }

    fn of_places(centre: f64, sigma: f64, points: Vec<f64>) -> Self {
        Self {
            centre,
            sigma,
            lower: centre - WIDTHS * sigma,
            upper: centre + WIDTHS * sigma,
            points,
        }
    }

    fn of_spreads(centre: f64, sigma: f64, points: Vec<f64>) -> Self {
        let chart = Self::of_places(centre, sigma, points);
        Self {
            lower: chart.lower.max(0.0),
            ..chart
        }
    }
}
