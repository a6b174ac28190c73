//! A closed way of lines and arcs, under computation: what a panel's outline becomes when its edges are moved
//! in to the bend tangent lines or out to a block's rim.

mod piece;

use crate::measure::Measure;
use crate::polygon::{self, Polygon};

pub(crate) use piece::{Piece, apart, crossing};

/// Two pieces run on into each other where the way turns by less than 1° between them: no bender relieves such
/// a corner, and tangents from rounded coordinates meet no better. The sine of that.
const SMOOTH_SIN: f64 = 0.017_452;

/// The pieces in order, each ending where the next begins.
#[derive(Clone, Debug)]
pub(crate) struct Contour {
    pieces: Vec<Piece>,
    counter_clockwise: bool,
}

impl Contour {
    pub(crate) fn new(pieces: Vec<Piece>) -> Self {
        let mut contour = Self {
            pieces,
            counter_clockwise: true,
        };
        let corners: Vec<[i64; 2]> = contour.chords().into_iter().map(|(at, _)| at).collect();
        contour.counter_clockwise = polygon::is_counter_clockwise(&corners);
        contour
    }

    pub(crate) fn count(&self) -> usize {
        self.pieces.len()
    }

    pub(crate) fn is_counter_clockwise(&self) -> bool {
        self.counter_clockwise
    }

    pub(crate) fn piece(&self, index: usize) -> &Piece {
        &self.pieces[index]
    }

    /// The piece before.
    pub(crate) fn before(&self, index: usize) -> usize {
        (index + self.count() - 1) % self.count()
    }

    /// The piece after.
    pub(crate) fn after(&self, index: usize) -> usize {
        (index + 1) % self.count()
    }

    /// Where a piece begins.
    pub(crate) fn corner(&self, index: usize) -> [f64; 2] {
        self.pieces[index].at(0.0)
    }

    /// Outward of a piece there, of unit length.
    pub(crate) fn outward(&self, index: usize, part: f64) -> [f64; 2] {
        let [x, y] = self.pieces[index].right(part);
        if self.counter_clockwise {
            [x, y]
        } else {
            [-x, -y]
        }
    }

    /// A place beside a piece, `part` of its length along and `out` beyond it.
    pub(crate) fn place(&self, index: usize, part: f64, out: f64) -> [f64; 2] {
        let (at, n) = (self.pieces[index].at(part), self.outward(index, part));
        [at[0] + out * n[0], at[1] + out * n[1]]
    }

    /// A piece moved out; nothing where an arc would shrink past its centre.
    pub(crate) fn beyond(&self, index: usize, out: f64) -> Option<Piece> {
        let right = if self.counter_clockwise { out } else { -out };
        self.pieces[index].moved(right)
    }

    /// How far a place lies inside the line or circle of a piece.
    pub(crate) fn inside(&self, place: [f64; 2], index: usize) -> f64 {
        let left = self.pieces[index].left_of(place);
        if self.counter_clockwise { left } else { -left }
    }

    /// The radius of an arc, above zero where it bows outward and below where it bows inward.
    pub(crate) fn bow(&self, index: usize) -> Option<f64> {
        match self.pieces[index] {
            Piece::Line { .. } => None,
            Piece::Arc { radius, sweep, .. } => Some(if (sweep > 0.0) == self.counter_clockwise {
                radius
            } else {
                -radius
            }),
        }
    }

    /// Whether the way runs on from the piece before without a corner.
    pub(crate) fn is_smooth(&self, index: usize) -> bool {
        let (sin, cos) = self.turn(index);
        cos > 0.0 && sin.abs() < SMOOTH_SIN
    }

    /// Whether the metal goes round the corner where a piece begins.
    pub(crate) fn is_reentrant(&self, index: usize) -> bool {
        (self.turn(index).0 > 0.0) != self.counter_clockwise
    }

    /// Whether the way turns right back where a piece begins.
    pub(crate) fn turns_back(&self, index: usize) -> bool {
        let (sin, cos) = self.turn(index);
        cos < 0.0 && sin.abs() < SMOOTH_SIN
    }

