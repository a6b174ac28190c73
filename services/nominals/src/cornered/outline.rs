//! The outline of a panel as the plan gives it: corners, rounded or not, and straight or arc edges between them.

use shared_types::Angle;

use crate::contour::{Contour, Piece};
use crate::form::At;
use crate::hand::{LEFT, RIGHT};
use crate::polygon;

/// What a piece of the outline is in the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Source {
    /// The edge that begins at the corner of that number, from 0.
    Edge(usize),
    /// The rounding of that corner.
    Rounding(usize),
}

/// How edges and corners are called.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Names {
    /// By the corners' numbers, from 1.
    Numbers,
    /// As those of a trapezoid that stands on its bottom edge.
    Trapezoid,
}

/// Edges and corners of a trapezoid in the order of its outline.
pub(super) const TRAPEZOID_EDGES: [&str; 4] = ["bottom", "right", "top", "left"];
const TRAPEZOID_CORNERS: [&str; 4] = ["bottom-left", "bottom-right", "top-right", "top-left"];

/// A corner of the plan.
#[derive(Clone, Copy, Debug)]
pub(super) struct Corner {
    pub(super) number: usize,
    /// The pieces of the edges before and after it.
    pub(super) edges: [usize; 2],
    /// Whether an arc stands in its place.
    pub(super) rounded: bool,
}

/// The outline. Pieces are numbered from 0 in the order of the plan.
#[derive(Debug)]
pub(super) struct Outline {
    pub(super) contour: Contour,
    sources: Vec<Source>,
    corners: Vec<[i64; 2]>,
    at: Vec<At>,
    names: Names,
}

impl Outline {
    /// `pieces` with what each is, `corners` with where each stands in the file.
    pub(super) fn new(
        pieces: Vec<(Piece, Source)>,
        corners: Vec<([i64; 2], At)>,
        names: Names,
    ) -> Self {
        let (pieces, sources) = pieces.into_iter().unzip();
        let (corners, at) = corners.into_iter().unzip();
        Self {
            contour: Contour::new(pieces),
            sources,
            corners,
            at,
            names,
        }
    }

    pub(super) fn count(&self) -> usize {
        self.sources.len()
    }

    /// How many edges the plan has.
    pub(super) fn edges(&self) -> usize {
        self.corners.len()
    }

    pub(super) fn is_rounding(&self, piece: usize) -> bool {
        matches!(self.sources[piece], Source::Rounding(_))
    }

    /// The piece of an edge of the plan.
    pub(super) fn edge(&self, number: usize) -> usize {
        let at = |source: &Source| *source == Source::Edge(number);
        // No rounding may use up an edge.
        self.sources.iter().position(at).unwrap_or(0)
    }

    /// Where a piece stands in the file.
    pub(super) fn at(&self, piece: usize) -> At {
        match self.sources[piece] {
            Source::Edge(number) | Source::Rounding(number) => self.at[number],
        }
    }

    /// As ids name a piece: `1`, `bottom`, `r2`.
    pub(super) fn id(&self, piece: usize) -> String {
        match (self.sources[piece], self.names) {
            (Source::Rounding(number), _) => format!("r{}", number + 1),
            (Source::Edge(number), Names::Numbers) => (number + 1).to_string(),
            (Source::Edge(number), Names::Trapezoid) => TRAPEZOID_EDGES[number % 4].to_owned(),
        }
    }

    /// `edge 1–2`, `bottom edge`, `rounded corner 2`.
    pub(super) fn bare(&self, piece: usize) -> String {
        match (self.sources[piece], self.names) {
            (Source::Rounding(number), _) => format!("rounded corner {}", number + 1),
            (Source::Edge(number), Names::Numbers) => {
                let next = (number + 1) % self.corners.len();
                format!("edge {}–{}", number + 1, next + 1)
            }
            (Source::Edge(number), Names::Trapezoid) => {
                format!("{} edge", ["bottom", RIGHT, "top", LEFT][number % 4])
            }
        }
    }

    /// `edge 1–2`, `the bottom edge`, `rounded corner 2`.
    pub(super) fn name(&self, piece: usize) -> String {
        let article = match (self.sources[piece], self.names) {
            (Source::Edge(_), Names::Trapezoid) => "the ",
            _ => "",
        };
        format!("{article}{}", self.bare(piece))
    }

    /// The corner that begins a piece, as ids name it.
    pub(super) fn corner_id(&self, number: usize) -> String {
        match self.names {
            Names::Numbers => (number + 1).to_string(),
            Names::Trapezoid => TRAPEZOID_CORNERS[number % 4].to_owned(),
        }
    }

    /// `corner 2`, `the bottom-right corner`.
    pub(super) fn corner_name(&self, number: usize) -> String {
        match self.names {
            Names::Numbers => format!("corner {}", number + 1),
            Names::Trapezoid => {
                let level = ["bottom", "bottom", "top", "top"][number % 4];
                let upright = [LEFT, RIGHT, RIGHT, LEFT][number % 4];
                format!("the {level}-{upright} corner")
            }
        }
    }

    /// The plan's corner where a piece begins that is not the rounding of one.
    pub(super) fn corner_of(&self, piece: usize) -> usize {
        match self.sources[piece] {
            Source::Edge(number) | Source::Rounding(number) => number,
        }
    }

    /// All corners of the plan.
    pub(super) fn corners(&self) -> impl Iterator<Item = Corner> + '_ {
        (0..self.corners.len()).map(|number| {
            let after = self.edge(number);
            let before = self.contour.before(after);
            let rounded = self.is_rounding(before);
            Corner {
                number,
                edges: [
                    if rounded {
                        self.contour.before(before)
                    } else {
                        before
                    },
                    after,
                ],
                rounded,
            }
        })
    }

    /// The way of a straight edge in exact steps; nothing for an arc.
    pub(super) fn along(&self, piece: usize) -> Option<[i64; 2]> {
        let Source::Edge(number) = self.sources[piece] else {
            return None;
        };
        let ([ax, ay], [bx, by]) = (
            self.corners[number],
            self.corners[(number + 1) % self.corners.len()],
        );
        self.contour
            .piece(piece)
            .is_line()
            .then_some([bx - ax, by - ay])
    }

    /// The angle between the straight edges of a corner: of the metal, or of the gap where the metal goes
    /// round it. Nothing beside an arc, and where the edges run on into each other.
    pub(super) fn angle(&self, corner: &Corner) -> Option<Angle> {
        let [before, after] = corner.edges;
        let smooth = !corner.rounded && self.contour.is_smooth(after);
        let ways = self.along(before).zip(self.along(after));
        let (there, on) = ways.filter(|_| !smooth)?;
        polygon::angle(there, on)
    }

    /// Whether the metal goes round a corner between straight edges.
    pub(super) fn is_reentrant(&self, corner: &Corner) -> bool {
        let [before, after] = corner.edges;
        let ways = self.along(before).zip(self.along(after));
        ways.is_some_and(|([ax, ay], [bx, by])| {
            let cross = i128::from(ax) * i128::from(by) - i128::from(ay) * i128::from(bx);
            (cross > 0) != self.contour.is_counter_clockwise()
        })
    }
}
