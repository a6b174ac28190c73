//! The whole piece in small, with the side marked that a section goes through: a person must see which
//! of four equal flanges is meant.

use maud::html;
use shared_types::View;

use crate::frame::{Frame, number};
use crate::stroke::{groups, pair};

/// Half the ring: the key is shown small, so its one number is large.
const RADIUS: f64 = 15.0;
/// From the side to the middle of the ring, within the frame's margin.
const ASIDE: f64 = 18.0;

/// A side of a piece as it is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// To the left.
    Left,
    /// To the right.
    Right,
    /// At the top.
    Top,
    /// At the bottom.
    Bottom,
}

impl Side {
    /// Its name.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Top => "top",
            Self::Bottom => "bottom",
        }
    }

    /// Towards it on a screen, where y goes down.
    const fn way(self) -> [f64; 2] {
        match self {
            Self::Left => [-1.0, 0.0],
            Self::Right => [1.0, 0.0],
            Self::Top => [0.0, -1.0],
            Self::Bottom => [0.0, 1.0],
        }
    }
}

/// Draws the piece of a view without its dimensions, one side marked with the number of what is measured
/// there.
#[must_use]
pub fn key(view: &View, marked: Option<(Side, u16)>) -> String {
    let frame = Frame::of_piece(view);
    let size = format!("0 0 {} {}", number(frame.width), number(frame.height));
    let spoken = marked.map_or_else(
        || view.title.clone(),
        |(side, _)| format!("{}; marked: the {} side", view.title, side.word()),
    );
    html! {
        svg xmlns="http://www.w3.org/2000/svg" class="drawn key" viewBox=(size) role="img" aria-label=(spoken) {
            @for group in groups(view, &frame) { path class=(group.class) d=(group.path) {} }
            @if let Some((side, which)) = marked {
                @let ([x, y], edge) = place(side, &frame);
                path class="side" d=(edge) {}
                g class="ring due" {
                    circle cx=(number(x)) cy=(number(y)) r=(number(RADIUS)) {}
                    text x=(number(x)) y=(number(y)) { (which) }
                }
            }
        }
    }
    .into_string()
}

/// Where the ring stands, and the path of the marked side.
fn place(side: Side, frame: &Frame) -> ([f64; 2], String) {
    let ([x, y], [wide, tall]) = frame.inner();
    let way = side.way();
    let edge = [x + way[0] * wide, y + way[1] * tall];
    // Along the side: across the way to it.
    let along = [way[1].abs() * wide, way[0].abs() * tall];
    let from = [edge[0] - along[0], edge[1] - along[1]];
    let to = [edge[0] + along[0], edge[1] + along[1]];
    let ring = [edge[0] + way[0] * ASIDE, edge[1] + way[1] * ASIDE];
    (ring, format!("M{}L{}", pair(from), pair(to)))
}
