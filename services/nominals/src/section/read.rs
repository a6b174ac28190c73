//! A section read from its table.

use shared_types::{Length, PM_PER_MM};

use super::{Finished, Given, Section, Turn, Turned};
use crate::form::{At, Table};
use crate::hole::{self, Ground};
use crate::part::{DIMENSION_MAX_MM, bend_angle, bend_radius, dimension};

/// Most legs of a section: more is a corrugation, and no brake gets into it.
const LEGS_MAX: usize = 24;

/// Reads `[section]`.
pub(crate) fn read(table: &Table<'_>, ground: Ground) -> Option<Section> {
    table.only(&[
        "given", "length", "legs", "bend", "finished", "hole", "rivets",
    ]);
    let given = table.need("given").word(&[
        ("outside", Given::Outside),
        ("inside", Given::Inside),
        ("mold-line", Given::MoldLine),
    ]);
    let length = dimension(table, "length", true);
    let legs = legs(table);
    let tables = table.may("bend").tables();
    let count = legs.as_ref().map_or(LEGS_MAX, Vec::len);
    let holes = hole::read(table, ground, Some(count));
    let finished = match table.may("finished").table() {
        Some(below) => finished(&below, length, legs.as_deref()),
        // Written as something else it has been told.
        None => (!table.has("finished")).then(Finished::default),
    };
    let bends: Vec<Option<Turned>> = tables.iter().map(bend).collect();
    let mut matched = true;
    if let Some(legs) = &legs
        && legs.len() != tables.len() + 1
    {
        let what = format!(
            "found {} legs and {} [[section.bend]], expected one bend between each two legs, {} in all",
            legs.len(),
            tables.len(),
            legs.len() - 1
        );
        table.wrong("legs", what);
        matched = false;
    }
    let (legs, bends) = (legs?, bends.into_iter().collect::<Option<_>>()?);
    let mut holes = holes?;
    holes.sort_by_key(|hole| hole.leg);
    matched.then_some(Section {
        key: "legs",
        holes,
        finished: finished?,
        given: given?,
        length: length?,
        length_at: table.at_of("length"),
        legs,
        bends,
        at: table.at(),
    })
}

fn legs(table: &Table<'_>) -> Option<Vec<(Length, At)>> {
    let legs = table.need("legs").lengths()?;
    if !(2..=LEGS_MAX).contains(&legs.len()) {
        let what = format!(
            "found {}, expected 2 to {LEGS_MAX} legs (a flat part is a [plate])",
            legs.len()
        );
        table.wrong("legs", what);
        return None;
    }
    let largest = Length::from_pm(DIMENSION_MAX_MM * PM_PER_MM)?;
    let mut sound = true;
    for (leg, at) in &legs {
        if *leg <= Length::ZERO || *leg > largest {
            let what = format!("found {leg}, expected a length above 0 mm, at most {largest}");
            table.wrong_item("legs", *at, what);
            sound = false;
        }
    }
    sound.then_some(legs)
}

/// Reads `[section.finished]`: what the part keeps of what was laid out.
fn finished(
    table: &Table<'_>,
    length: Option<Length>,
    legs: Option<&[(Length, At)]>,
) -> Option<Finished> {
    table.only(&["first", "last", "length"]);
    if !["first", "last", "length"]
        .into_iter()
        .any(|name| table.has(name))
    {
        table.wrong_here("found nothing in it, expected one or more of first, last and length");
        return None;
    }
    let mut sound = true;
    let mut read = |name: &str, laid_out: Option<Length>| {
        let kept = dimension(table, name, false);
        if let (Some(kept), Some(laid_out)) = (kept, laid_out)
            && kept >= laid_out
        {
            let what = format!("found {kept}, expected less than as laid out, {laid_out}");
            table.wrong(name, what);
            sound = false;
        }
        sound &= kept.is_some() == table.has(name);
        kept.map(|kept| (kept, table.at_of(name)))
    };
    let first = read("first", legs.and_then(|legs| Some(legs.first()?.0)));
    let last = read("last", legs.and_then(|legs| Some(legs.last()?.0)));
    let length = read("length", length);
    sound.then_some(Finished {
        first,
        last,
        length,
    })
}

fn bend(table: &Table<'_>) -> Option<Turned> {
    table.only(&["turn", "angle", "radius"]);
    let turn = table
        .need("turn")
        .word(&[("up", Turn::Up), ("down", Turn::Down)]);
    let angle = bend_angle(table);
    let radius = bend_radius(table);
    Some(Turned {
        turn: turn?,
        angle: angle?,
        radius: radius?,
        at: table.at(),
    })
}
