//! The form block drawn: its face, and a section through each edge.

use shared_types::{Dimension, DimensionShape, Layer, Stage, Stroke, StrokeShape, View};

use super::Side;
use crate::panel::shape::Shape;
use crate::panel::{AXES, Edge, words};
use crate::pen::{self, degrees, length, line, linear, point};

/// Dimension lines stand this part of the block's larger side away from it.
const STEP: f64 = 0.09;

pub(super) fn views(shape: &Shape<'_>, sides: &[Side]) -> Vec<View> {
    let mut views = vec![face(shape, sides)];
    for flange in &shape.panel.flanges {
        let alike: Vec<&Side> = sides
            .iter()
            .filter(|side| flange.edges.contains(&side.edge))
            .collect();
        views.extend(section(&alike, flange.formed.pm() as f64));
    }
    views
}

fn face(shape: &Shape<'_>, sides: &[Side]) -> View {
    let overhang = |edge: Edge| {
        let side = sides.iter().find(|side| side.edge == edge);
        side.map_or(0.0, |side| side.overhang().pm())
    };
    let flat = AXES.map(|axis| shape.flat(axis).pm());
    // The crossing of the left and bottom tangent lines is the origin.
    let [left, bottom] = [Edge::Left, Edge::Bottom].map(|edge| -overhang(edge));
    let right = flat[0] + overhang(Edge::Right);
    let top = flat[1] + overhang(Edge::Top);
    let rim = [[left, bottom], [right, bottom], [right, top], [left, top]];
    let mut strokes: Vec<Stroke> = (0..4)
        .map(|at| Stroke {
            layer: Layer::Cut,
            shape: line(rim[at], rim[(at + 1) % 4]),
        })
        .collect();
    // Where the rounding begins: the web's bend tangent lines.
    strokes.extend(sides.iter().map(|side| {
        let shape = match side.edge {
            Edge::Left => line([0.0, bottom], [0.0, top]),
            Edge::Right => line([flat[0], bottom], [flat[0], top]),
            Edge::Bottom => line([left, 0.0], [right, 0.0]),
            Edge::Top => line([left, flat[1]], [right, flat[1]]),
        };
        Stroke {
            layer: Layer::Bend,
            shape,
        }
    }));
    let step = STEP * (right - left).max(top - bottom);
    let worked = |edges: [Edge; 2]| sides.iter().any(|side| edges.contains(&side.edge));
    let width =
        worked([Edge::Left, Edge::Right]).then(|| linear("blocks.width", rim[0], rim[1], -step));
    let height =
        worked([Edge::Bottom, Edge::Top]).then(|| linear("blocks.height", rim[1], rim[2], -step));
    View {
        stage: Stage::Blocks,
        title: "face of the form block".to_owned(),
        strokes,
        dimensions: [width, height].into_iter().flatten().flatten().collect(),
    }
}

/// A section through the edges of one flange: face down, as the web lies under it.
fn section(sides: &[&Side], formed: f64) -> Option<View> {
    let side = sides.first()?;
    let (radius, tangent) = (side.tool.radius.pm() as f64, -side.overhang().pm());
    let way = [side.tool.cos(), side.tool.sin()];
    // The side goes at least as far down as the flange worked over it; the other end is broken off.
    let far = 1.2 * formed.max(3.0 * radius).max(-tangent);
    let corner = [far * way[0], far * way[1]];
    let stub = (tangent - far).min(corner[0] - 0.5 * far);
    let on_side = [-tangent * way[0], -tangent * way[1]];
    let mut shapes = vec![
        line([stub, 0.0], [tangent, 0.0]),
        line(on_side, corner),
        line(corner, [stub, corner[1]]),
        line([stub, corner[1]], [stub, 0.0]),
    ];
    if radius > 0.0 {
        shapes.push(StrokeShape::Arc {
            centre: point(tangent, radius),
            radius: length(radius),
            start: degrees(270),
            sweep: side.tool.angle,
        });
    }
    let reach = 0.7 * far;
    let angle = DimensionShape::Angle {
        vertex: point(0.0, 0.0),
        from: point(reach * way[0], reach * way[1]),
        to: point(-reach, 0.0),
    };
    // From the centre to the middle of the rounding.
    let half = side.tool.radians() / 2.0;
    let middle = [tangent + radius * half.sin(), radius - radius * half.cos()];
    let mut dimensions: Vec<Option<Dimension>> = Vec::new();
    for side in sides {
        let edge = side.edge;
        dimensions.push(pen::dimension(&format!("blocks.angle.{edge}"), angle));
        if radius > 0.0 {
            let id = format!("blocks.radius.{edge}");
            dimensions.push(linear(&id, [tangent, radius], middle, 0.0));
        }
    }
    let edges: Vec<Edge> = sides.iter().map(|side| side.edge).collect();
    Some(View {
        stage: Stage::Blocks,
        title: format!("section through the block at the {}", words(&edges)),
        strokes: shapes
            .into_iter()
            .map(|shape| Stroke {
                layer: Layer::Section,
                shape,
            })
            .collect(),
        dimensions: dimensions.into_iter().flatten().collect(),
    })
}
