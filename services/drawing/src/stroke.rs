//! Strokes as paths, one path for each layer.

use shared_types::{Layer, StrokeShape, View};

use crate::frame::{Frame, flat, mm, number};

/// All strokes of one layer.
pub(crate) struct Group {
    pub(crate) class: &'static str,
    pub(crate) path: String,
}

/// From the faintest to the plainest, so that a cut edge covers what lies behind.
const LAYERS: [(Layer, &str); 4] = [
    (Layer::Hidden, "hidden"),
    (Layer::Bend, "bend"),
    (Layer::Section, "section"),
    (Layer::Cut, "cut"),
];

pub(crate) fn groups(view: &View, frame: &Frame) -> Vec<Group> {
    LAYERS
        .into_iter()
        .filter_map(|(layer, class)| {
            let strokes = view.strokes.iter().filter(|stroke| stroke.layer == layer);
            let path: String = strokes.map(|stroke| path(&stroke.shape, frame)).collect();
            (!path.is_empty()).then_some(Group { class, path })
        })
        .collect()
}

fn path(shape: &StrokeShape, frame: &Frame) -> String {
    match *shape {
        StrokeShape::Line { from, to } => {
            format!("M{}L{}", pair(frame.point(from)), pair(frame.point(to)))
        }
        StrokeShape::Circle { centre, radius } => {
            let ([x, y], r) = (frame.point(centre), frame.length(radius));
            let round = format!("a{0} {0} 0 1 0", number(r));
            let across = number(2.0 * r);
            format!("M{}{round} {across} 0{round} -{across} 0", pair([x - r, y]))
        }
        StrokeShape::Arc { .. } => polyline(&arc_points(shape), frame),
    }
}

/// Places along an arc in millimetres, in the direction it goes; the two ends of a line.
pub(crate) fn arc_points(shape: &StrokeShape) -> Vec<[f64; 2]> {
    match *shape {
        StrokeShape::Line { from, to } => vec![flat(from), flat(to)],
        StrokeShape::Circle { .. } => Vec::new(),
        StrokeShape::Arc {
            centre,
            radius,
            start,
            sweep,
        } => {
            let ([x, y], r) = (flat(centre), mm(radius));
            let radians = |mas: i64| (mas as f64 / 3_600_000.0).to_radians();
            let (start, sweep) = (radians(start.mas()), radians(sweep.mas()));
            // A step of at most 5°: at any size on a screen the chords do not show.
            let steps = (1_u32..=72)
                .find(|n| sweep.abs() / f64::from(*n) <= 0.0873)
                .unwrap_or(72);
            (0..=steps)
                .map(|step| {
                    let at = start + sweep * f64::from(step) / f64::from(steps);
                    [x + r * at.cos(), y + r * at.sin()]
                })
                .collect()
        }
    }
}

pub(crate) fn polyline(places: &[[f64; 2]], frame: &Frame) -> String {
    let mut path = String::new();
    for (index, place) in places.iter().enumerate() {
        path.push(if index == 0 { 'M' } else { 'L' });
        path.push_str(&pair(frame.place(*place)));
    }
    path
}

pub(crate) fn pair([x, y]: [f64; 2]) -> String {
    format!("{} {}", number(x), number(y))
}
