//! A loupe: what is marked, enlarged, where it would be too small to see.

use maud::{Markup, html};
use shared_types::{DimensionShape, View};

use crate::dimension::{self, Drawn};
use crate::frame::{Frame, dimension_line, flat, mm, number};
use crate::label::Area;
use crate::{face, stroke};

/// Side of the loupe: a third of the drawing's width.
const SIDE: f64 = 124.0;
/// How large the marked length is shown in it.
const SHOWN: f64 = 46.0;
/// Marked lengths shorter than this are shown in the loupe.
const SMALL: f64 = 22.0;
/// Most it enlarges: beyond it a person no longer sees which corner it is.
const ENLARGED_MAX: f64 = 9.0;
/// Room for the value below what is enlarged.
const VALUE_ROOM: f64 = 26.0;

/// The loupe of the marked dimension.
pub(crate) struct Loupe {
    frame: Frame,
    /// Its middle on the drawing.
    at: [f64; 2],
    lines: String,
    heads: String,
    value: String,
}

impl Loupe {
    /// A loupe, where the marked dimension is a short length.
    pub(crate) fn over(view: &View, drawn: &[Drawn<'_>], frame: &Frame) -> Option<Self> {
        let ring = drawn
            .iter()
            .flat_map(|one| &one.rings)
            .find(|ring| ring.due)?;
        let id = &ring.characteristic.id;
        let marked = view
            .dimensions
            .iter()
            .find(|dimension| &dimension.characteristic == id)?;
        let ends = match marked.shape {
            DimensionShape::Linear { from, to, offset } => dimension_line(from, to, offset),
            DimensionShape::Diameter { centre, radius } => {
                let ([x, y], r) = (flat(centre), mm(radius));
                [[x - r, y], [x + r, y]]
            }
            DimensionShape::Angle { .. } => return None,
        };
        let [a, b] = ends.map(|end| frame.place(end));
        let long = (a[0] - b[0]).hypot(a[1] - b[1]);
        if !(1e-6..SMALL).contains(&long) {
            return None;
        }
        let middle = [
            (ends[0][0] + ends[1][0]) / 2.0,
            (ends[0][1] + ends[1][1]) / 2.0,
        ];
        let enlarged = (SHOWN / long).min(ENLARGED_MAX);
        let inner = frame.window(middle, enlarged, SIDE, SIDE - VALUE_ROOM);
        let (lines, heads) = dimension::marked(&marked.shape, &inner);
        Some(Self {
            frame: inner,
            // The middle of a part is where least is to be seen: reliefs, lines and flanges lie at the edges.
            at: [frame.width / 2.0, frame.middle_of_strokes(view)],
            lines,
            heads,
            value: ring.value.clone().unwrap_or_default(),
        })
    }

    /// What it covers of the drawing.
    pub(crate) fn area(&self) -> Area {
        Area {
            at: self.at,
            half: [SIDE / 2.0, SIDE / 2.0],
        }
    }

    pub(crate) fn markup(&self, view: &View) -> Markup {
        let (left, top) = (self.at[0] - SIDE / 2.0, self.at[1] - SIDE / 2.0);
        let size = format!("0 0 {0} {0}", number(SIDE));
        html! {
            svg class="loupe" x=(number(left)) y=(number(top)) width=(number(SIDE)) height=(number(SIDE)) viewBox=(size) {
                rect class="glass" x="0" y="0" width=(number(SIDE)) height=(number(SIDE)) {}
                @if let Some(face) = face::path(view, &self.frame) { path class="face" d=(face) {} }
                @for group in stroke::groups(view, &self.frame) { path class=(group.class) d=(group.path) {} }
                g class="dim due" {
                    path class="line" d=(self.lines) {}
                    path class="head" d=(self.heads) {}
                }
                text class="value" x=(number(SIDE / 2.0)) y=(number(SIDE - VALUE_ROOM / 2.0)) { (self.value) }
                rect class="rim" x="1" y="1" width=(number(SIDE - 2.0)) height=(number(SIDE - 2.0)) {}
            }
        }
    }
}
