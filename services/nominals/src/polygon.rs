//! A simple polygon: exact where it decides anything, floating where it only measures.

use shared_types::Angle;

use crate::measure::{self, Measure};

/// What is wrong with a list of corners, by their numbers from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fault {
    /// Fewer than three.
    TooFew,
    /// The corner lies where the one before it lies.
    Repeated(usize),
    /// The corner lies in line with its neighbours, or the outline turns back on itself there.
    Straight(usize),
    /// The edge from the one corner meets the edge from the other.
    Crossing(usize, usize),
}

/// An outline by its corners in picometres, in the order of the plan. An edge has the number of the
/// corner it begins at.
#[derive(Clone, Debug)]
pub(crate) struct Polygon {
    corners: Vec<[i64; 2]>,
    counter_clockwise: bool,
}

impl Polygon {
    /// Corners checked: an outline that neither crosses nor touches itself.
    pub(crate) fn new(corners: Vec<[i64; 2]>) -> Result<Self, Vec<Fault>> {
        let count = corners.len();
        if count < 3 {
            return Err(vec![Fault::TooFew]);
        }
        let at = |index: usize| corners[index % count];
        let mut faults: Vec<Fault> = (0..count)
            .filter(|index| at(*index) == at(index + 1))
            .map(|index| Fault::Repeated((index + 1) % count))
            .collect();
        if faults.is_empty() {
            faults.extend(
                (0..count)
                    .filter(|index| turn(at(index + count - 1), at(*index), at(index + 1)) == 0)
                    .map(Fault::Straight),
            );
        }
        if faults.is_empty() {
            faults
                .extend(crossings(&corners).map(|[first, second]| Fault::Crossing(first, second)));
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let counter_clockwise = doubled_area(&corners) > 0;
        Ok(Self {
            corners,
            counter_clockwise,
        })
    }

    /// How many corners, and so edges.
    pub(crate) fn count(&self) -> usize {
        self.corners.len()
    }

    pub(crate) fn is_counter_clockwise(&self) -> bool {
        self.counter_clockwise
    }

    /// The corner of that number; numbers go round.
    pub(crate) fn corner(&self, index: usize) -> [f64; 2] {
        self.exact(index).map(|pm| pm as f64)
    }

    /// From where to where an edge runs.
    pub(crate) fn edge(&self, index: usize) -> [[f64; 2]; 2] {
        [self.corner(index), self.corner(index + 1)]
    }

    /// An edge's length, exact along an axis.
    pub(crate) fn length(&self, index: usize) -> Measure {
        let [dx, dy] = self.along(index);
        if dx == 0 || dy == 0 {
            let length = shared_types::Length::from_pm((dx + dy).abs());
            // Corners lie within 10 m, far inside the range of a length.
            length.map_or(Measure::ZERO, Measure::exact)
        } else {
            Measure::computed((dx as f64).hypot(dy as f64))
        }
    }

    /// The edge's way in exact steps.
    pub(crate) fn along(&self, index: usize) -> [i64; 2] {
        let ([ax, ay], [bx, by]) = (self.exact(index), self.exact(index + 1));
        [bx - ax, by - ay]
    }

    /// Whether the inside angle at a corner is above a half turn: the metal goes round it.
    pub(crate) fn is_reentrant(&self, index: usize) -> bool {
        let turn = turn(
            self.exact(index + self.count() - 1),
            self.exact(index),
            self.exact(index + 1),
        );
        (turn > 0) != self.counter_clockwise
    }

    /// The angle between a corner's two edges, below a half turn: of the metal, or of the gap at a
    /// re-entrant corner. Square is exact.
    pub(crate) fn angle(&self, index: usize) -> Option<Angle> {
        angle(self.along(index + self.count() - 1), self.along(index))
    }

    /// `edge 1–2`: an edge by the corners it runs between, numbered from 1.
    pub(crate) fn edge_name(&self, index: usize) -> String {
        format!("edge {}–{}", index + 1, (index + 1) % self.count() + 1)
    }

    /// Left, right, bottom and top.
    pub(crate) fn bounds(&self) -> [f64; 4] {
        let of = |axis: usize, least: bool| {
            let all = self.corners.iter().map(|corner| corner[axis]);
            (if least { all.min() } else { all.max() }).unwrap_or_default() as f64
        };
        [of(0, true), of(0, false), of(1, true), of(1, false)]
    }

    /// Whether a place lies inside, by counting the edges to its right.
    pub(crate) fn contains(&self, [x, y]: [f64; 2]) -> bool {
        let crossed = (0..self.count()).filter(|index| {
            let [[ax, ay], [bx, by]] = self.edge(*index);
            (ay > y) != (by > y) && x < ax + (y - ay) / (by - ay) * (bx - ax)
        });
        crossed.count() % 2 == 1
    }

    /// How far a place lies from an edge, and where on it the nearest place is, as a part of its length.
    pub(crate) fn distance(&self, place: [f64; 2], index: usize) -> (f64, f64) {
        from_line(place, self.edge(index))
    }

    /// Area in square picometres.
    #[cfg(test)]
    pub(crate) fn area(&self) -> f64 {
        doubled_area(&self.corners).unsigned_abs() as f64 / 2.0
    }

    fn exact(&self, index: usize) -> [i64; 2] {
        self.corners[index % self.corners.len()]
    }
}

/// The angle between the edges at a corner, by the ways along them there and on from there. Square is exact.
pub(crate) fn angle(there: [i64; 2], on: [i64; 2]) -> Option<Angle> {
    let back = there.map(|step| -step);
    let dot = i128::from(back[0]) * i128::from(on[0]) + i128::from(back[1]) * i128::from(on[1]);
    if dot == 0 {
        return measure::angle(90.0);
    }
    let cross = cross(back, on).unsigned_abs() as f64;
    measure::angle(cross.atan2(dot as f64).to_degrees())
}

/// Whether two ways run in line, on or back.
pub(crate) fn in_line(there: [i64; 2], on: [i64; 2]) -> bool {
    cross(there, on) == 0
}

pub(crate) fn is_counter_clockwise(corners: &[[i64; 2]]) -> bool {
    doubled_area(corners) > 0
}

/// The least distance between two lines, each from place to place; nothing where they cross.
pub(crate) fn apart(one: [[f64; 2]; 2], other: [[f64; 2]; 2]) -> f64 {
    let turn = |[a, b]: [[f64; 2]; 2], c: [f64; 2]| {
        (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    };
    let split = |line: [[f64; 2]; 2], [a, b]: [[f64; 2]; 2]| turn(line, a) * turn(line, b) < 0.0;
    if split(one, other) && split(other, one) {
        return 0.0;
    }
    let ends = |line: [[f64; 2]; 2], places: [[f64; 2]; 2]| {
        let far = places.map(|place| from_line(place, line).0);
        far[0].min(far[1])
    };
    ends(one, other).min(ends(other, one))
}

/// How far a place lies from a line, and where on it the nearest place is, as a part of its length.
fn from_line(place: [f64; 2], [[ax, ay], [bx, by]]: [[f64; 2]; 2]) -> (f64, f64) {
    let (dx, dy) = (bx - ax, by - ay);
    let squared = dx * dx + dy * dy;
    let part = if squared > 0.0 {
        (((place[0] - ax) * dx + (place[1] - ay) * dy) / squared).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let foot = [ax + part * dx, ay + part * dy];
    ((place[0] - foot[0]).hypot(place[1] - foot[1]), part)
}

/// The first two edges of a closed outline that cross or touch, by the corners they begin at.
pub(crate) fn crossing(corners: &[[i64; 2]]) -> Option<[usize; 2]> {
    crossings(corners).next()
}

fn crossings(corners: &[[i64; 2]]) -> impl Iterator<Item = [usize; 2]> {
    let count = corners.len();
    let edge = move |index: usize| [corners[index], corners[(index + 1) % count]];
    (0..count).flat_map(move |first| {
        // Neighbours share a corner; the last edge is a neighbour of the first.
        let last = if first == 0 { count - 1 } else { count };
        (first + 2..last)
            .filter(move |second| meet(edge(first), edge(*second)))
            .map(move |second| [first, second])
    })
}

fn doubled_area(corners: &[[i64; 2]]) -> i128 {
    let next = corners.iter().cycle().skip(1);
    corners.iter().zip(next).map(|(a, b)| cross(*a, *b)).sum()
}

fn cross(a: [i64; 2], b: [i64; 2]) -> i128 {
    i128::from(a[0]) * i128::from(b[1]) - i128::from(a[1]) * i128::from(b[0])
}

/// Above zero where a → b → c turns left, below where it turns right, zero in a line.
fn turn(a: [i64; 2], b: [i64; 2], c: [i64; 2]) -> i128 {
    cross([b[0] - a[0], b[1] - a[1]], [c[0] - b[0], c[1] - b[1]])
}

/// Whether two edges cross or touch.
fn meet([a, b]: [[i64; 2]; 2], [c, d]: [[i64; 2]; 2]) -> bool {
    // Most edges of a long outline lie nowhere near each other.
    let beside = |axis: usize| {
        a[axis].max(b[axis]) < c[axis].min(d[axis]) || c[axis].max(d[axis]) < a[axis].min(b[axis])
    };
    if beside(0) || beside(1) {
        return false;
    }
    let within = |p: [i64; 2], q: [i64; 2], r: [i64; 2]| {
        (0..2).all(|axis| p[axis].min(q[axis]) <= r[axis] && r[axis] <= p[axis].max(q[axis]))
    };
    let signs = [turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b)].map(i128::signum);
    let opposed = |p: i128, q: i128| p * q < 0;
    (opposed(signs[0], signs[1]) && opposed(signs[2], signs[3]))
        || (signs[0] == 0 && within(a, b, c))
        || (signs[1] == 0 && within(a, b, d))
        || (signs[2] == 0 && within(c, d, a))
        || (signs[3] == 0 && within(c, d, b))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn polygon(corners: &[[i64; 2]]) -> Result<Polygon, Vec<Fault>> {
        Polygon::new(corners.to_vec())
    }

    #[test]
    fn a_polygon_that_crosses_or_touches_itself_is_refused_either_way_round() {
        let bow_tie = [[0, 0], [4, 4], [4, 0], [0, 4]];
        assert_eq!(polygon(&bow_tie).unwrap_err(), [Fault::Crossing(0, 2)]);
        let touching = [[0, 0], [8, 0], [8, 4], [4, 0], [0, 4]];
        assert!(
            polygon(&touching)
                .unwrap_err()
                .contains(&Fault::Crossing(0, 2))
        );
        assert_eq!(
            polygon(&[[0, 0], [2, 0], [4, 0], [4, 4]]).unwrap_err(),
            [Fault::Straight(1)]
        );
        assert_eq!(
            polygon(&[[0, 0], [4, 0], [4, 0], [4, 4]]).unwrap_err(),
            [Fault::Repeated(2)]
        );
        assert!(polygon(&[[0, 0], [4, 0], [0, 4]]).is_ok());
        assert!(polygon(&[[0, 4], [4, 0], [0, 0]]).is_ok());
    }

    #[test]
    fn a_step_has_the_area_angles_and_reentrant_corner_computed_by_hand() {
        let step = polygon(&[[0, 0], [6, 0], [6, 2], [3, 2], [3, 5], [0, 5]]).unwrap();
        assert!((step.area() - f64::from(6 * 2 + 3 * 3)).abs() < 1e-9);
        let reentrant: Vec<usize> = (0..6).filter(|corner| step.is_reentrant(*corner)).collect();
        assert_eq!(reentrant, [3]);
        assert!((0..6).all(|corner| step.angle(corner) == measure::angle(90.0)));
        assert!(step.contains([1.0, 4.0]) && !step.contains([4.0, 4.0]));
        assert_eq!(step.distance([1.5, 4.0], 3).0, 1.5);
    }
}
