//! Holes in the legs of a section, drilled in the flat strip.

use shared_types::{Dimension, Stage, Stroke, Warning};

use super::solved::Solved;
use crate::draft::{Draft, mm};
use crate::form::{At, Table};
use crate::hole::{self, Hole};
use crate::measure::Measure;
use crate::pen::linear;
use crate::polygon::Polygon;
use crate::stock::Stock;
use crate::{guidance, rivets};

/// The flat of a leg as its holes are measured: x from where the leg begins, its mold line or free edge,
/// y from the bottom end of the strip.
fn flat(solved: &Solved<'_>, leg: usize) -> Option<Polygon> {
    let [before, _] = solved.ends(leg);
    let left = before.map_or(Measure::ZERO, |solid| solid.setback);
    let [left, right] = [left, left + solved.flats[leg]].map(|x| x.length());
    let ([left, right], top) = ([left?.pm(), right?.pm()], solved.section.length.pm());
    Polygon::new(vec![[left, 0], [right, 0], [right, top], [left, top]]).ok()
}

/// The holes of each leg that has any.
fn by_leg<'s>(solved: &Solved<'s>) -> impl Iterator<Item = (usize, &'s [Hole], Polygon)> {
    let legs = solved.section.holes.chunk_by(|a, b| a.leg == b.leg);
    legs.filter_map(|holes| {
        let leg = holes.first()?.leg;
        Some((leg, holes, flat(solved, leg)?))
    })
}

/// What an edge of a leg's flat is, in the order of [`flat`]'s corners.
fn named(solved: &Solved<'_>, leg: usize, edge: usize) -> String {
    let [before, after] = solved.ends(leg);
    let bend = |there: bool, number: usize| {
        if there {
            format!("the tangent line of bend {number}")
        } else {
            format!("the free edge of leg {}", leg + 1)
        }
    };
    match edge {
        0 => "the bottom end of the strip".to_owned(),
        1 => bend(after.is_some(), leg + 1),
        2 => "the top end of the strip".to_owned(),
        _ => bend(before.is_some(), leg),
    }
}

/// Whether an edge of a leg's flat is a bend tangent line.
fn is_bend(solved: &Solved<'_>, leg: usize, edge: usize) -> bool {
    let [before, after] = solved.ends(leg);
    match edge {
        1 => after.is_some(),
        3 => before.is_some(),
        _ => false,
    }
}

/// Tells every hole that leaves the flat of its leg or runs into another; whether there was none.
pub(super) fn are_sound(solved: &Solved<'_>, root: &Table<'_>) -> bool {
    let mut found: Vec<(At, String)> = Vec::new();
    for (leg, holes, flat) in by_leg(solved) {
        found.extend(hole::contradictions("section", &flat, holes, |edge| {
            named(solved, leg, edge)
        }));
    }
    for (at, what) in &found {
        root.tell(*at, what);
    }
    found.is_empty()
}

pub(super) fn drafts(solved: &Solved<'_>) -> Vec<Draft> {
    let mut drafts = Vec::new();
    for hole in &solved.section.holes {
        drafts.extend(hole.own_drafts());
        if !hole.is_placed() {
            continue;
        }
        let number = hole.leg + 1;
        let rule = match solved.ends(hole.leg) {
            [Some(_), _] => format!(
                "centre {} from the outer mold line where leg {number} begins, whatever the legs run to, less its setback, \
                 plus flats and bend allowances before it",
                mm(hole.x.into())
            ),
            [None, _] => format!("centre {} from the edge of leg 1", mm(hole.x.into())),
        };
        let across = centre(solved, hole);
        drafts.push(hole.place_draft("x", "edge of leg 1", across, &rule, hole.reach([1.0, 0.0])));
        let rule = format!("centre {} from the bottom end", mm(hole.y.into()));
        drafts.push(hole.place_draft(
            "y",
            "bottom end",
            hole.y.into(),
            &rule,
            hole.reach([0.0, 1.0]),
        ));
    }
    drafts
}

/// From the edge of leg 1 to a hole's middle.
fn centre(solved: &Solved<'_>, hole: &Hole) -> Measure {
    let Some(before) = hole.leg.checked_sub(1) else {
        return hole.x.into();
    };
    let solid = &solved.bends[before];
    solved.line(before) + solid.allowance - solid.setback + hole.x.into()
}

pub(super) fn drawn(solved: &Solved<'_>) -> (Vec<Stroke>, Vec<Option<Dimension>>) {
    let (mut strokes, mut dimensions) = (Vec::new(), Vec::new());
    for hole in &solved.section.holes {
        let [x, y] = [centre(solved, hole).pm(), hole.y.pm() as f64];
        strokes.extend(hole.strokes(Stage::Blank, [x, y]));
        dimensions.extend(hole.own_dimensions([x, y]));
        if hole.is_placed() {
            let [across, high] = [[1.0, 0.0], [0.0, 1.0]].map(|way| hole.reach(way).pm());
            dimensions.push(linear(&hole.place_id("x"), [0.0, y], [x - across, y], 0.0));
            dimensions.push(linear(&hole.place_id("y"), [x, 0.0], [x, y - high], 0.0));
        }
    }
    (strokes, dimensions)
}

pub(super) fn warnings(solved: &Solved<'_>, stock: &Stock) -> Vec<Warning> {
    let mut told = Vec::new();
    for (leg, holes, flat) in by_leg(solved) {
        let edges = |bend: bool| (0..4).filter(move |edge| is_bend(solved, leg, *edge) == bend);
        told.extend(guidance::near_bend(holes, stock.sheet.thickness, |hole| {
            edges(true)
                .map(|edge| hole.clear_of_edge(&flat, edge))
                .min_by(f64::total_cmp)
        }));
        told.extend(rivets::holes(holes, stock.sheet.thickness, |hole| {
            edges(false)
                .map(|edge| flat.distance(hole.centre(), edge).0)
                .min_by(f64::total_cmp)
        }));
    }
    told.extend(hole::warnings(&solved.section.holes));
    told
}
