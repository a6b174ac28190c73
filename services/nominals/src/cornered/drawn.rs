//! What to draw of a panel of corners: the blank, the panel from outside, a section of each flange.

use shared_types::{Dimension, DimensionShape, Layer, Stage, Stroke, View};

use super::blank::{PLACES, SIDES, edges, pair_id, places};
use super::curved;
use super::diagonals;
use super::facing::Facing;
use super::formed::{Level, corners, finished, flanged, has_angle, reach, runs};
use super::outline::Corner;
use super::shape::Shape;
use super::sketch::strokes;
use crate::contour::{Contour, apart, crossing};
use crate::flange::{self, Direction, Shown, row};
use crate::pen::{self, length, linear, point};

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
            let alike = shape.alike(one);
            let Some(bent) = alike.first().and_then(|edge| shape.bents[*edge].as_ref()) else {
                continue;
            };
            if stage == Stage::Trimmed && one.finished.is_none() {
                continue;
            }
            let ids =
                |edges: &mut dyn Iterator<Item = usize>| edges.map(|edge| shape.id(edge)).collect();
            let shown = Shown {
                heights: ids(&mut alike.iter().copied()),
                angles: ids(&mut alike.iter().copied().filter(|edge| has_angle(shape, *edge))),
                title: format!("section through the flange on {}", shape.names(&alike)),
            };
            views.push(flange::section(shown, bent, stage));
        }
        views.extend(row::views(&runs(shape), stage));
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
        let id = format!("blank.edge.{}", shape.id(edge));
        let [from, to] = [0.0, 1.0].map(|part| shape.web.place(edge, part, beyond[edge]));
        dimensions.push(linear(&id, from, to, outward(shape, step(shape))));
    }
    dimensions.extend(curved::dimensions(shape, step(shape)));
    for pair in &shape.facing {
        let id = format!("blank.across.{}", pair_id(shape, pair));
        dimensions.push(facing(pair, &id, pair.pair.map(|edge| beyond[edge])));
    }
    for corner in shape.outline().corners() {
        let id = format!("blank.corner.{}", shape.outline().corner_id(corner.number));
        dimensions.push(angle(shape, &id, &corner));
    }
    for (edge, bent) in shape.bent() {
        let tangent = bent.allowance.pm();
        for out in [0.0, tangent] {
            drawn.extend(shape.web.beyond(edge, out).map(|line| Stroke {
                layer: Layer::Bend,
                shape: line.stroke(),
            }));
        }
        // Off the middle, where hole dimensions run.
        let id = format!("blank.line.{}", shape.id(edge));
        let [from, to] = [beyond[edge], tangent].map(|out| shape.web.place(edge, 0.72, out));
        dimensions.push(linear(&id, from, to, 0.0));
    }
    dimensions.extend(diagonals::dimensions(shape, Stage::Blank));
    dimensions.extend(relief(shape, &beyond));
    for hole in &shape.panel.holes {
        let [x, y] = hole.centre();
        dimensions.extend(hole.own_dimensions([x, y]));
        if !hole.is_placed() {
            continue;
        }
        for (edge, letter) in places(shape, hole).into_iter().zip(PLACES) {
            let n = shape
                .web
                .outward(edge, shape.web.piece(edge).beside([x, y]));
            let out = |far: f64| [x + far * n[0], y + far * n[1]];
            let rim = out(shape.web.inside([x, y], edge) + beyond[edge]);
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
        let [x, y] = shape.web.corner(corner);
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
            let [from, to] = [beyond[edge], radius].map(|out| shape.web.place(edge, part, out));
            let id = format!("blank.relief.{}.{letter}", shape.corner_id(corner));
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
    for (edge, bent) in shape.bent() {
        drawn.push(Stroke {
            layer: Layer::Bend,
            shape: shape.web.piece(edge).stroke(),
        });
        // The inner face of a flange stands behind the web, or before it; unless the flange opens outward.
        let inner = (bent.bend.radius.pm()) as f64;
        if bent.bend.cos() <= 0.0 {
            drawn.extend(shape.web.beyond(edge, inner).map(|line| Stroke {
                layer: match bent.flange.direction {
                    Direction::Up => Layer::Hidden,
                    Direction::Down => Layer::Cut,
                },
                shape: line.stroke(),
            }));
        }
    }
    let mut dimensions: Vec<Option<Dimension>> = Vec::new();
    for pair in &shape.facing {
        let shown: &[Level] = match stage {
            Stage::Formed if flanged(shape, pair) => &[Level::Root, Level::Free],
            Stage::Trimmed if finished(shape, pair) => &[Level::Free],
            _ => &[],
        };
        for level in shown {
            let id = format!("{stage}.across.{}.{}", pair_id(shape, pair), level.id());
            let outs = pair.pair.map(|edge| reach(shape, edge, *level, stage).pm());
            dimensions.push(facing(pair, &id, outs));
        }
    }
    if stage == Stage::Formed {
        for corner in corners(shape) {
            let id = format!("formed.corner.{}", shape.outline().corner_id(corner.number));
            dimensions.push(angle(shape, &id, &corner));
        }
    }
    dimensions.extend(diagonals::dimensions(shape, stage));
    View {
        stage,
        title: "seen from outside".to_owned(),
        strokes: drawn,
        dimensions: dimensions.into_iter().flatten().collect(),
    }
}

/// Square across two facing edges, so far beyond each.
fn facing(pair: &Facing, id: &str, outs: [f64; 2]) -> Option<Dimension> {
    let at = |out: f64| [0, 1].map(|axis| pair.from[axis] + out * pair.outward[axis]);
    linear(id, at(outs[0]), at(-pair.across - outs[1]), 0.0)
}

/// The arc of a corner of the flat web, or where its edges would meet if it were not rounded.
fn angle(shape: &Shape<'_>, id: &str, corner: &Corner) -> Option<Dimension> {
    angle_at(shape, &shape.web, id, corner)
}

/// The same of any contour that has the outline's pieces.
pub(super) fn angle_at(
    shape: &Shape<'_>,
    contour: &Contour,
    id: &str,
    corner: &Corner,
) -> Option<Dimension> {
    let outline = shape.outline();
    outline.angle(corner)?;
    let [before, after] = corner.edges.map(|edge| contour.piece(edge));
    let at = crossing(before, after)?;
    let far = apart(at, after.at(0.0)).max(apart(at, before.at(1.0)));
    let shortest = far + before.length().min(after.length());
    let reach = (0.4 * shortest).min(far + 2.0 * step(shape));
    let along = |[x, y]: [f64; 2], far: f64| point(at[0] + far * x, at[1] + far * y);
    let (back, on) = (along(before.way(1.0), -reach), along(after.way(0.0), reach));
    // Counter-clockwise round the metal, or round the gap of a re-entrant corner.
    let metal = shape.web.is_counter_clockwise() != outline.is_reentrant(corner);
    let (from, to) = if metal { (on, back) } else { (back, on) };
    let vertex = point(at[0], at[1]);
    pen::dimension(id, DimensionShape::Angle { vertex, from, to })
}