    /// Sine and cosine of the turn where a piece begins, above zero to the left.
    fn turn(&self, index: usize) -> (f64, f64) {
        let [ax, ay] = self.pieces[self.before(index)].way(1.0);
        let [bx, by] = self.pieces[index].way(0.0);
        (ax * by - ay * bx, ax * bx + ay * by)
    }

    /// Every piece moved out by its own distance, and ended where it then meets its neighbours; or the pieces
    /// that are lost by it.
    pub(crate) fn moved(&self, outs: &[f64]) -> Result<Self, Vec<usize>> {
        let moved: Vec<Option<Piece>> = (0..self.count())
            .map(|index| self.beyond(index, outs[index]))
            .collect();
        let lost: Vec<usize> = (0..self.count())
            .filter(|at| moved[*at].is_none())
            .collect();
        if !lost.is_empty() {
            return Err(lost);
        }
        let moved: Vec<Piece> = moved.into_iter().flatten().collect();
        let corners: Vec<Option<[f64; 2]>> = (0..self.count())
            .map(|index| {
                let (a, b) = (&moved[self.before(index)], &moved[index]);
                let alike = outs[self.before(index)] == outs[index];
                if self.is_smooth(index) && alike {
                    // Where they meet at a small turn exactly, and otherwise halfway between their ends.
                    let [p, q] = [a.at(1.0), b.at(0.0)];
                    let middle = [(p[0] + q[0]) / 2.0, (p[1] + q[1]) / 2.0];
                    let exact = crossing(a, b);
                    let near = |at: &[f64; 2]| apart(*at, middle) <= outs[index].abs();
                    return Some(exact.filter(near).unwrap_or(middle));
                }
                crossing(a, b)
            })
            .collect();
        let pieces: Vec<Option<Piece>> = (0..self.count())
            .map(|index| moved[index].between(corners[index]?, corners[self.after(index)]?))
            .collect();
        let lost: Vec<usize> = (0..self.count())
            .filter(|at| pieces[*at].is_none())
            .collect();
        if !lost.is_empty() {
            return Err(lost);
        }
        Ok(Self {
            pieces: pieces.into_iter().flatten().collect(),
            counter_clockwise: self.counter_clockwise,
        })
    }

    /// The way in chords, each with the piece it belongs to.
    pub(crate) fn chords(&self) -> Vec<([i64; 2], usize)> {
        let pieces = self.pieces.iter().enumerate();
        pieces
            .flat_map(|(index, piece)| piece.chords().map(move |at| (at.map(nearest_pm), index)))
            .collect()
    }

    /// The way as a polygon of chords, and the piece that each of its edges belongs to; nothing where it meets
    /// itself.
    pub(crate) fn polygon(&self) -> Option<(Polygon, Vec<usize>)> {
        let (corners, pieces): (Vec<_>, Vec<_>) = self.chords().into_iter().unzip();
        Some((Polygon::new(corners).ok()?, pieces))
    }

    /// Left, right, bottom and top.
    pub(crate) fn bounds(&self) -> [f64; 4] {
        let chords = self.chords();
        let of = |axis: usize, least: bool| {
            let all = chords.iter().map(|(at, _)| at[axis]);
            (if least { all.min() } else { all.max() }).unwrap_or_default() as f64
        };
        [of(0, true), of(0, false), of(1, true), of(1, false)]
    }

    /// The length of a piece.
    pub(crate) fn length(&self, index: usize) -> Measure {
        Measure::computed(self.pieces[index].length())
    }
}

/// The nearest whole picometre.
pub(crate) fn nearest_pm(pm: f64) -> i64 {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "places of a panel of at most 10 m stay far below 2^53 picometres, but for needle corners, which \
                  saturate and are then told as crossing"
    )]
    let whole = pm.clamp(-1e15, 1e15).round_ties_even() as i64;
    whole
}
