//! A flange with its rows, seen on its outer face with the free edge up.

use shared_types::{DimensionShape, Layer, Stage, Stroke, View};

use super::Run;
use crate::pen::{self, circle, length, line, linear, point};

/// One view of each flange that has rows and its final height at the stage.
pub(crate) fn views<E>(runs: &[Run<'_, '_, E>], stage: Stage) -> impl Iterator<Item = View> {
    let at_stage = runs
        .iter()
        .filter(move |run| run.stage() == stage && !run.bent.flange.rivets.is_empty());
    at_stage.map(view)
}

fn view<E>(run: &Run<'_, '_, E>) -> View {
    let (long, high) = (run.length.pm(), run.flat().pm());
    // Places are told along the flange from its start and down from its free edge.
    let place = |[along, down]: [f64; 2]| {
        let x = if run.starts_left { along } else { long - along };
        [x, high - down]
    };
    let side = |layer: Layer, from: [f64; 2], to: [f64; 2]| Stroke {
        layer,
        shape: line(place(from), place(to)),
    };
    let mut strokes = vec![
        side(Layer::Cut, [0.0, high], [0.0, 0.0]),
        side(Layer::Cut, [0.0, 0.0], [long, 0.0]),
        side(Layer::Cut, [long, 0.0], [long, high]),
        side(Layer::Bend, [0.0, high], [long, high]),
    ];
    let mut dimensions = Vec::new();
    for (row, suffix) in run.rows() {
        let r = row.radius().pm();
        let id = |kind: &str| run.id(kind, &suffix);
        strokes.extend(row.centres().map(|centre| Stroke {
            layer: Layer::Cut,
            shape: circle(place(centre), r),
        }));
        let [first, down] = [row.first, row.edge_distance].map(|length| length.pm() as f64);
        let last = first + row.span().pm();
        let [x, y] = place([last, down]);
        let across = DimensionShape::Diameter {
            centre: point(x, y),
            radius: length(r),
        };
        dimensions.push(pen::dimension(&id("rivet-diameter"), across));
        // The dimension line of the whole row runs below the bend tangent line, clear of the holes.
        let below = if run.starts_left { -1.0 } else { 1.0 } * (1.5 * high - down);
        for (kind, from, to, offset) in [
            ("edge-distance", [last, 0.0], [last, down - r], 0.0),
            ("end-distance", [0.0, down], [first - r, down], 0.0),
            ("pitch", [first + r, down], [last - r, down], below),
        ] {
            dimensions.push(linear(&id(kind), place(from), place(to), offset));
        }
    }
    View {
        stage: run.stage(),
        title: format!("{}, on its outer face, free edge up", run.label.words),
        strokes,
        dimensions: dimensions.into_iter().flatten().collect(),
    }
}
