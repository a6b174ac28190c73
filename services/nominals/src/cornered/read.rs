//! A panel of corners read from its table.

use super::outline::TRAPEZOID_EDGES;
use super::{Cornered, Flange, corners};
use crate::form::{At, Table};
use crate::hole::Ground;
use crate::outline::CORNERS_MAX;
use crate::panel::{given, relief_of};
use crate::{block, flange, hole};

/// Reads `[panel]` with an outline or a trapezoid.
pub(crate) fn read(table: &Table<'_>, ground: Ground) -> Option<Cornered> {
    let listed = table.has("outline");
    let shape = if listed { "outline" } else { "trapezoid" };
    for name in ["width", "height", "trapezoid"] {
        if table.has(name) && name != shape {
            let what = format!(
                "found it beside {shape}, expected one of width and height, an outline, and a trapezoid"
            );
            table.wrong(name, what);
        }
    }
    table.only(&[
        "given",
        "clearance",
        "outline",
        "trapezoid",
        "flange",
        "relief",
        "hole",
        "rivets",
        "width",
        "height",
        "block",
        "diagonals",
    ]);
    let given = given(table);
    let (outline, edges) = if listed {
        let outline = corners::read(table);
        // Edges can only be counted where the outline could be read; any plausible number is taken otherwise.
        let count = outline
            .as_ref()
            .map_or(CORNERS_MAX, |outline| outline.edges());
        (outline, Edges::Numbered(count))
    } else {
        let trapezoid = table.need("trapezoid").table();
        let outline = trapezoid.and_then(|table| corners::trapezoid(&table));
        (outline, Edges::Trapezoid)
    };
    let tables = table.may("flange").tables();
    let flanges: Vec<Option<Flange>> = tables.iter().map(|table| flange_of(table, edges)).collect();
    flange::tell_repeated_edges(&tables, &flanges, |edge| edges.name(*edge));
    let relief = table.may("relief").table();
    let relief = relief.as_ref().map(relief_of);
    let block = block::read(table);
    let diagonals = table.may("diagonals").boolean().unwrap_or(false);
    let holes = hole::read(table, ground, None);
    Some(Cornered {
        given: given?,
        outline: outline?,
        flanges: flanges.into_iter().collect::<Option<_>>()?,
        relief: match relief {
            None => None,
            Some(relief) => Some(relief?),
        },
        block: block?,
        diagonals,
        holes: holes?,
        at: table.at(),
    })
}

/// How a flange names its edges.
#[derive(Clone, Copy)]
enum Edges {
    /// So many, by their numbers.
    Numbered(usize),
    Trapezoid,
}

impl Edges {
    fn name(self, edge: usize) -> String {
        match self {
            Self::Numbered(_) => format!("edge {}", edge + 1),
            Self::Trapezoid => format!("{:?}", TRAPEZOID_EDGES[edge % 4]),
        }
    }

    fn read(self, table: &Table<'_>) -> Option<Vec<(usize, At)>> {
        match self {
            Self::Numbered(count) => {
                let last = i64::try_from(count).unwrap_or(i64::MAX);
                let numbers = table.need("edges").integers(1..=last)?;
                let from_zero =
                    |(number, at)| usize::try_from(number - 1).ok().map(|edge| (edge, at));
                Some(numbers.into_iter().filter_map(from_zero).collect())
            }
            Self::Trapezoid => {
                let [bottom, right, top, left] = TRAPEZOID_EDGES;
                table
                    .need("edges")
                    .words(&[(bottom, 0), (right, 1), (top, 2), (left, 3)])
            }
        }
    }
}

fn flange_of(table: &Table<'_>, edges: Edges) -> Option<Flange> {
    let read = edges.read(table);
    if read.as_ref().is_some_and(Vec::is_empty) {
        let expected = match edges {
            Edges::Numbered(_) => "one or more edges by number",
            Edges::Trapezoid => "one or more of bottom, right, top, left",
        };
        table.wrong("edges", format!("found an empty list, expected {expected}"));
    }
    flange::read(table, read)
}
