//! A sheet at full size before it is cut into pages: lines by what they mean, and words.

use shared_types::{Length, Point, Stroke, StrokeShape};

use super::ink::Ink;
use crate::frame::{Bounds, flat};

/// Which part of a text stands at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// A line of text.
#[derive(Clone, Debug)]
pub(crate) struct Words {
    /// On the baseline, in millimetres.
    pub(crate) at: [f64; 2],
    /// Counter-clockwise.
    pub(crate) degrees: f64,
    /// Size of the letters in millimetres; a capital is three quarters of it.
    pub(crate) size: f64,
    pub(crate) anchor: Anchor,
    pub(crate) ink: Ink,
    pub(crate) text: String,
}

/// One sheet: everything in the plan's own coordinates.
#[derive(Clone, Debug)]
pub(crate) struct Canvas {
    /// `blank`, `blocks`, and `blocks-2` for a second block.
    pub(crate) name: &'static str,
    /// What a page of it is called.
    pub(crate) title: String,
    pub(crate) strokes: Vec<(Ink, StrokeShape)>,
    pub(crate) words: Vec<Words>,
}

/// How wide a letter is for its size, on average and rather too much: only room is kept by it, and the font
/// that shows an SVG or a DXF is not known.
const LETTER: f64 = 0.55;

impl Canvas {
    pub(crate) fn new(name: &'static str, title: String) -> Self {
        Self {
            name,
            title,
            strokes: Vec::new(),
            words: Vec::new(),
        }
    }

    pub(crate) fn stroke(&mut self, ink: Ink, shape: StrokeShape) {
        self.strokes.push((ink, shape));
    }

    /// A straight line between places in millimetres.
    pub(crate) fn line(&mut self, ink: Ink, from: [f64; 2], to: [f64; 2]) {
        let (from, to) = (point(from), point(to));
        self.stroke(ink, StrokeShape::Line { from, to });
    }

    pub(crate) fn say(&mut self, at: [f64; 2], size: f64, text: impl Into<String>) {
        self.words.push(Words {
            at,
            degrees: 0.0,
            size,
            anchor: Anchor::Start,
            ink: Ink::Text,
            text: text.into(),
        });
    }

    /// The plan's strokes, moved.
    pub(crate) fn take(&mut self, strokes: &[Stroke], by: Point) {
        for stroke in strokes {
            self.stroke(stroke.layer.into(), moved(stroke.shape, by));
        }
    }

    /// Moves everything.
    pub(crate) fn shift(&mut self, by: [f64; 2]) {
        for (_, shape) in &mut self.strokes {
            *shape = moved(*shape, point(by));
        }
        for words in &mut self.words {
            words.at = [words.at[0] + by[0], words.at[1] + by[1]];
        }
    }

    /// Everything drawn and written: left, right, bottom, top.
    pub(crate) fn bounds(&self) -> [f64; 4] {
        let mut bounds = Bounds::default();
        for (_, shape) in &self.strokes {
            bounds.stroke(shape);
        }
        for words in &self.words {
            for corner in words.corners() {
                bounds.include(corner);
            }
        }
        bounds.sides()
    }

