//! The outline of a panel of corners, flat or formed, with relief holes opened at its corners.

use shared_types::{Layer, Stage, Stroke, StrokeShape};

use super::shape::Shape;
use crate::measure;
use crate::pen::{circle, length, line, point};

/// Everything that is cut: the outline reaching `beyond` each edge of the flat web, and the holes.
pub(super) fn strokes(shape: &Shape<'_>, beyond: &[f64], stage: Stage) -> Vec<Stroke> {
    let mut shapes: Vec<StrokeShape> = Vec::new();
    for (edge, out) in beyond.iter().enumerate() {
        shapes.push(line(
            shape.place(edge, 0.0, *out),
            shape.place(edge, 1.0, *out),
        ));
    }
    let relief = shape.panel.relief.as_ref();
    let radius = relief.map_or(0.0, |relief| relief.diameter.pm() as f64 / 2.0);
    let relieved: Vec<usize> = shape.relieved().collect();
    for corner in 0..shape.count() {
        let [before, after] = shape.edges_at(corner);
        // The ends of both flanges, down to the relief hole where there is one.
        let inner = if relieved.contains(&corner) {
            radius
        } else {
            0.0
        };
        let ends = [(before, 1.0), (after, 0.0)];
        if ends.iter().any(|(edge, _)| beyond[*edge] <= inner) && inner > 0.0 {
            // A hole larger than what stands beyond the flat opens the corner by itself.
            shapes.push(circle(shape.corners[corner], inner));
            continue;
        }
        for (edge, part) in ends.into_iter().filter(|(edge, _)| beyond[*edge] > inner) {
            let (low, high) = (
                shape.place(edge, part, inner),
                shape.place(edge, part, beyond[edge]),
            );
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
    let ([ax, ay], [bx, by]) = (shape.outward[before], shape.outward[after]);
    let start = ay.atan2(ax).to_degrees();
    let turned = (ax * by - ay * bx).atan2(ax * bx + ay * by).to_degrees();
    // The long way round, against the turn of the corner.
    let sweep = if turned > 0.0 {
        turned - 360.0
    } else {
        turned + 360.0
    };
    let [x, y] = shape.corners[corner];
    Some(StrokeShape::Arc {
        centre: point(x, y),
        radius: length(radius),
        start: measure::angle(start)?,
        sweep: measure::angle(sweep)?,
    })
}
