//! What a part goes into: the opening that its size follows from, and the gaps all round once it is in.
//!
//! ```toml
//! [fit]
//! into = "S2"                        # the mating part, another file of the build
//! clearance = "0.5 mm"               # the gap wanted on each side
//! source = "measured"                # "plan" unless said: follow the mating piece as measured, once it is named
//! width = "formed.opening.width"     # what of the mating part gives this part's width; its height likewise
//!
//! [[fit.gap]]                        # stations of the stage fit-up
//! edges = ["left", "right"]          # or numbers, where the outline is a list of corners; left out: all round
//! count = 3                          # shared out evenly over the edge, half a share from its ends; or
//! # at = ["20 mm", "60 mm"]          # measured from the edge's beginning: its bottom or left end, or first corner
//! # names = ["chine", "deck"]        # what each station is called, where numbers do not do
//! largest = "1.0 mm"
//! smallest = "0.2 mm"                # left out: it may touch
//! ```
//!
//! A panel that follows an opening says `given = "opening"` and leaves out what the opening gives; a plate
//! leaves it out alone. Where it is given all the same it must agree.

mod gap;
mod read;

use shared_types::{CharacteristicId, Fit, FitSource, Length, PartId, PartPlan};

use crate::form::At;

pub(crate) use gap::{Rim, gaps, polygon, rectangle};
pub(crate) use read::read;

/// `[fit]`, with what the mating part gives.
pub(crate) struct Fitted {
    pub(crate) fit: Fit,
    pub(crate) openings: Openings,
    /// The ids that give the width and the height.
    pub(crate) from: [Option<CharacteristicId>; 2],
    gaps: Vec<gap::Asked>,
    at: At,
}

/// What a family takes from `[fit]`.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Openings {
    /// On each side.
    pub(crate) clearance: Option<Length>,
    /// The mating part's opening, where it gives the width.
    pub(crate) width: Option<Length>,
    pub(crate) height: Option<Length>,
    pub(crate) sureness: Sureness,
}

/// How far what an opening gives can be held against what a family's own table says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Sureness {
    #[default]
    Known,
    /// `[fit]` is wrong, so that what is missing may stand there.
    Wrong,
    /// The opening has been moved, to see what moves with it.
    Moved,
}

impl Openings {
    /// The first key that gives something.
    pub(crate) fn key(&self) -> Option<&'static str> {
        let width = self.width.map(|_| "width");
        width.or(self.height.map(|_| "height"))
    }
}

/// A mating part, as whoever computes a build knows it.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Mate<'m> {
    Plan(&'m PartPlan),
    /// No file defines it.
    Missing,
    /// Its own file has mistakes.
    Faulty,
    /// It follows, by way of these, from the part that asks.
    Circle(&'m str),
}

/// Where mating parts are looked up.
#[derive(Clone, Copy)]
pub(crate) struct Mates<'m> {
    pub(crate) find: &'m dyn Fn(&PartId) -> Mate<'m>,
    pub(crate) sureness: Sureness,
}

impl<'m> Mates<'m> {
    pub(crate) fn known(find: &'m dyn Fn(&PartId) -> Mate<'m>) -> Self {
        Self {
            find,
            sureness: Sureness::Known,
        }
    }
}

impl Fitted {
    /// Whether nominals move with the mating piece as measured.
    pub(crate) fn is_measured(&self) -> bool {
        self.fit.source == FitSource::Measured
    }
}
