//! What many readings say together: gathered from the shop in the order they were measured, handed to `trends` as
//! whole grains, and turned back into quantities to be shown. No verdict comes from anything here.

pub(crate) mod control;
pub(crate) mod figures;
pub(crate) mod pairing;
pub(crate) mod series;
pub(crate) mod springback;

use shared_types::Quantity;
use trends::{RuleSet, TrendsError};

use control::{Control, Kind};
use figures::{Figures, Percent};
use series::Series;

/// What is asked of a series.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Asked {
    pub(crate) kind: Kind,
    pub(crate) rules: RuleSet,
    pub(crate) coverage: Percent,
    pub(crate) confidence: Percent,
}

/// A series, and what was asked of it.
pub(crate) struct Looked {
    pub(crate) series: Series,
    pub(crate) asked: Asked,
    pub(crate) control: Result<Control, Untold>,
    pub(crate) figures: Result<Figures, Untold>,
}

impl Looked {
    pub(crate) fn at(series: Series, asked: Asked) -> Self {
        let control = control::control(&series, asked.kind, asked.rules);
        let scatter = control.as_ref().map_err(|untold| *untold);
        let figures = figures::figures(&series, scatter, asked.coverage, asked.confidence);
        Self {
            series,
            asked,
            control,
            figures,
        }
    }
}

/// A statistic of readings like `like` as a quantity, to be shown.
pub(crate) fn shown(grains: f64, like: Quantity) -> Result<Quantity, Untold> {
    trends::quantity(grains, like).ok_or(Untold::OutOfRange)
}

/// Why nothing is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub(crate) enum Untold {
    /// As the statistic says.
    #[error(transparent)]
    Statistic(#[from] TrendsError),
    /// A result beyond what a length or an angle can be.
    #[error(
        "the readings lie so far apart that the result is beyond any length or angle; look for one that is not of this \
         characteristic"
    )]
    OutOfRange,
    /// No chart of subgroups without subgroups.
    #[error(
        "each piece is measured once, so that there are no subgroups; a characteristic with a mean of several readings has them"
    )]
    NoSubgroups,
    /// Nothing measured yet.
    #[error("nothing is measured yet")]
    Nothing,
    /// An index or interval from so few readings would only look like knowledge.
    #[error("{found} measured, which is too few to say anything; expected {least} or more")]
    TooFew {
        /// How many there are.
        found: usize,
        /// How many it takes.
        least: usize,
    },
}
