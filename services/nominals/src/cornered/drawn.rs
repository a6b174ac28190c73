//! What to draw of a panel of corners: the blank, the panel from outside, a section of each flange.

use shared_types::{Dimension, DimensionShape, Layer, Stage, Stroke, View};

use super::blank::{PLACES, SIDES, edges, places};
use super::formed::{Level, corners, finished, flanged, reach};
use super::shape::Shape;
use super::sketch::strokes;
use crate::flange;
use crate::pen::{self, length, line, linear, point};

/// Dimension lines stand this part of the panel's larger side away from it.
const STEP: f64 = 0.09;

pub(super) fn views(shape: &Shape<'_>) -> Vec<View> {
    let mut views = vec![blank(shape)];
    let mut stages = Vec::new();
    if shape.bent().next().is_some() {
        stages.push(Stage::Formed);
    }
    if shape
        .panel
        .flanges
        .iter()
        .any(|flange| flange.finished.is_some())
    {
        stages.push(Stage::Trimmed);
    }
    for stage in stages {
        views.push(outside(shape, stage));
        for one in &shape.panel.flanges {
            let mut alike = shape.bent().filter(|(edge, _)| one.edges.contains(edge));
            let Some((_, bent)) = alike.next() else {
                continue;
            };
            if stage == Stage::Trimmed && one.finished.is_none() {
                continue;
            }
            let ids: Vec<String> = one
                .edges
                .iter()
                .map(|edge| (edge + 1).to_string())
                .collect();
            let names: Vec<String> = one
                .edges
                .iter()
                .map(|edge| shape.web.edge_name(*edge))
                .collect();
            let title = format!("section through the flange on {}", names.join(", "));
            views.push(flange::section(&ids, title, bent, stage));
        }
    }
    views
}

fn step(shape: &Shape<'_>) -> f64 {
    let [left, right, bottom, top] = shape.web.bounds();
    STEP * (right - left).max(top - bottom)
}

/// Left of a way is inside counter-clockwise, so that outside is a negative offset.
fn outward(shape: &Shape<'_>, away: f64) -> f64 {
    if shape.web.is_counter_clockwise() {
        -away
    } else {
        away
    }
}

fn blank(shape: &Shape<'_>) -> View {
    let beyond: Vec<f64> = (0..shape.count())
        .map(|edge| shape.extent(edge).pm())
        .collect();
    let mut drawn = strokes(shape, &beyond, Stage::Blank);
    let mut dimensions: Vec<Option<Dimension>> = Vec::new();
    for edge in edges(shape) {
        let id = format!("blank.edge.{}", edge + 1);
        let [from, to] = [0.0, 1.0].map(|part| shape.place(edge, part, beyond[edge]));
        dimensions.push(linear(&id, from, to, outward(shape, step(shape))));
    }
    for [a, b] in shape.facing() {
        let id = format!("blank.across.{}-{}", a + 1, b + 1);
        dimensions.push(facing(shape, &id, [a, b], [beyond[a], beyond[b]]));
    }
    for corner in 0..shape.count() {
        dimensions.push(angle(
            shape,
            &format!("blank.corner.{}", corner + 1),
            corner,
        ));
    }
    for (edge, bent) in shape.bent() {
        let tangent = bent.allowance.pm();
        for out in [0.0, tangent] {
            let [from, to] = [0.0, 1.0].map(|part| shape.place(edge, part, out));
            drawn.push(Stroke {
                layer: Layer::Bend,
                shape: line(from, to),
            });
        }
        // Off the middle, where hole dimensions run.
        let id = format!("blank.line.{}", edge + 1);
        let [from, to] = [beyond[edge], tangent].map(|out| shape.place(edge, 0.72, out));
        dimensions.push(linear(&id, from, to, 0.0));
    }
    dimensions.extend(relief(shape, &beyond));
    for hole in &shape.panel.holes {
        let [x, y] = hole.centre();
        dimensions.extend(hole.own_dimensions([x, y]));
        if !hole.is_placed() {
            continue;
        }
        for (edge, letter) in places(shape, hole).into_iter().zip(PLACES) {
            let n = shape.outward[edge];
            let out = |far: f64| [x + far * n[0], y + far * n[1]];
            let rim = out(shape.inside([x, y], edge) + beyond[edge]);
            let id = hole.place_id(letter);
            dimensions.push(linear(&id, rim, out(hole.reach(n).pm()), 0.0));
        }
    }
    View {
        stage: Stage::Blank,
        title: "blank, outside face up".to_owned(),
        strokes: drawn,
        dimensions: dimensions.into_iter().flatten().collect(),
    }
}

