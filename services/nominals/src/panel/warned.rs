//! What a builder should know of a panel before cutting it.

use shared_types::Warning;

use super::shape::Shape;
use super::{Axis, EDGES, Edge, words};
use crate::hole::{self, Hole};
use crate::stock::{Grain, Stock};
use crate::{guidance, rivets};

pub(super) fn warnings(shape: &Shape<'_>, stock: &Stock) -> Vec<Warning> {
    let mut told = Vec::new();
    for flange in &shape.panel.flanges {
        let plural = if flange.edges.len() == 1 { "" } else { "s" };
        let what = format!("{} flange{plural}", words(&flange.edges));
        told.extend(guidance::radius(&what, flange.radius, &stock.sheet));
        let mut alike = shape.bent().filter(|(edge, _)| flange.edges.contains(edge));
        if let Some((_, bent)) = alike.next() {
            told.extend(guidance::short_flange(&what, flange.formed, &bent.bend));
            if let Some(fastener) = flange.fastener {
                let kept = flange.finished.unwrap_or(flange.formed);
                told.extend(rivets::flange(&what, kept, fastener, &bent.bend));
            }
        }
    }
    if let Some(relief) = &shape.panel.relief {
        told.extend(guidance::relief(relief.diameter, &stock.sheet));
    }
    let along: Vec<Edge> = shape
        .bent()
        .map(|(edge, _)| edge)
        .filter(|edge| stock.grain == Some(grain_along(*edge)))
        .collect();
    if !along.is_empty() {
        told.push(guidance::along_grain(&format!(
            "bends at {}",
            words(&along)
        )));
    }
    told.extend(guidance::near_bend(
        &shape.panel.holes,
        stock.sheet.thickness,
        |hole| nearest(shape, hole, true, |axis| hole.room_along(axis.way())),
    ));
    told.extend(rivets::holes(
        &shape.panel.holes,
        stock.sheet.thickness,
        |hole| nearest(shape, hole, false, |_| 0.0),
    ));
    told.extend(hole::warnings(&shape.panel.holes));
    told
}

/// The way the grain runs along an edge's bend line.
const fn grain_along(edge: Edge) -> Grain {
    match edge {
        Edge::Left | Edge::Right => Grain::Height,
        Edge::Bottom | Edge::Top => Grain::Width,
    }
}

/// From a hole's centre, less `of` it, to the nearest bend tangent line, or else to the nearest plain edge.
fn nearest(shape: &Shape<'_>, hole: &Hole, bent: bool, of: impl Fn(Axis) -> f64) -> Option<f64> {
    let away = |edge: Edge| {
        let axis = match edge {
            Edge::Left | Edge::Right => Axis::Width,
            Edge::Bottom | Edge::Top => Axis::Height,
        };
        let from = shape.hole_on_flat(hole, axis).pm();
        let whole = if axis.edges()[0] == edge {
            from
        } else {
            shape.flat(axis).pm() - from
        };
        whole - of(axis)
    };
    EDGES
        .into_iter()
        .filter(|edge| shape.side(*edge).bent.is_some() == bent)
        .map(away)
        .min_by(f64::total_cmp)
}
