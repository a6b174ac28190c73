//! Holes read from a family's table.

use shared_types::{Angle, Length, PM_PER_MM};

use super::{Flanged, Hole, Kind, Row};
use crate::AllowanceRule;
use crate::bend::Bend;
use crate::fit::Openings;
use crate::form::Table;
use crate::measure::Measure;
use crate::part::{DIMENSION_MAX_MM, bend_angle, bend_radius, dimension};

/// Most holes of one part: each takes three characteristics, and numbers go to four digits.
const HOLES_MAX: usize = 200;

/// What a family reads its table upon.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ground {
    /// Known where the sheet was read well.
    pub(crate) thickness: Option<Length>,
    pub(crate) rule: AllowanceRule,
    /// What the part goes into, where its size follows from that.
    pub(crate) openings: Openings,
}

/// Reads all `hole` and `rivets` of a family's table; nothing where one of them is wrong. Where the family
/// has `legs`, each says on which it lies.
pub(crate) fn read(table: &Table<'_>, ground: Ground, legs: Option<usize>) -> Option<Vec<Hole>> {
    let single = table.may("hole").tables();
    let rows = table.may("rivets").tables();
    let holes: Vec<Option<Hole>> = single
        .iter()
        .zip(1..)
        .map(|(table, n)| hole(table, n, ground, legs))
        .collect();
    let rows: Vec<Option<Vec<Hole>>> = rows
        .iter()
        .zip(1..)
        .map(|(table, n)| row(table, n, legs))
        .collect();
    let mut holes = holes.into_iter().collect::<Option<Vec<Hole>>>();
    for row in rows {
        if let (Some(holes), Some(row)) = (&mut holes, row) {
            holes.extend(row);
        } else {
            holes = None;
        }
    }
    let holes = holes?;
    if holes.len() > HOLES_MAX {
        let what = format!("found {} holes, expected at most {HOLES_MAX}", holes.len());
        table.wrong_here(what);
        return None;
    }
    Some(holes)
}

fn only(table: &Table<'_>, keys: &[&str], legs: Option<usize>) {
    match legs {
        Some(_) => table.only(&[keys, &["leg"]].concat()),
        None => table.only(keys),
    }
}

/// On which leg it lies, from 0.
fn leg(table: &Table<'_>, legs: Option<usize>) -> Option<usize> {
    let Some(legs) = legs else { return Some(0) };
    let last = i64::try_from(legs).ok()?;
    let leg = table.need("leg").integer(1..=last)?;
    usize::try_from(leg - 1).ok()
}

fn hole(table: &Table<'_>, number: usize, ground: Ground, legs: Option<usize>) -> Option<Hole> {
    let keys = [
        "name", "diameter", "x", "y", "fastener", "length", "width", "angle", "flange",
    ];
    only(table, &keys, legs);
    let leg = leg(table, legs);
    let name = table.may("name").text();
    let kind = kind(table, ground);
    let x = dimension(table, "x", true);
    let y = dimension(table, "y", true);
    let fastener = table.may("fastener").boolean();
    Some(Hole {
        group: format!("hole.{number}"),
        called: match name {
            Some(name) => format!("{name} hole {number}"),
            None => format!("hole {number}"),
        },
        kind: kind?,
        leg: leg?,
        x: x?,
        y: y?,
        fastener: fastener.unwrap_or(false),
        row: Row::Alone,
        at: table.at(),
    })
}

