//! Springback learned from formed bends: a conjugate Bayesian estimate that begins at the prediction.
//!
//! The estimate is stated in full. A bend turned through a tool angle t springs back by b = βt + e. β is one
//! number for one sheet and radius, since springback formulas make the ratio of formed to tool angle depend on
//! radius over thickness alone (Kalpakjian and Schmid), so that bends of other angles count as well. e, the
//! scatter of pieces and of the gauge, is normal. Before any reading, β is normal about the predicted value with
//! the stated doubt. With the scatter known, β stays normal; with the scatter itself only guessed, worth so many
//! readings, β follows Student's t (normal-inverse-gamma; A. Gelman and others, *Bayesian Data Analysis*, ch. 2
//! and 3). The sums behind it are exact integers, so that the order of the readings cannot matter.

use std::collections::BTreeMap;

use shared_types::{Angle, Length, Quantity};

use crate::distribution::{Distribution, Student};
use crate::{TrendsError, quantity};

const WHAT: &str = "a learned springback";

/// Largest tool angle: a bend turned right round.
const TOOL_MAX_MAS: i64 = 360 * 3_600_000;

/// What springback depends on.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Fold {
    /// Alloy and temper as the plan writes them.
    pub alloy: String,
    /// Thickness of the sheet.
    pub thickness: Length,
    /// Inside radius of the tool.
    pub radius: Length,
}

/// One formed bend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Formed {
    /// The angle the tool turned the sheet through: that of the block, bevel included.
    pub tool: Angle,
    /// The bend angle measured afterwards.
    pub bend: Angle,
}

/// What is believed before any reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Prior {
    /// A tool angle.
    pub tool: Angle,
    /// The springback predicted for it.
    pub back: Angle,
    /// The doubt about that prediction, as a standard deviation: published formulas are good to a degree or two.
    pub doubt: Angle,
    /// The scatter between bends.
    pub scatter: Scatter,
}

/// The scatter of measured bends about their mean, pieces and gauge together, as a standard deviation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scatter {
    /// Known, from a gauge study and many bends.
    Known(Angle),
    /// A guess that is given up as readings come in.
    Guessed {
        /// The guess.
        sd: Angle,
        /// How many degrees of freedom it is worth, from 1.
        worth: u32,
    },
}

/// A springback as it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Learned {
    /// Springback per unit of tool angle.
    pub ratio: f64,
    /// Its standard deviation (of t's scale, where the scatter was guessed).
    pub ratio_sd: f64,
    /// Degrees of freedom: infinite where the scatter is known.
    pub freedom: f64,
    /// The scatter of bends, in milliarcseconds.
    pub scatter_mas: f64,
    /// How many bends stand behind it.
    pub n: usize,
}

/// How to shape the next block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NextBlock {
    /// What the bend will spring back by: the bevel to give the block.
    pub bevel: Angle,
    /// The smallest bevel in the interval.
    pub least: Angle,
    /// The largest.
    pub most: Angle,
    /// How many bends stand behind it.
    pub n: usize,
}

/// Sorts bends by what their springback depends on.
#[must_use]
pub fn by_fold(bends: impl IntoIterator<Item = (Fold, Formed)>) -> BTreeMap<Fold, Vec<Formed>> {
    let mut sorted: BTreeMap<Fold, Vec<Formed>> = BTreeMap::new();
    for (fold, formed) in bends {
        sorted.entry(fold).or_default().push(formed);
    }
    sorted
}