fn relief(shape: &Shape<'_>, beyond: &[f64]) -> Vec<Option<Dimension>> {
    let Some(relief) = &shape.panel.relief else {
        return Vec::new();
    };
    let radius = relief.diameter.pm() as f64 / 2.0;
    let mut dimensions = Vec::new();
    for (index, corner) in shape.relieved().enumerate() {
        let [x, y] = shape.corners[corner];
        if index == 0 {
            let across = DimensionShape::Diameter {
                centre: point(x, y),
                radius: length(radius),
            };
            dimensions.push(pen::dimension("blank.relief.diameter", across));
        }
        let ends = shape
            .edges_at(corner)
            .into_iter()
            .zip([1.0, 0.0])
            .zip(SIDES);
        for ((edge, part), letter) in ends {
            let [from, to] = [beyond[edge], radius].map(|out| shape.place(edge, part, out));
            let id = format!("blank.relief.{}.{letter}", corner + 1);
            dimensions.push(linear(&id, from, to, 0.0));
        }
    }
    dimensions
}

/// The panel seen on its outside face, flanges away from the eye.
fn outside(shape: &Shape<'_>, stage: Stage) -> View {
    let beyond: Vec<f64> = (0..shape.count())
        .map(|edge| {
            shape.bents[edge].as_ref().map_or(0.0, |bent| {
                let bulge = (bent.bend.radius.pm() + bent.bend.thickness.pm()) as f64;
                // The free edge where the flange opens outward, the bulge of the bend where it does not.
                if bent.bend.cos() > 0.0 {
                    reach(shape, edge, Level::Free, stage).pm()
                } else {
                    bulge
                }
            })
        })
        .collect();
    let mut drawn = strokes(shape, &beyond, stage);
    for (edge, _) in shape.bent() {
        let [from, to] = [0.0, 1.0].map(|part| shape.place(edge, part, 0.0));
        drawn.push(Stroke {
            layer: Layer::Bend,
            shape: line(from, to),
        });
    }
    let mut dimensions: Vec<Option<Dimension>> = Vec::new();
    for pair @ [a, b] in shape.facing() {
        let shown: &[Level] = match stage {
            Stage::Formed if flanged(shape, pair) => &[Level::Root, Level::Free],
            Stage::Trimmed if finished(shape, pair) => &[Level::Free],
            _ => &[],
        };
        for level in shown {
            let id = format!("{stage}.across.{}-{}.{}", a + 1, b + 1, level.id());
            let outs = pair.map(|edge| reach(shape, edge, *level, stage).pm());
            dimensions.push(facing(shape, &id, pair, outs));
        }
    }
    if stage == Stage::Formed {
        for corner in corners(shape) {
            dimensions.push(angle(
                shape,
                &format!("formed.corner.{}", corner + 1),
                corner,
            ));
        }
    }
    View {
        stage,
        title: "seen from outside".to_owned(),
        strokes: drawn,
        dimensions: dimensions.into_iter().flatten().collect(),
    }
}

/// Square across two facing edges, so far beyond each.
fn facing(shape: &Shape<'_>, id: &str, [a, b]: [usize; 2], outs: [f64; 2]) -> Option<Dimension> {
    let part = shape.shared(a, b)?;
    let from = shape.place(a, part, outs[0]);
    let n = shape.outward[a];
    let far = super::blank::between(shape, [a, b]).pm() + outs[0] + outs[1];
    linear(id, from, [from[0] - far * n[0], from[1] - far * n[1]], 0.0)
}

/// The arc of a corner of the flat web.
fn angle(shape: &Shape<'_>, id: &str, corner: usize) -> Option<Dimension> {
    let [before, after] = shape.edges_at(corner);
    let at = shape.corners[corner];
    let shortest = shape.length(before).pm().min(shape.length(after).pm());
    let reach = (0.4 * shortest).min(2.0 * step(shape));
    let along = |edge: usize, sign: f64| {
        let [from, to] = shape.edge(edge);
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let far = sign * reach / dx.hypot(dy);
        point(at[0] + far * dx, at[1] + far * dy)
    };
    let (back, on) = (along(before, -1.0), along(after, 1.0));
    // Counter-clockwise round the metal, or round the gap of a re-entrant corner.
    let metal = shape.web.is_counter_clockwise() != shape.web.is_reentrant(corner);
    let (from, to) = if metal { (on, back) } else { (back, on) };
    let vertex = point(at[0], at[1]);
    pen::dimension(id, DimensionShape::Angle { vertex, from, to })
}
