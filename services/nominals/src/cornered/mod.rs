//! The family `panel` with an outline of corners instead of a rectangle: trapezoids, tapered bays, rounded corners,
//! arcs.
//!
//! ```toml
//! [panel]
//! given = "outside"                # what the outline runs to, as for a rectangle
//! outline = [["0 mm", "0 mm"], ["240 mm", "0 mm"], ["200 mm", "120 mm"], ["20 mm", "120 mm"]]
//! [[panel.flange]]
//! edges = [1, 2, 4]                # edge 1 runs from the first corner to the second
//! formed = "1/2 in"
//! angle = "90 deg"
//! radius = "1/8 in"
//! [panel.relief]
//! diameter = "1/8 in"
//! ```
//!
//! `corners` says how a corner is rounded and an edge curved. A flange on both edges of a rounded corner runs on round
//! it, as it does wherever the outline goes on without a corner; a rounding between a flanged and a plain edge, or
//! between two flanges, stays plain. A trapezoid has a shorthand, and its edges their words:
//!
//! ```toml
//! [panel]
//! given = "outside"
//! trapezoid = { bottom = "190 mm", top = "130 mm", height = "120 mm" }   # offset = "30 mm" where it leans
//! [[panel.flange]]
//! edges = ["bottom", "left", "right"]
//! ```
//!
//! Holes have the plan's coordinates, those of the outline.
//!
//! A flange ends square to its bend line where the web's tangent lines cross; there too is the centre of the
//! relief hole between two flanges (FAA-H-8083-31 chapter 4).

mod blank;
mod block;
mod corners;
mod curved;
mod diagonals;
mod drawn;
mod facing;
mod formed;
mod outline;
mod read;
mod shape;
mod sketch;
mod warned;

use crate::BuildRules;
use crate::block::Block;
use crate::draft::mm;
use crate::family::Family;
use crate::form::{At, Table};
use crate::hole::Hole;
use crate::measure::Measure;
use crate::panel::{Given, Relief};
use crate::stock::Stock;
use outline::Outline;

pub(crate) use read::read;
use shape::Shape;

/// A flange on some of the numbered edges, from 0.
type Flange = crate::flange::Flange<usize>;
/// A flange on one edge.
type Bent<'p> = crate::flange::Bent<'p, usize>;

/// A panel of corners as its file defines it.
pub(crate) struct Cornered {
    given: Given,
    outline: Outline,
    flanges: Vec<Flange>,
    relief: Option<Relief>,
    block: Option<Block>,
    /// Whether the diagonals are measured.
    diagonals: bool,
    holes: Vec<Hole>,
    at: At,
}

/// Everything the house wants to know of it. Nothing where a contradiction has been told.
pub(crate) fn family(
    panel: &Cornered,
    stock: &Stock,
    rules: &BuildRules,
    root: &Table<'_>,
) -> Option<Family> {
    let shape = Shape::solve(panel, stock.sheet.thickness, rules, root)?;
    let (blocks, springbacks) = match &panel.block {
        Some(block) => block::blocks(&shape, block, &stock.sheet, root)?,
        None => Default::default(),
    };
    let mut drafts = blocks.drafts;
    drafts.extend(blank::drafts(&shape));
    drafts.extend(formed::drafts(&shape));
    drafts.extend(diagonals::drafts(&shape));
    let mut views = blocks.views;
    views.extend(drawn::views(&shape));
    views.extend(panel.holes.iter().filter_map(Hole::section));
    Some(Family {
        drafts,
        views,
        warnings: warned::warnings(&shape, stock)
            .into_iter()
            .chain(blocks.warnings)
            .collect(),
        bends: shape
            .bent()
            .filter_map(|(edge, bent)| {
                bent.laid_out(&shape.id(edge), springbacks.get(&edge).cloned())
            })
            .collect(),
        rims: shape.rims(),
        ..Family::default()
    })
}

/// Computed picometres as they stand in a sentence.
fn millimetres(pm: f64) -> String {
    mm(Measure::computed(pm))
}