/// What the bends of one fold teach, beginning at the prediction.
///
/// # Errors
/// [`TrendsError::OutOfRange`] where a tool angle is not above zero and at most a full turn, or where doubt or scatter is
/// not above zero.
pub fn learn(prior: &Prior, bends: &[Formed]) -> Result<Learned, TrendsError> {
    check(prior, bends)?;
    let tool = prior.tool.mas() as f64;
    let (first, doubt) = (
        prior.back.mas() as f64 / tool,
        prior.doubt.mas() as f64 / tool,
    );
    // Σ t², Σ t b and Σ b²: each below 2^62 a bend.
    let sum = |of: &dyn Fn(i128, i128) -> i128| -> f64 {
        let terms = bends.iter().map(|formed| {
            let (tool, bend) = (i128::from(formed.tool.mas()), i128::from(formed.bend.mas()));
            of(tool, tool - bend)
        });
        terms.sum::<i128>() as f64
    };
    let (tt, tb, bb) = (sum(&|t, _| t * t), sum(&|t, b| t * b), sum(&|_, b| b * b));
    let known = |sd: Angle| sd.mas() as f64;
    let (guess, worth) = match prior.scatter {
        Scatter::Known(sd) => (known(sd), f64::INFINITY),
        Scatter::Guessed { sd, worth } => (known(sd), f64::from(worth)),
    };
    // What the prior is worth, as a sum of squared tool angles.
    let prior_tt = (guess / doubt).powi(2);
    let weight = prior_tt + tt;
    let ratio = (prior_tt * first + tb) / weight;
    let (freedom, scatter) = if worth == f64::INFINITY {
        (worth, guess)
    } else {
        let freedom = worth + bends.len() as f64;
        // Bends about their own mean, and that mean about the prediction; neither below zero by rounding.
        let (apart, off) = if tt > 0.0 {
            let own = tb / tt;
            let off = prior_tt * tt / weight * (own - first).powi(2);
            ((bb - tb * own).max(0.0), off)
        } else {
            (0.0, 0.0)
        };
        (
            freedom,
            ((worth * guess * guess + apart + off) / freedom).sqrt(),
        )
    };
    Ok(Learned {
        ratio,
        ratio_sd: scatter / weight.sqrt(),
        freedom,
        scatter_mas: scatter,
        n: bends.len(),
    })
}

impl Learned {
    /// The bevel that brings the next bend to `wanted`, with the interval in which the true springback lies at
    /// the stated confidence; rounded to a ten-thousandth of a degree. `None` where it would need a tool beyond a turn.
    #[must_use]
    pub fn next_block(&self, wanted: Angle, confidence: f64) -> Option<NextBlock> {
        let student = Student {
            freedom: self.freedom,
        };
        let half = student.upper_quantile(0.5 * (1.0 - confidence)) * self.ratio_sd;
        let bevel = |ratio: f64| {
            let tool = wanted.mas() as f64 / (1.0 - ratio);
            let turned = ratio < 1.0 && tool.abs() <= TOOL_MAX_MAS as f64;
            turned.then(|| to_grain(tool * ratio)).flatten()
        };
        Some(NextBlock {
            bevel: bevel(self.ratio)?,
            least: bevel(self.ratio - half)?,
            most: bevel(self.ratio + half)?,
            n: self.n,
        })
    }
}

/// Grain of a computed angle in this house: 0.36″.
const GRAIN_MAS: f64 = 360.0;

fn to_grain(mas: f64) -> Option<Angle> {
    let grains = (mas / GRAIN_MAS).round_ties_even() * GRAIN_MAS;
    match quantity(grains, Quantity::Angle(Angle::ZERO))? {
        Quantity::Angle(angle) => Some(angle),
        Quantity::Length(_) => None,
    }
}

fn check(prior: &Prior, bends: &[Formed]) -> Result<(), TrendsError> {
    let wrong = |parameter, expected| TrendsError::OutOfRange {
        what: WHAT,
        parameter,
        expected,
    };
    let turned = |tool: Angle| (1..=TOOL_MAX_MAS).contains(&tool.mas());
    if !turned(prior.tool) || !bends.iter().all(|formed| turned(formed.tool)) {
        return Err(wrong("a tool angle", "above 0° and at most 360°"));
    }
    let (scatter, worth) = match prior.scatter {
        Scatter::Known(sd) => (sd, 1),
        Scatter::Guessed { sd, worth } => (sd, worth),
    };
    if prior.doubt.mas() <= 0 || scatter.mas() <= 0 {
        return Err(wrong("a doubt or scatter", "an angle above 0°"));
    }
    if worth == 0 {
        return Err(wrong(
            "what the guess is worth",
            "one degree of freedom or more",
        ));
    }
    Ok(())
}
