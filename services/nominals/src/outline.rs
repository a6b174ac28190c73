//! An outline read from its list of corners.

use shared_types::{Length, PM_PER_MM};

use crate::form::{At, Table};
use crate::part::DIMENSION_MAX_MM;
use crate::polygon::{Fault, Polygon};

/// Most corners of an outline: each takes two characteristics, and more of them are a curve.
pub(crate) const CORNERS_MAX: usize = 100;

/// Reads `outline`: the polygon, and where each corner stands in the file.
pub(crate) fn read(table: &Table<'_>) -> Option<(Polygon, Vec<At>)> {
    let corners = table.need("outline").places()?;
    if corners.len() > CORNERS_MAX {
        table.wrong(
            "outline",
            format!(
                "found {} corners, expected at most {CORNERS_MAX}",
                corners.len()
            ),
        );
        return None;
    }
    let places: Vec<At> = corners.iter().map(|(_, at)| *at).collect();
    let corners: Vec<[Length; 2]> = corners.into_iter().map(|(corner, _)| corner).collect();
    if !in_reach(table, &corners, &places) {
        return None;
    }
    Some((straight(table, &corners, &places)?, places))
}

/// Tells every corner that lies where no part can be.
pub(crate) fn in_reach(table: &Table<'_>, corners: &[[Length; 2]], places: &[At]) -> bool {
    let largest =
        Length::from_pm(DIMENSION_MAX_MM * PM_PER_MM).expect("the longest dimension is a length");
    let mut sound = true;
    for (corner, at) in corners.iter().zip(places) {
        for value in corner {
            if *value < Length::ZERO || *value > largest {
                let what = format!(
                    "found {value}, expected 0 mm to {largest}: measure from an origin left of and below the part"
                );
                table.wrong_item("outline", *at, what);
                sound = false;
            }
        }
    }
    sound
}

/// The polygon of straight edges between these corners; tells what is wrong with them.
pub(crate) fn straight(
    table: &Table<'_>,
    corners: &[[Length; 2]],
    places: &[At],
) -> Option<Polygon> {
    let exact = corners.iter().map(|[x, y]| [x.pm(), y.pm()]).collect();
    match Polygon::new(exact) {
        Ok(polygon) => Some(polygon),
        Err(faults) => {
            for fault in faults {
                tell(table, places, fault);
            }
            None
        }
    }
}

/// Tells what is wrong with a list of corners.
pub(crate) fn tell(table: &Table<'_>, places: &[At], fault: Fault) {
    match fault {
        Fault::TooFew => table.wrong(
            "outline",
            format!("found {} corners, expected three or more", places.len()),
        ),
        Fault::Repeated(corner) => table.wrong_item(
            "outline",
            places[corner],
            format!(
                "corner {} lies where the one before it lies, expected it once (the outline closes by itself)",
                corner + 1
            ),
        ),
        Fault::Straight(corner) => table.wrong_item(
            "outline",
            places[corner],
            format!(
                "corner {} lies in line with its neighbours, expected only places where the outline turns",
                corner + 1
            ),
        ),
        Fault::Crossing(first, second) => table.wrong_item(
            "outline",
            places[second],
            format!(
                "the edge from corner {} meets the edge from corner {}, expected an outline that does not cross or \
                 touch itself",
                second + 1,
                first + 1
            ),
        ),
    }
}