    /// Whether a place lies beside what is cut out of the sheet. Rounded corners count as open; it only says
    /// where a value is easier to read.
    pub(crate) fn is_outside(&self, [x, y]: [f64; 2]) -> bool {
        let cut = self.strokes.iter().filter(|(ink, _)| *ink == Ink::Cut);
        let crossed = cut.filter_map(|(_, shape)| ends(shape)).filter(|[a, b]| {
            (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
        });
        crossed.count() % 2 == 0
    }

    /// How much a text would lie on: words already there, and dimension lines.
    pub(crate) fn covered(&self, text: &Words) -> usize {
        let [left, right, bottom, top] = text.area();
        let words = self.words.iter().filter(|other| {
            let [l, r, b, t] = other.area();
            l < right && r > left && b < top && t > bottom
        });
        let lines = self.strokes.iter().filter(|(ink, shape)| {
            let mut bounds = Bounds::default();
            bounds.stroke(shape);
            let [l, r, b, t] = bounds.sides();
            *ink == Ink::Dimension && l < right && r > left && b < top && t > bottom
        });
        2 * words.count() + lines.count()
    }

    /// What is drawn of some inks alone.
    pub(crate) fn bounds_of(&self, inks: &[Ink]) -> [f64; 4] {
        let mut bounds = Bounds::default();
        for (_, shape) in self.strokes.iter().filter(|(ink, _)| inks.contains(ink)) {
            bounds.stroke(shape);
        }
        bounds.sides()
    }
}

impl Words {
    /// How long a text is, roughly.
    pub(crate) fn long(text: &str, size: f64) -> f64 {
        text.chars().count() as f64 * size * LETTER
    }

    /// Left, right, bottom, top.
    fn area(&self) -> [f64; 4] {
        let mut bounds = Bounds::default();
        for corner in self.corners() {
            bounds.include(corner);
        }
        bounds.sides()
    }

    fn corners(&self) -> [[f64; 2]; 4] {
        let long = Self::long(&self.text, self.size);
        let from = match self.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => -long / 2.0,
            Anchor::End => -long,
        };
        let (sin, cos) = self.degrees.to_radians().sin_cos();
        let [low, high] = [-0.25 * self.size, self.size];
        [
            [from, low],
            [from + long, low],
            [from + long, high],
            [from, high],
        ]
        .map(|[x, y]| {
            [
                self.at[0] + x * cos - y * sin,
                self.at[1] + x * sin + y * cos,
            ]
        })
    }
}

/// A stroke somewhere else.
pub(crate) fn moved(shape: StrokeShape, by: Point) -> StrokeShape {
    let to = |point: Point| Point {
        x: sum(point.x, by.x),
        y: sum(point.y, by.y),
    };
    match shape {
        StrokeShape::Line { from, to: end } => StrokeShape::Line {
            from: to(from),
            to: to(end),
        },
        StrokeShape::Circle { centre, radius } => StrokeShape::Circle {
            centre: to(centre),
            radius,
        },
        StrokeShape::Arc {
            centre,
            radius,
            start,
            sweep,
        } => StrokeShape::Arc {
            centre: to(centre),
            radius,
            start,
            sweep,
        },
    }
}

fn sum(a: Length, b: Length) -> Length {
    Length::from_pm(a.pm() + b.pm()).unwrap_or(a)
}

/// A place in millimetres, to the picometre.
pub(crate) fn point([x, y]: [f64; 2]) -> Point {
    Point {
        x: length(x),
        y: length(y),
    }
}

/// Millimetres, to the picometre.
#[expect(
    clippy::cast_possible_truncation,
    reason = "a place on a sheet of at most some metres"
)]
pub(crate) fn length(mm: f64) -> Length {
    Length::from_pm((mm * 1e9).round() as i64).unwrap_or_default()
}

/// From one place toward another: the direction of length 1, and how far it is.
pub(crate) fn way(from: [f64; 2], to: [f64; 2]) -> ([f64; 2], f64) {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let far = dx.hypot(dy);
    if far < 1e-9 {
        return ([1.0, 0.0], 0.0);
    }
    ([dx / far, dy / far], far)
}

/// So far along a direction.
pub(crate) fn along(from: [f64; 2], [x, y]: [f64; 2], far: f64) -> [f64; 2] {
    [from[0] + x * far, from[1] + y * far]
}

/// The two ends of a straight stroke, in millimetres.
pub(crate) fn ends(shape: &StrokeShape) -> Option<[[f64; 2]; 2]> {
    match *shape {
        StrokeShape::Line { from, to } => Some([flat(from), flat(to)]),
        StrokeShape::Circle { .. } | StrokeShape::Arc { .. } => None,
    }
}
