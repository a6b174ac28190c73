//! A panel read from its table.

use shared_types::Length;

use super::{EDGES, Flange, Given, Panel, Relief};
use crate::fit::{Openings, Sureness};
use crate::form::Table;
use crate::hole::Ground;
use crate::part::{dimension, side};
use crate::{block, flange, hole};

/// Reads `[panel]`.
pub(crate) fn read(table: &Table<'_>, ground: Ground) -> Option<Panel> {
    table.only(&[
        "given",
        "clearance",
        "width",
        "height",
        "flange",
        "relief",
        "block",
        "diagonals",
        "hole",
        "rivets",
    ]);
    let given = given_within(table, ground.openings);
    let width = side(table, "width", ground.openings.width, ground.openings);
    let height = side(table, "height", ground.openings.height, ground.openings);
    let tables = table.may("flange").tables();
    let flanges: Vec<Option<Flange>> = tables.iter().map(flange).collect();
    flange::tell_repeated_edges(&tables, &flanges, |edge| format!("{:?}", edge.word()));
    let relief = table.may("relief").table();
    let relief = relief.as_ref().map(relief_of);
    let block = block::read(table);
    let diagonals = table.may("diagonals").boolean().unwrap_or(false);
    let holes = hole::read(table, ground, None);
    let mut too_small = false;
    if let (Some(given), Some(thickness), Some(width), Some(height)) =
        (given, ground.thickness, width, height)
    {
        for (name, length) in [("width", width), ("height", height)] {
            if length <= thickness {
                let what = format!(
                    "found {length}, expected more than the sheet's thickness of {thickness}"
                );
                table.wrong(name, what);
                too_small = true;
            } else if let Given::Opening(clearance) = given
                && length.pm() <= 2 * clearance.pm()
            {
                let what = format!(
                    "found {length}, expected more than twice the clearance of {clearance}"
                );
                table.wrong(name, what);
                too_small = true;
            }
        }
    }
    if too_small {
        return None;
    }
    Some(Panel {
        given: given?,
        width: width?,
        height: height?,
        width_at: table.at_of("width"),
        height_at: table.at_of("height"),
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

/// Reads `[panel.relief]`.
pub(crate) fn relief_of(table: &Table<'_>) -> Option<Relief> {
    table.only(&["diameter"]);
    let diameter = dimension(table, "diameter", true)?;
    Some(Relief {
        diameter,
        at: table.at_of("diameter"),
    })
}

/// Reads `given` of a panel that may go into an opening of another part.
fn given_within(table: &Table<'_>, openings: Openings) -> Option<Given> {
    let clearance = openings.clearance;
    let word = table.may("given").text();
    if openings.sureness == Sureness::Wrong && word.as_deref() == Some("opening") {
        return None;
    }
    if let Some(clearance) = clearance
        && word.as_deref() == Some("opening")
    {
        let own = table.may("clearance").length();
        if let Some(own) = own.filter(|own| *own != clearance) {
            let what = format!(
                "found {own}, but fit.clearance is {clearance}, expected the same, or none here"
            );
            table.wrong("clearance", what);
            return None;
        }
        return (own.is_some() == table.has("clearance")).then_some(Given::Opening(clearance));
    }
    let given = given(table);
    if let (Some(key), Some(_), Some(word)) = (openings.key(), given, word) {
        let what =
            format!("found {word:?} beside fit.{key}, expected \"opening\": it gives the opening");
        table.wrong("given", what);
        return None;
    }
    given
}

/// Reads `given`, with the clearance that an opening needs.
pub(crate) fn given(table: &Table<'_>) -> Option<Given> {
    #[derive(Clone, Copy, PartialEq)]
    enum Word {
        Outside,
        Inside,
        Opening,
    }
    let word = table.need("given").word(&[
        ("outside", Word::Outside),
        ("inside", Word::Inside),
        ("opening", Word::Opening),
    ]);
    if word == Some(Word::Opening) {
        let clearance = table.need("clearance").length()?;
        if clearance < Length::ZERO {
            table.wrong(
                "clearance",
                format!("found {clearance}, expected 0 mm or more"),
            );
            return None;
        }
        return Some(Given::Opening(clearance));
    }
    let clearance = table.may("clearance").length();
    if table.has("clearance") && word.is_some() {
        let found = clearance.map_or_else(String::new, |length| format!("found {length}, "));
        let what = format!("{found}expected no clearance: it belongs to given = \"opening\" only");
        table.wrong("clearance", what);
    }
    match word? {
        Word::Outside => Some(Given::Outside),
        Word::Inside => Some(Given::Inside),
        Word::Opening => None,
    }
}

fn flange(table: &Table<'_>) -> Option<Flange> {
    let edges = table
        .need("edges")
        .words(&EDGES.map(|edge| (edge.word(), edge)));
    if edges.as_ref().is_some_and(Vec::is_empty) {
        table.wrong(
            "edges",
            "found an empty list, expected one or more of left, right, bottom, top",
        );
    }
    flange::read(table, edges)
}
