//! A panel read from its table.

use shared_types::{Angle, Length};

use super::{EDGES, Flange, Given, Hole, Panel, Relief};
use crate::bend::BEND_ANGLE_MAX_DEG;
use crate::form::Table;
use crate::part::dimension;

/// Most holes of one panel: each takes three characteristics, and numbers go to four digits.
const HOLES_MAX: usize = 200;

/// Reads `[panel]`. The thickness is known where the sheet was read well.
pub(crate) fn read(table: &Table<'_>, thickness: Option<Length>) -> Option<Panel> {
    table.only(&[
        "given",
        "clearance",
        "width",
        "height",
        "flange",
        "relief",
        "hole",
    ]);
    let given = given(table);
    let width = dimension(table, "width", true);
    let height = dimension(table, "height", true);
    let tables = table.may("flange").tables();
    let flanges: Vec<Option<Flange>> = tables.iter().map(flange).collect();
    tell_repeated_edges(&tables, &flanges);
    let relief = table.may("relief").table();
    let relief = relief.as_ref().map(|relief| {
        relief.only(&["diameter"]);
        let diameter = dimension(relief, "diameter", true)?;
        Some(Relief {
            diameter,
            at: relief.at_of("diameter"),
        })
    });
    let tables = table.may("hole").tables();
    if let Some(beyond) = tables.get(HOLES_MAX) {
        beyond.wrong_here(format!("one hole too many, expected at most {HOLES_MAX}"));
    }
    let holes: Vec<Option<Hole>> = tables.iter().map(hole).collect();
    let mut too_small = false;
    if let (Some(given), Some(thickness), Some(width), Some(height)) =
        (given, thickness, width, height)
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
        holes: holes.into_iter().collect::<Option<_>>()?,
        at: table.at(),
    })
}

fn given(table: &Table<'_>) -> Option<Given> {
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
    table.only(&["edges", "formed", "finished", "angle", "radius"]);
    let edges = table
        .need("edges")
        .words(&EDGES.map(|edge| (edge.word(), edge)));
    if edges.as_ref().is_some_and(Vec::is_empty) {
        table.wrong(
            "edges",
            "found an empty list, expected one or more of left, right, bottom, top",
        );
    }
    let formed = dimension(table, "formed", true);
    let finished = dimension(table, "finished", false);
    let angle = bend_angle(table);
    let radius = table.need("radius").length();
    let radius = radius.filter(|radius| {
        // A radius of zero is a sharp inside corner, which soft thin sheet allows.
        let most = dimension_cap(table, "radius", *radius);
        if *radius < Length::ZERO {
            table.wrong("radius", format!("found {radius}, expected 0 mm or more"));
        }
        *radius >= Length::ZERO && most
    });
    if let (Some(formed), Some(finished)) = (formed, finished)
        && finished >= formed
    {
        let what = format!("found {finished}, expected less than the height as formed, {formed}");
        table.wrong("finished", what);
    }
    Some(Flange {
        edges: edges?.into_iter().map(|(edge, _)| edge).collect(),
        formed: formed?,
        finished,
        angle: angle?,
        radius: radius?,
        at: table.at(),
        formed_at: table.at_of("formed"),
        finished_at: table.at_of("finished"),
    })
}

/// The same upper bound as for every dimension, for one that may be zero.
fn dimension_cap(table: &Table<'_>, name: &str, length: Length) -> bool {
    length <= Length::ZERO || dimension(table, name, true).is_some()
}

fn bend_angle(table: &Table<'_>) -> Option<Angle> {
    let angle = table.need("angle").angle()?;
    let most = Angle::from_mas(BEND_ANGLE_MAX_DEG * 3_600_000)?;
    if angle <= Angle::ZERO || angle > most {
        let what = format!(
            "found {angle}, expected the bend angle turned through: above 0°, at most {BEND_ANGLE_MAX_DEG}° (a flange \
             square to the web has 90°)"
        );
        table.wrong("angle", what);
        return None;
    }
    Some(angle)
}

fn tell_repeated_edges(tables: &[Table<'_>], flanges: &[Option<Flange>]) {
    let mut seen = [false; 4];
    for (table, flange) in tables.iter().zip(flanges) {
        for edge in flange.iter().flat_map(|flange| &flange.edges) {
            if std::mem::replace(&mut seen[edge.index()], true) {
                let what = format!(
                    "found {:?} a second time, expected each edge at most once",
                    edge.word()
                );
                table.wrong("edges", what);
            }
        }
    }
}

fn hole(table: &Table<'_>) -> Option<Hole> {
    table.only(&["name", "diameter", "x", "y"]);
    let name = table.may("name").text();
    let diameter = dimension(table, "diameter", true);
    let x = dimension(table, "x", true);
    let y = dimension(table, "y", true);
    Some(Hole {
        name,
        diameter: diameter?,
        x: x?,
        y: y?,
        at: table.at(),
    })
}
