//! A flange read from its table.

use super::{Direction, Flange, row};
use crate::form::{At, Table};
use crate::part::{bend_angle, bend_radius, dimension};

/// Reads all of a flange but its edges, whose names are the panel's own.
pub(crate) fn read<E>(table: &Table<'_>, edges: Option<Vec<(E, At)>>) -> Option<Flange<E>> {
    table.only(&[
        "edges",
        "formed",
        "finished",
        "angle",
        "radius",
        "direction",
        "fastener",
        "rivets",
    ]);
    let formed = dimension(table, "formed", true);
    let finished = dimension(table, "finished", false);
    let angle = bend_angle(table);
    let radius = bend_radius(table);
    let direction = table
        .may("direction")
        .word(&[("up", Direction::Up), ("down", Direction::Down)]);
    let fastener = dimension(table, "fastener", false);
    let rivets = row::read(table);
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
        direction: match direction {
            None if table.has("direction") => return None,
            direction => direction.unwrap_or_default(),
        },
        fastener,
        rivets: rivets?,
        at: table.at(),
        formed_at: table.at_of("formed"),
        finished_at: table.at_of("finished"),
    })
}

/// Tells every edge that carries two flanges.
pub(crate) fn tell_repeated_edges<E: PartialEq>(
    tables: &[Table<'_>],
    flanges: &[Option<Flange<E>>],
    named: impl Fn(&E) -> String,
) {
    let mut seen: Vec<&E> = Vec::new();
    for (table, flange) in tables.iter().zip(flanges) {
        for edge in flange.iter().flat_map(|flange| &flange.edges) {
            if seen.contains(&edge) {
                let what = format!(
                    "found {} a second time, expected each edge at most once",
                    named(edge)
                );
                table.wrong("edges", what);
            }
            seen.push(edge);
        }
    }
}
