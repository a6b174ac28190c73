//! One printed page in millimetres from its lower left corner: the only file that knows points and how a PDF
//! is drawn.

use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point as Place, Transform};
use krilla::num::NormalizedF32;
use krilla::paint::{Fill, FillRule, LineCap, Stroke, StrokeDash};
use krilla::surface::Surface;
use shared_types::StrokeShape;

use super::canvas::{Anchor, Words};
use super::font::Face;
use super::ink::Ink;
use crate::frame::{flat, mm};

/// Points in a millimetre: 72 in an inch.
const POINTS: f64 = 72.0 / 25.4;
/// White round letters, so that a dimension line under them does not strike them out.
const HALO_MM: f64 = 0.8;
/// An arc is drawn in pieces of at most this: a cubic curve then lies within a millionth of its radius.
const PIECE_DEG: f64 = 30.0;

/// How a line looks.
#[derive(Clone, Copy)]
pub(super) struct Look {
    pub(super) colour: [u8; 3],
    pub(super) wide: f64,
    pub(super) dashes: &'static [f64],
}

impl From<Ink> for Look {
    fn from(ink: Ink) -> Self {
        Self {
            colour: ink.colour(),
            wide: ink.wide_mm(),
            dashes: ink.dashes_mm(),
        }
    }
}

/// A page being drawn.
pub(super) struct Page<'s, 'f> {
    pub(super) surface: Surface<'s>,
    pub(super) face: &'f Face,
    pub(super) tall: f64,
}

impl Page<'_, '_> {
    pub(super) fn stroke(&mut self, look: Look, shape: &StrokeShape, by: [f64; 2]) {
        let mut path = PathBuilder::new();
        match *shape {
            StrokeShape::Line { from, to } => {
                self.go(&mut path, flat(from), by, true);
                self.go(&mut path, flat(to), by, false);
            }
            StrokeShape::Circle { centre, radius } => {
                self.arc(&mut path, flat(centre), mm(radius), [0.0, 360.0], by);
                path.close();
            }
            StrokeShape::Arc {
                centre,
                radius,
                start,
                sweep,
            } => {
                let angles = [start, sweep].map(|angle| angle.mas() as f64 / 3_600_000.0);
                self.arc(&mut path, flat(centre), mm(radius), angles, by);
            }
        }
        self.draw(look, path.finish());
    }

    pub(super) fn line(&mut self, look: Look, from: [f64; 2], to: [f64; 2]) {
        let mut path = PathBuilder::new();
        self.go(&mut path, from, [0.0, 0.0], true);
        self.go(&mut path, to, [0.0, 0.0], false);
        self.draw(look, path.finish());
    }

    pub(super) fn circle(&mut self, look: Look, centre: [f64; 2], radius: f64) {
        let mut path = PathBuilder::new();
        self.arc(&mut path, centre, radius, [0.0, 360.0], [0.0, 0.0]);
        path.close();
        self.draw(look, path.finish());
    }

    pub(super) fn rectangle(&mut self, look: Look, corner: [f64; 2], size: [f64; 2]) {
        let path = self.around(corner, size);
        self.draw(look, path);
    }

    pub(super) fn filled(&mut self, colour: [u8; 3], corner: [f64; 2], size: [f64; 2]) {
        if let Some(path) = self.around(corner, size) {
            self.surface.set_stroke(None);
            self.surface.set_fill(Some(fill(colour)));
            self.surface.draw_path(&path);
        }
    }

    /// Draws only inside of a rectangle, until [`Self::whole`].
    pub(super) fn only(&mut self, corner: [f64; 2], size: [f64; 2]) {
        if let Some(path) = self.around(corner, size) {
            self.surface.push_clip_path(&path, &FillRule::NonZero);
        }
    }

    pub(super) fn whole(&mut self) {
        self.surface.pop();
    }