fn kind(table: &Table<'_>, ground: Ground) -> Option<Kind> {
    let slotted = ["length", "width", "angle"]
        .into_iter()
        .find(|name| table.has(name));
    let Some(key) = slotted else {
        let diameter = dimension(table, "diameter", true);
        if !table.has("flange") {
            return Some(Kind::Round {
                diameter: diameter?,
            });
        }
        let flange = table.need("flange").table()?;
        return flanged(&flange, diameter, ground).map(Kind::Flanged);
    };
    for other in ["diameter", "flange"] {
        if table.has(other) {
            table.wrong(
                other,
                format!(
                    "found it beside {key}, expected either a diameter or a slot's length and width"
                ),
            );
            return None;
        }
    }
    let length = dimension(table, "length", true);
    let width = dimension(table, "width", true);
    let angle = if table.has("angle") {
        slot_angle(table)
    } else {
        Some(Angle::ZERO)
    };
    let (length, width) = (length?, width?);
    if length <= width {
        let what = format!(
            "found {length}, expected more than its width of {width}: it runs over both round ends"
        );
        table.wrong("length", what);
        return None;
    }
    Some(Kind::Slot {
        length,
        width,
        angle: angle?,
    })
}

/// Which way a slot lies: a half turn lies as none does.
fn slot_angle(table: &Table<'_>) -> Option<Angle> {
    let angle = table.need("angle").angle()?;
    if angle < Angle::ZERO || angle.mas() >= 180 * 3_600_000 {
        let what =
            format!("found {angle}, expected 0° or more and less than 180°, from the x axis");
        table.wrong("angle", what);
        return None;
    }
    Some(angle)
}

fn flanged(table: &Table<'_>, opening: Option<Length>, ground: Ground) -> Option<Flanged> {
    table.only(&["height", "angle", "radius"]);
    let height = dimension(table, "height", true);
    let angle = bend_angle(table);
    let radius = bend_radius(table);
    let (opening, height) = (opening?, height?);
    let bend = Bend {
        thickness: ground.thickness?,
        radius: radius?,
        angle: angle?,
    };
    match Flanged::new(opening, height, bend, ground.rule) {
        Ok(flanged) => Some(flanged),
        Err((key, what)) => {
            table.wrong(key, what);
            None
        }
    }
}

/// Fastener holes shared out evenly from one place to another: `from`, `to` and `count`, both ends included.
fn row(table: &Table<'_>, number: usize, legs: Option<usize>) -> Option<Vec<Hole>> {
    only(table, &["diameter", "from", "to", "count"], legs);
    let leg = leg(table, legs);
    let diameter = dimension(table, "diameter", true);
    let from = end(table, "from");
    let to = end(table, "to");
    let count = table.need("count").integer(2..=100);
    let (diameter, from, to, count) = (diameter?, from?, to?, count?);
    if from == to {
        table.wrong(
            "to",
            "found the place that the row begins at, expected another",
        );
        return None;
    }
    let last = count - 1;
    let steps = [0, 1].map(|axis| (to[axis].pm() - from[axis].pm()) as f64 / last as f64);
    let hole = |at: i64| {
        let [x, y] = [0, 1].map(|axis| match at {
            0 => Some(from[axis]),
            at if at == last => Some(to[axis]),
            at => Measure::computed(from[axis].pm() as f64 + at as f64 * steps[axis]).length(),
        });
        let (which, row) = match at {
            0 => ("the first hole".to_owned(), Row::First { step: steps }),
            at if at == last => ("the last hole".to_owned(), Row::Last),
            at => (format!("hole {}", at + 1), Row::Between),
        };
        Some(Hole {
            group: format!("rivets.{number}"),
            called: format!("{which} of rivets {number}"),
            kind: Kind::Round { diameter },
            leg: leg?,
            x: x?,
            y: y?,
            fastener: true,
            row,
            at: table.at(),
        })
    };
    (0..count).map(hole).collect()
}

fn end(table: &Table<'_>, name: &str) -> Option<[Length; 2]> {
    let place = table.need(name).place()?;
    let largest = Length::from_pm(DIMENSION_MAX_MM * PM_PER_MM)?;
    if place
        .iter()
        .any(|value| *value < Length::ZERO || *value > largest)
    {
        let what = format!(
            "found {} and {}, expected 0 mm to {largest} each",
            place[0], place[1]
        );
        table.wrong(name, what);
        return None;
    }
    Some(place)
}
