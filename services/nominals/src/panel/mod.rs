//! The family `panel`: a rectangle with flanges on any of its edges.
//!
//! With a table `[panel.block]` the form blocks are computed too, a stage before the blank. The springback
//! that their bevel makes up for is predicted, or stated there: `springback = "3 deg"`. With
//! `diagonals = true` the two diagonals are measured: over the web between opposite relief holes once formed,
//! or from corner to corner of a panel without flanges. A flange may name its `fastener`, the diameter of the
//! rivets or bolts through it, and is then looked at for room; its rows of
//! rivets are measured once it has its final height.

mod blank;
mod block;
mod drawn;
mod formed;
mod outline;
mod read;
mod shape;
mod warned;

use std::fmt;

use shared_types::{Length, Stage};

use crate::BuildRules;
use crate::block::Block;
use crate::derived;
use crate::family::Family;
use crate::fit;
use crate::form::{At, Table};
use crate::hand;
use crate::hole::Hole;
use crate::stock::Stock;

pub(crate) use read::{given, read, relief_of};
use shape::Shape;

/// An edge of the web.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Edge {
    Left,
    Right,
    Bottom,
    Top,
}

/// Edges in route order; an edge's place here is its index.
const EDGES: [Edge; 4] = [Edge::Left, Edge::Right, Edge::Bottom, Edge::Top];

impl Edge {
    const fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Bottom => "bottom",
            Self::Top => "top",
        }
    }

    const fn index(self) -> usize {
        self as usize
    }
}

/// As sentences name it, which are told for either hand.
impl fmt::Display for Edge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Left => hand::LEFT,
            Self::Right => hand::RIGHT,
            Self::Bottom | Self::Top => self.word(),
        })
    }
}

/// Where two edges meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Corner {
    /// Left or right.
    upright: Edge,
    /// Bottom or top.
    level: Edge,
}

/// Corners in route order, counter-clockwise from the origin.
const CORNERS: [Corner; 4] = [
    Corner {
        upright: Edge::Left,
        level: Edge::Bottom,
    },
    Corner {
        upright: Edge::Right,
        level: Edge::Bottom,
    },
    Corner {
        upright: Edge::Right,
        level: Edge::Top,
    },
    Corner {
        upright: Edge::Left,
        level: Edge::Top,
    },
];

impl fmt::Display for Corner {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{}", self.level, self.upright)
    }
}

/// Along which side of the web a dimension runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Axis {
    /// Left to right.
    Width,
    /// Bottom to top.
    Height,
}

const AXES: [Axis; 2] = [Axis::Width, Axis::Height];

impl Axis {
    const fn word(self) -> &'static str {
        match self {
            Self::Width => "width",
            Self::Height => "height",
        }
    }

    const fn way(self) -> [f64; 2] {
        match self {
            Self::Width => [1.0, 0.0],
            Self::Height => [0.0, 1.0],
        }
    }

    const fn edges(self) -> [Edge; 2] {
        match self {
            Self::Width => [Edge::Left, Edge::Right],
            Self::Height => [Edge::Bottom, Edge::Top],
        }
    }
}

/// What the plan's width and height run to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Given {
    Outside,
    Inside,
    /// The opening it fits, with the clearance on each side.
    Opening(Length),
}

/// A panel as its file defines it, each value checked by itself.
#[derive(Debug)]
pub(crate) struct Panel {
    given: Given,
    width: Length,
    height: Length,
    width_at: At,
    height_at: At,
    flanges: Vec<Flange>,
    relief: Option<Relief>,
    block: Option<Block>,
    /// Whether the diagonals are measured.
    diagonals: bool,
    holes: Vec<Hole>,
    at: At,
}

/// One `[[panel.flange]]`: the same flange on one or more edges.
type Flange = crate::flange::Flange<Edge>;
/// A flange on one edge.
type Bent<'p> = crate::flange::Bent<'p, Edge>;

/// Relief holes at the corners where two flanges meet.
#[derive(Debug)]
pub(crate) struct Relief {
    pub(crate) diameter: Length,
    pub(crate) at: At,
}

/// Everything the house wants to know of a panel. Nothing where a contradiction has been told.
pub(crate) fn family(
    panel: &Panel,
    stock: &Stock,
    rules: &BuildRules,
    root: &Table<'_>,
) -> Option<Family> {
    let sheet = &stock.sheet;
    let shape = Shape::solve(panel, sheet.thickness, rules, root)?;
    let (blocks, springbacks) = match &panel.block {
        Some(block) => block::blocks(&shape, block, sheet, root)?,
        None => Default::default(),
    };
    let mut drafts = blocks.drafts;
    drafts.extend(blank::drafts(&shape));
    drafts.extend(formed::formed(&shape));
    drafts.extend(formed::trimmed(&shape));
    let mut views = blocks.views;
    views.extend(drawn::views(&shape));
    views.extend(panel.holes.iter().filter_map(Hole::section));
    let bends = shape.bent();
    let flat = AXES.map(|axis| shape.flat(axis));
    let stage = match shape.bent().next() {
        Some(_) => Stage::Formed,
        None => Stage::Blank,
    };
    let square = panel
        .diagonals
        .then(|| derived::squareness(stage, flat, rules, panel.at));
    Some(Family {
        rims: fit::rectangle(AXES.map(|axis| shape.outside(axis).pm())),
        derived: square.flatten().into_iter().collect(),
        drafts,
        views,
        bends: bends
            .filter_map(|(edge, bent)| bent.laid_out(edge.word(), springbacks.get(&edge).cloned()))
            .collect(),
        warnings: warned::warnings(&shape, stock)
            .into_iter()
            .chain(blocks.warnings)
            .collect(),
    })
}

/// `left, right and top`.
fn words(edges: &[Edge]) -> String {
    match edges {
        [] => String::new(),
        [only] => only.to_string(),
        [first @ .., last] => {
            let first: Vec<String> = first.iter().map(ToString::to_string).collect();
            format!("{} and {last}", first.join(", "))
        }
    }
}
