//! From the part's millimetres to places on the drawing.

use shared_types::{DimensionShape, Length, Point, StrokeShape, View};

/// Width of a drawing in its own units. A phone is 360 pixels wide, so that there one unit is one pixel
/// and every size below is what a person sees; anywhere else it only grows.
const WIDTH: f64 = 360.0;

/// A piece alone is shown small: half the width, so that its one number still reads.
const WIDTH_ALONE: f64 = 190.0;

/// Tallest drawing: a phone's screen holds it together with the number being measured.
const HEIGHT_MAX: f64 = 380.0;

/// Room around everything for a ring and the arrowhead before it.
const MARGIN: f64 = 34.0;

/// Where a part lies on its drawing.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Frame {
    pub(crate) width: f64,
    pub(crate) height: f64,
    scale: f64,
    left_mm: f64,
    top_mm: f64,
    margin_x: f64,
    margin_y: f64,
}

impl Frame {
    /// The largest that shows the whole view.
    pub(crate) fn fit(view: &View) -> Self {
        let mut bounds = Bounds::default();
        for stroke in &view.strokes {
            bounds.stroke(&stroke.shape);
        }
        for dimension in &view.dimensions {
            bounds.dimension(&dimension.shape);
        }
        Self::around(&bounds, WIDTH)
    }

    /// The largest that shows the piece alone, without its dimensions.
    pub(crate) fn of_piece(view: &View) -> Self {
        let mut bounds = Bounds::default();
        for stroke in &view.strokes {
            bounds.stroke(&stroke.shape);
        }
        Self::around(&bounds, WIDTH_ALONE)
    }

    fn around(bounds: &Bounds, width: f64) -> Self {
        let [left, right] = bounds.x.unwrap_or([0.0, 1.0]);
        let [bottom, top] = bounds.y.unwrap_or([0.0, 1.0]);
        let (wide, tall) = ((right - left).max(1e-6), (top - bottom).max(1e-6));
        let scale = ((width - 2.0 * MARGIN) / wide).min((HEIGHT_MAX - 2.0 * MARGIN) / tall);
        Self {
            width,
            height: tall * scale + 2.0 * MARGIN,
            scale,
            left_mm: left,
            top_mm: top,
            margin_x: (width - wide * scale) / 2.0,
            margin_y: MARGIN,
        }
    }

    /// A part of the same view, `enlarged`, with a place of the part (in millimetres) in its middle.
    pub(crate) fn window(&self, middle: [f64; 2], enlarged: f64, width: f64, height: f64) -> Self {
        Self {
            width,
            height,
            scale: self.scale * enlarged,
            left_mm: middle[0],
            top_mm: middle[1],
            margin_x: width / 2.0,
            margin_y: height / 2.0,
        }
    }

    /// Halfway between the lowest and the highest stroke.
    pub(crate) fn middle_of_strokes(&self, view: &View) -> f64 {
        let mut bounds = Bounds::default();
        for stroke in &view.strokes {
            bounds.stroke(&stroke.shape);
        }
        let [low, high] = bounds.y.unwrap_or([0.0, 0.0]);
        self.place([0.0, (low + high) / 2.0])[1]
    }

    /// The drawing's middle and half of what is drawn, without the margins.
    pub(crate) fn inner(&self) -> ([f64; 2], [f64; 2]) {
        (
            [self.width / 2.0, self.height / 2.0],
            [
                self.width / 2.0 - self.margin_x,
                self.height / 2.0 - self.margin_y,
            ],
        )
    }

    pub(crate) fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [
            self.margin_x + (x - self.left_mm) * self.scale,
            self.margin_y + (self.top_mm - y) * self.scale,
        ]
    }

    pub(crate) fn point(&self, point: Point) -> [f64; 2] {
        self.place(flat(point))
    }

    pub(crate) fn length(&self, length: Length) -> f64 {
        mm(length) * self.scale
    }
}

/// Millimetres, for drawing only.
pub(crate) fn mm(length: Length) -> f64 {
    length.pm() as f64 / 1e9
}

/// A point's millimetres.
pub(crate) fn flat(point: Point) -> [f64; 2] {
    [mm(point.x), mm(point.y)]
}

/// The two ends of a linear dimension's line, in millimetres.
pub(crate) fn dimension_line(from: Point, to: Point, offset: Length) -> [[f64; 2]; 2] {
    let (a, b) = (flat(from), flat(to));
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let long = dx.hypot(dy).max(1e-9);
    let aside = [-dy / long * mm(offset), dx / long * mm(offset)];
    [a, b].map(|[x, y]| [x + aside[0], y + aside[1]])
}

/// A coordinate as it is written: hundredths of a unit are finer than any screen or printer shows.
pub(crate) fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

/// How far things reach, in millimetres.
#[derive(Default)]
pub(crate) struct Bounds {
    x: Option<[f64; 2]>,
    y: Option<[f64; 2]>,
}

impl Bounds {
    pub(crate) fn stroke(&mut self, shape: &StrokeShape) {
        match *shape {
            StrokeShape::Line { from, to } => {
                self.include(flat(from));
                self.include(flat(to));
            }
            StrokeShape::Circle { centre, radius } => self.round(centre, radius),
            StrokeShape::Arc { .. } => {
                for place in crate::stroke::arc_points(shape) {
                    self.include(place);
                }
            }
        }
    }

    /// Left, right, bottom, top.
    pub(crate) fn sides(&self) -> [f64; 4] {
        let ([left, right], [bottom, top]) =
            (self.x.unwrap_or_default(), self.y.unwrap_or_default());
        [left, right, bottom, top]
    }

    fn dimension(&mut self, shape: &DimensionShape) {
        match *shape {
            DimensionShape::Linear { from, to, offset } => {
                for place in dimension_line(from, to, offset) {
                    self.include(place);
                }
            }
            DimensionShape::Diameter { centre, radius } => self.round(centre, radius),
            DimensionShape::Angle { vertex, from, to } => {
                for place in [vertex, from, to] {
                    self.include(flat(place));
                }
            }
        }
    }

    fn round(&mut self, centre: Point, radius: Length) {
        let ([x, y], r) = (flat(centre), mm(radius));
        self.include([x - r, y - r]);
        self.include([x + r, y + r]);
    }

    pub(crate) fn include(&mut self, [x, y]: [f64; 2]) {
        for (range, value) in [(&mut self.x, x), (&mut self.y, y)] {
            let [low, high] = range.unwrap_or([value, value]);
            *range = Some([low.min(value), high.max(value)]);
        }
    }
}
