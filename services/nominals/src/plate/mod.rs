//! The family `plate`: a flat part with holes, its outline a rectangle or a list of corners.
//!
//! ```toml
//! [plate]
//! outline = [["0 mm", "0 mm"], ["90 mm", "0 mm"], ["60 mm", "40 mm"], ["0 mm", "40 mm"]]
//! [[plate.hole]]
//! diameter = "1/8 in"
//! x = "12 mm"
//! y = "12 mm"
//! fastener = true      # a rivet or bolt goes through it: edge distance and pitch are looked at
//! ```
//!
//! A rectangle is `width` and `height` instead of an outline, and with `diagonals = true` its two diagonals
//! are measured too.

mod drawn;
mod flat;
mod read;

use shared_types::Length;

use crate::BuildRules;
use crate::family::Family;
use crate::form::{At, Table};
use crate::hole::{self, Hole};
use crate::polygon::Polygon;
use crate::rivets;
use crate::stock::Stock;

pub(crate) use read::read;

/// A plate as its file defines it.
pub(crate) struct Plate {
    outline: Outline,
    /// The outline once more, as a polygon.
    polygon: Polygon,
    holes: Vec<Hole>,
    /// Whether the diagonals of a rectangle are measured.
    diagonals: bool,
}

impl Plate {
    pub(crate) fn is_rectangle(&self) -> bool {
        matches!(self.outline, Outline::Rectangle { .. })
    }
}

enum Outline {
    Rectangle {
        width: Length,
        height: Length,
        width_at: At,
        height_at: At,
    },
    /// Where each corner stands in the file.
    Corners(Vec<At>),
}

/// Everything the house wants to know of a plate. Nothing where a contradiction has been told.
pub(crate) fn family(
    plate: &Plate,
    stock: &Stock,
    rules: &BuildRules,
    root: &Table<'_>,
) -> Option<Family> {
    let mut sound = true;
    for (at, what) in flat::contradictions(plate) {
        root.tell(at, what);
        sound = false;
    }
    if !sound {
        return None;
    }
    let mut warnings = rivets::holes(&plate.holes, stock.sheet.thickness, |hole| {
        Some(flat::to_edge(plate, hole))
    });
    warnings.extend(hole::warnings(&plate.holes));
    let sections = plate.holes.iter().filter_map(Hole::section);
    Some(Family {
        drafts: flat::drafts(plate),
        views: std::iter::once(drawn::view(plate))
            .chain(sections)
            .collect(),
        warnings,
        rims: flat::rims(plate),
        derived: flat::squareness(plate, rules).into_iter().collect(),
        ..Family::default()
    })
}
