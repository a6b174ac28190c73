//! The family `panel` with an outline of corners instead of a rectangle: trapezoids, triangles, tapered bays.
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
//! Holes have the plan's coordinates, those of the outline.
//!
//! A flange ends square to its bend line where the web's tangent lines cross; there too is the centre of the
//! relief hole between two flanges (FAA-H-8083-31 chapter 4).

mod blank;
mod drawn;
mod formed;
mod read;
mod shape;
mod sketch;
mod warned;

use crate::BuildRules;
use crate::family::Family;
use crate::form::{At, Table};
use crate::hole::Hole;
use crate::panel::{Given, Relief};
use crate::polygon::Polygon;
use crate::stock::Stock;

pub(crate) use read::read;
use shape::Shape;

/// A flange on some of the numbered edges, from 0.
type Flange = crate::flange::Flange<usize>;
/// A flange on one edge.
type Bent<'p> = crate::flange::Bent<'p, usize>;

/// A panel of corners as its file defines it.
pub(crate) struct Cornered {
    given: Given,
    polygon: Polygon,
    places: Vec<At>,
    flanges: Vec<Flange>,
    relief: Option<Relief>,
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
    let mut drafts = blank::drafts(&shape);
    drafts.extend(formed::drafts(&shape));
    let mut views = drawn::views(&shape);
    views.extend(panel.holes.iter().filter_map(Hole::section));
    Some(Family {
        drafts,
        views,
        warnings: warned::warnings(&shape, stock),
        bends: shape
            .bent()
            .filter_map(|(edge, bent)| bent.laid_out(&(edge + 1).to_string()))
            .collect(),
    })
}
