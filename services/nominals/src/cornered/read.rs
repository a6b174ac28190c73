//! A panel of corners read from its table.

use super::{Cornered, Flange};
use crate::form::Table;
use crate::hole::Ground;
use crate::panel::{given, relief_of};
use crate::{flange, hole, outline};

/// Reads `[panel]` with an outline.
pub(crate) fn read(table: &Table<'_>, ground: Ground) -> Option<Cornered> {
    for name in ["width", "height"] {
        if table.has(name) {
            table.wrong(
                name,
                "found it beside outline, expected either width and height or an outline",
            );
        }
    }
    for name in ["block", "diagonals"] {
        if table.has(name) {
            table.wrong(
                name,
                "found it beside outline, expected it only with width and height",
            );
        }
    }
    table.only(&[
        "given",
        "clearance",
        "outline",
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
    let outline = outline::read(table);
    // Edges can only be counted where the outline could be read; any plausible number is taken otherwise.
    let edges = outline
        .as_ref()
        .map_or(outline::CORNERS_MAX, |(polygon, _)| polygon.count());
    let tables = table.may("flange").tables();
    let flanges: Vec<Option<Flange>> = tables.iter().map(|table| flange_of(table, edges)).collect();
    flange::tell_repeated_edges(&tables, &flanges, |edge| format!("edge {}", edge + 1));
    let relief = table.may("relief").table();
    let relief = relief.as_ref().map(relief_of);
    let holes = hole::read(table, ground, None);
    let (polygon, places) = outline?;
    Some(Cornered {
        given: given?,
        polygon,
        places,
        flanges: flanges.into_iter().collect::<Option<_>>()?,
        relief: match relief {
            None => None,
            Some(relief) => Some(relief?),
        },
        holes: holes?,
        at: table.at(),
    })
}

fn flange_of(table: &Table<'_>, edges: usize) -> Option<Flange> {
    let last = i64::try_from(edges).unwrap_or(i64::MAX);
    let numbers = table.need("edges").integers(1..=last);
    if numbers.as_ref().is_some_and(Vec::is_empty) {
        table.wrong(
            "edges",
            "found an empty list, expected one or more edges by number",
        );
    }
    let edges = numbers.map(|numbers| {
        let from_zero = |(number, at)| usize::try_from(number - 1).ok().map(|edge| (edge, at));
        numbers.into_iter().filter_map(from_zero).collect()
    });
    flange::read(table, edges)
}
