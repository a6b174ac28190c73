//! A plate read from its table.

use shared_types::Length;

use super::{Outline, Plate};
use crate::fit::Openings;
use crate::form::Table;
use crate::hole::Ground;
use crate::part::side;
use crate::polygon::Polygon;
use crate::{hole, outline};

/// Reads `[plate]`.
pub(crate) fn read(table: &Table<'_>, ground: Ground) -> Option<Plate> {
    table.only(&["width", "height", "outline", "diagonals", "hole", "rivets"]);
    let diagonals = table.may("diagonals").boolean().unwrap_or(false);
    let outline = if table.has("outline") {
        if diagonals {
            table.wrong(
                "diagonals",
                "found it beside an outline, expected it only with width and height",
            );
        }
        for name in ["width", "height"] {
            if table.has(name) {
                table.wrong(
                    name,
                    "found it beside outline, expected either width and height or an outline",
                );
            }
        }
        outline::read(table).map(|(polygon, places)| (Outline::Corners(places), polygon))
    } else {
        rectangle(table, ground.openings)
    };
    let holes = hole::read(table, ground, None);
    let (outline, polygon) = outline?;
    Some(Plate {
        outline,
        polygon,
        holes: holes?,
        diagonals,
    })
}

fn rectangle(table: &Table<'_>, openings: Openings) -> Option<(Outline, Polygon)> {
    let within = |opening: Option<Length>| {
        let taken = openings.clearance.map_or(0, |clearance| 2 * clearance.pm());
        opening.and_then(|opening| Length::from_pm(opening.pm() - taken))
    };
    let width = side(table, "width", within(openings.width), openings);
    let height = side(table, "height", within(openings.height), openings);
    let (width, height) = (width?, height?);
    let (w, h) = (width.pm(), height.pm());
    let polygon = Polygon::new(vec![[0, 0], [w, 0], [w, h], [0, h]])
        .expect("a rectangle of positive sides is a simple polygon");
    let outline = Outline::Rectangle {
        width,
        height,
        width_at: table.at_of("width"),
        height_at: table.at_of("height"),
    };
    Some((outline, polygon))
}