    /// Writes; `size` in millimetres.
    pub(super) fn say(&mut self, at: [f64; 2], size: f64, colour: [u8; 3], text: &str) {
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(fill(colour)));
        let start = self.place(at, [0.0, 0.0]);
        self.glyphs(start, size, text, false);
    }

    /// Words of a sheet with white round them.
    pub(super) fn words(&mut self, words: &Words, by: [f64; 2]) {
        let back = match words.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => 0.5,
            Anchor::End => 1.0,
        } * self.face.width(&words.text)
            * words.size;
        let start = self.place(words.at, by);
        let (sin, cos) = words.degrees.to_radians().sin_cos();
        // The page's y goes down: a turn against the clock has its sines the other way round.
        let turned = Transform::from_row(
            narrow(cos),
            narrow(-sin),
            narrow(sin),
            narrow(cos),
            start.x,
            start.y,
        );
        self.surface.push_transform(&turned);
        let start = Place::from_xy(points(-back), 0.0);
        let white = [255, 255, 255];
        self.surface.set_fill(Some(fill(white)));
        let look = Look {
            colour: white,
            wide: HALO_MM,
            dashes: &[],
        };
        self.surface.set_stroke(Some(stroke(look)));
        // As outlines, or the page's text would hold everything twice.
        self.glyphs(start, words.size, &words.text, true);
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(fill(words.ink.colour())));
        self.glyphs(start, words.size, &words.text, false);
        self.surface.pop();
    }

    fn glyphs(&mut self, start: Place, size: f64, text: &str, outlined: bool) {
        let glyphs = self.face.glyphs(text);
        let font = self.face.font.clone();
        self.surface
            .draw_glyphs(start, &glyphs, font, text, points(size), outlined);
    }

    fn draw(&mut self, look: Look, path: Option<Path>) {
        if let Some(path) = path {
            self.surface.set_fill(None);
            self.surface.set_stroke(Some(stroke(look)));
            self.surface.draw_path(&path);
        }
    }

    fn around(&self, [x, y]: [f64; 2], [wide, tall]: [f64; 2]) -> Option<Path> {
        let mut path = PathBuilder::new();
        let corners = [[x, y], [x + wide, y], [x + wide, y + tall], [x, y + tall]];
        for (index, corner) in corners.into_iter().enumerate() {
            self.go(&mut path, corner, [0.0, 0.0], index == 0);
        }
        path.close();
        path.finish()
    }

    fn go(&self, path: &mut PathBuilder, to: [f64; 2], by: [f64; 2], first: bool) {
        let place = self.place(to, by);
        if first {
            path.move_to(place.x, place.y);
        } else {
            path.line_to(place.x, place.y);
        }
    }

    fn arc(
        &self,
        path: &mut PathBuilder,
        [x, y]: [f64; 2],
        r: f64,
        [start, sweep]: [f64; 2],
        by: [f64; 2],
    ) {
        let pieces = (1_u32..=12)
            .find(|n| sweep.abs() / f64::from(*n) <= PIECE_DEG)
            .unwrap_or(12);
        let step = (sweep / f64::from(pieces)).to_radians();
        let reach = 4.0 / 3.0 * (step / 4.0).tan() * r;
        let on = |angle: f64| [x + r * angle.cos(), y + r * angle.sin()];
        let mut at = start.to_radians();
        self.go(path, on(at), by, true);
        for _ in 0..pieces {
            let next = at + step;
            let ([ax, ay], [bx, by_]) = (on(at), on(next));
            let first = self.place([ax - reach * at.sin(), ay + reach * at.cos()], by);
            let second = self.place([bx + reach * next.sin(), by_ - reach * next.cos()], by);
            let end = self.place([bx, by_], by);
            path.cubic_to(first.x, first.y, second.x, second.y, end.x, end.y);
            at = next;
        }
    }

    fn place(&self, [x, y]: [f64; 2], by: [f64; 2]) -> Place {
        Place::from_xy(points(x + by[0]), points(self.tall - y - by[1]))
    }
}

fn fill(colour: [u8; 3]) -> Fill {
    Fill {
        paint: rgb(colour).into(),
        opacity: NormalizedF32::ONE,
        rule: FillRule::NonZero,
    }
}

fn stroke(look: Look) -> Stroke {
    Stroke {
        paint: rgb(look.colour).into(),
        width: points(look.wide),
        line_cap: LineCap::Butt,
        dash: (!look.dashes.is_empty()).then(|| StrokeDash {
            array: look.dashes.iter().map(|mm| points(*mm)).collect(),
            offset: 0.0,
        }),
        ..Stroke::default()
    }
}

fn rgb([r, g, b]: [u8; 3]) -> rgb::Color {
    rgb::Color::new(r, g, b)
}

/// Millimetres as points.
pub(super) fn points(mm: f64) -> f32 {
    narrow(mm * POINTS)
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "a page is below 500 mm: single precision places it to 0.03 µm"
)]
fn narrow(value: f64) -> f32 {
    value as f32
}
