//! A section through edges of a form block that are alike: face down, as the web lies under it.

use shared_types::{Dimension, DimensionShape, Layer, Stage, Stroke, StrokeShape, View};

use super::Side;
use crate::pen::{self, degrees, length, line, linear, point};

/// `words` name the edges; `straight` says whether the angle there is measured. Nothing where there is no side.
pub(crate) fn view<E: Copy>(
    sides: &[&Side<E>],
    words: &str,
    straight: impl Fn(E) -> bool,
) -> Option<View> {
    let side = sides.first()?;
    let formed = side.formed.pm() as f64;
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
        let (block, id) = (side.direction.block_id(), &side.named.id);
        if straight(side.edge) {
            dimensions.push(pen::dimension(&format!("{block}.angle.{id}"), angle));
        }
        if radius > 0.0 {
            let id = format!("{block}.radius.{id}");
            dimensions.push(linear(&id, [tangent, radius], middle, 0.0));
        }
    }
    Some(View {
        stage: Stage::Blocks,
        title: format!("section through the {} at {words}", side.direction.block()),
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
