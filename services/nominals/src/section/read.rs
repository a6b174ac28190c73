//! A section read from its table.

use shared_types::{Length, PM_PER_MM};

use super::{Given, Section, Turn, Turned};
use crate::form::{At, Table};
use crate::part::{DIMENSION_MAX_MM, bend_angle, bend_radius, dimension};

/// Most legs of a section: more is a corrugation, and no brake gets into it.
const LEGS_MAX: usize = 24;

/// Reads `[section]`.
pub(crate) fn read(table: &Table<'_>) -> Option<Section> {
    table.only(&["given", "length", "legs", "bend"]);
    let given = table.need("given").word(&[
        ("outside", Given::Outside),
        ("inside", Given::Inside),
        ("mold-line", Given::MoldLine),
    ]);
    let length = dimension(table, "length", true);
    let legs = legs(table);
    let tables = table.may("bend").tables();
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
    matched.then_some(Section {
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
