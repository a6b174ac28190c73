//! The cut face of a section, filled: its strokes joined into one closed line.

use shared_types::{Layer, View};

use crate::frame::Frame;
use crate::stroke::{arc_points, polyline};

/// Ends nearer than this are one corner: ten times the grain to which places are rounded.
const JOIN_MM: f64 = 0.001;

/// The face as a path, or nothing where the section's strokes do not close.
pub(crate) fn path(view: &View, frame: &Frame) -> Option<String> {
    let strokes = view
        .strokes
        .iter()
        .filter(|stroke| stroke.layer == Layer::Section);
    let mut open: Vec<Vec<[f64; 2]>> = strokes
        .map(|stroke| arc_points(&stroke.shape))
        .filter(|places| places.len() > 1)
        .collect();
    let mut face = open.pop()?;
    while !open.is_empty() {
        let end = *face.last()?;
        let next = open
            .iter()
            .position(|places| near(places[0], end) || near(places[places.len() - 1], end))?;
        let mut places = open.swap_remove(next);
        if !near(places[0], end) {
            places.reverse();
        }
        face.extend(places.into_iter().skip(1));
    }
    near(face[0], *face.last()?).then(|| polyline(&face, frame) + "Z")
}

fn near(a: [f64; 2], b: [f64; 2]) -> bool {
    (a[0] - b[0]).hypot(a[1] - b[1]) < JOIN_MM
}
