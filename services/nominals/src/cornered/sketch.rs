//! The outline of a panel of corners, flat or formed, with relief holes opened at its corners.

use shared_types::{Layer, Stage, Stroke, StrokeShape};

use super::shape::Shape;
use crate::measure;
use crate::pen::{circle, length, line, point};

/// Everything that is cut: the outline reaching `beyond` each edge of the flat web, and the holes.
pub(super) fn strokes(shape: &Shape<'_>, beyond: &[f64], stage: Stage) -> Vec<Stroke> {
    let web = &shape.web;
    let mut shapes: Vec<StrokeShape> = (0..shape.count())
        .filter_map(|piece| Some(web.beyond(piece, beyond[piece])?.stroke()))
        .collect();
    let relief = shape.panel.relief.as_ref();
    let radius = relief.map_or(0.0, |relief| relief.diameter.pm() as f64 / 2.0);
    let relieved: Vec<usize> = shape.relieved().collect();
    for corner in 0..shape.count() {
        let [before, after] = shape.edges_at(corner);
        if shape.runs_on(corner) {
            // A flange goes on, at most by a step in its height.
            let ends = [(before, 1.0), (after, 0.0)];
            let [low, high] = ends.map(|(piece, part)| web.place(piece, part, beyond[piece]));
            if (beyond[before] - beyond[after]).abs() > 0.5 {
                shapes.push(line(low, high));
            }
            continue;
        }
        // The ends of both flanges, down to the relief hole where there is one.
        let inner = if relieved.contains(&corner) {
            radius
        } else {
            0.0
        };
        let ends = [(before, 1.0), (after, 0.0)];
        if ends.iter().any(|(piece, _)| beyond[*piece] <= inner) && inner > 0.0 {
            // A hole larger than what stands beyond the flat opens the corner by itself.
            shapes.push(circle(web.corner(corner), inner));
            continue;
        }
        for (piece, part) in ends.into_iter().filter(|(piece, _)| beyond[*piece] > inner) {
            let [low, high] = [inner, beyond[piece]].map(|out| web.place(piece, part, out));
            shapes.push(line(low, high));
        }
        if inner > 0.0 {
            shapes.extend(relief_arc(shape, corner, inner));
        }
    }
    let holes = shape.panel.holes.iter();
    let holes = holes.flat_map(|hole| hole.strokes(stage, hole.centre()));
    let outline = shapes.into_iter().map(|shape| Stroke {
        layer: Layer::Cut,
        shape,
    });
    outline.chain(holes).collect()
}

/// Round the metal of a corner, the sector between the two flanges being cut away.
fn relief_arc(shape: &Shape<'_>, corner: usize, radius: f64) -> Option<StrokeShape> {
    let [before, after] = shape.edges_at(corner);
    let ([ax, ay], [bx, by]) = (
        shape.web.outward(before, 1.0),
        shape.web.outward(after, 0.0),
    );
    let start = ay.atan2(ax).to_degrees();
    let turned = (ax * by - ay * bx).atan2(ax * bx + ay * by).to_degrees();
    // The long way round, against the turn of the corner.
    let sweep = if turned > 0.0 {
        turned - 360.0
    } else {
        turned + 360.0
    };
    let [x, y] = shape.web.corner(corner);
    Some(StrokeShape::Arc {
        centre: point(x, y),
        radius: length(radius),
        start: measure::angle(start)?,
        sweep: measure::angle(sweep)?,
    })
}
