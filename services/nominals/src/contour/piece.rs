//! One piece of an outline: a straight line or part of a circle, in picometres.

use std::f64::consts::TAU;

use shared_types::StrokeShape;

use crate::measure;
use crate::pen::{length, line, point};

/// How far a chord may lie inside its arc where an outline is looked at for crossings: 0.01 mm, less than any
/// scriber's line is wide.
const CHORD_ERROR_PM: f64 = 1e7;

/// Most chords of an arc: past some metres of radius a chord errs a little more.
const CHORDS_MAX: u32 = 720;

/// A straight line, or an arc by where it begins and how far it goes, in radians counter-clockwise.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Piece {
    Line {
        from: [f64; 2],
        to: [f64; 2],
    },
    Arc {
        centre: [f64; 2],
        radius: f64,
        start: f64,
        sweep: f64,
    },
}

impl Piece {
    /// The arc from one place to another by way of a third; nothing where the three lie in line.
    pub(crate) fn through(from: [f64; 2], via: [f64; 2], to: [f64; 2]) -> Option<Self> {
        // Measured from `from`, so that the squares below stay small.
        let ([bx, by], [cx, cy]) = (less(via, from), less(to, from));
        let doubled = 2.0 * (bx * cy - by * cx);
        // Less than 1 µm of rise over the chord is a straight line drawn badly.
        if doubled.abs() < 2e6 * cx.hypot(cy) {
            return None;
        }
        let (b2, c2) = (bx * bx + by * by, cx * cx + cy * cy);
        let (ux, uy) = ((cy * b2 - by * c2) / doubled, (bx * c2 - cx * b2) / doubled);
        let centre = [from[0] + ux, from[1] + uy];
        let start = angle_of(less(from, centre));
        // Left of the chord the arc goes clockwise, right of it counter-clockwise.
        let counter_clockwise = doubled > 0.0;
        Some(Self::Arc {
            centre,
            radius: ux.hypot(uy),
            start,
            sweep: turned(start, angle_of(less(to, centre)), counter_clockwise),
        })
    }

    /// The same line or circle between other ends; nothing where it would run backwards.
    pub(crate) fn between(self, from: [f64; 2], to: [f64; 2]) -> Option<Self> {
        match self {
            Self::Line { .. } => {
                let ([ax, ay], [bx, by]) = (self.way(0.0), less(to, from));
                (ax * bx + ay * by > 0.0).then_some(Self::Line { from, to })
            }
            Self::Arc {
                centre,
                radius,
                sweep: before,
                ..
            } => {
                let start = angle_of(less(from, centre));
                let sweep = turned(start, angle_of(less(to, centre)), before > 0.0);
                // An arc whose ends have passed each other goes nearly all the way round.
                (sweep.abs() < before.abs() + TAU / 4.0 && sweep != 0.0).then_some(Self::Arc {
                    centre,
                    radius,
                    start,
                    sweep,
                })
            }
        }
    }

    /// The piece moved to the right of its way; nothing where an arc would shrink past its centre.
    pub(crate) fn moved(self, right: f64) -> Option<Self> {
        match self {
            Self::Line { from, to } => {
                let [nx, ny] = self.right(0.0);
                let step = |[x, y]: [f64; 2]| [x + right * nx, y + right * ny];
                Some(Self::Line {
                    from: step(from),
                    to: step(to),
                })
            }
            Self::Arc {
                centre,
                radius,
                start,
                sweep,
            } => {
                let radius = radius + right.copysign(right * sweep);
                (radius > 0.0).then_some(Self::Arc {
                    centre,
                    radius,
                    start,
                    sweep,
                })
            }
        }
    }

    /// A place on it, by part of its length.
    pub(crate) fn at(&self, part: f64) -> [f64; 2] {
        match *self {
            Self::Line { from, to } => {
                [0, 1].map(|axis| from[axis] + part * (to[axis] - from[axis]))
            }
            Self::Arc {
                centre,
                radius,
                start,
                sweep,
            } => {
                let (sin, cos) = (start + part * sweep).sin_cos();
                [centre[0] + radius * cos, centre[1] + radius * sin]
            }
        }
    }

    /// The way it goes there, of unit length.
    pub(crate) fn way(&self, part: f64) -> [f64; 2] {
        match *self {
            Self::Line { from, to } => {
                let [dx, dy] = less(to, from);
                let long = dx.hypot(dy);
                [dx / long, dy / long]
            }
            Self::Arc { start, sweep, .. } => {
                let (sin, cos) = (start + part * sweep).sin_cos();
                if sweep > 0.0 {
                    [-sin, cos]
                } else {
                    [sin, -cos]
                }
            }
        }
    }

    /// To the right of its way, of unit length.
    pub(crate) fn right(&self, part: f64) -> [f64; 2] {
        let [x, y] = self.way(part);
        [y, -x]
    }

    pub(crate) fn length(&self) -> f64 {
        match *self {
            Self::Line { from, to } => apart(from, to),
            Self::Arc { radius, sweep, .. } => radius * sweep.abs(),
        }
    }

    pub(crate) fn is_line(&self) -> bool {
        matches!(self, Self::Line { .. })
    }

    /// How far a place lies to the left of its line or circle.
    pub(crate) fn left_of(&self, place: [f64; 2]) -> f64 {
        match *self {
            Self::Line { from, .. } => {
                let ([nx, ny], [dx, dy]) = (self.right(0.0), less(from, place));
                dx * nx + dy * ny
            }
            Self::Arc {
                centre,
                radius,
                sweep,
                ..
            } => (radius - apart(place, centre)).copysign((radius - apart(place, centre)) * sweep),
        }
    }

    /// The part of its length beside which a place lies; below 0 and above 1 beyond its ends.
    pub(crate) fn beside(&self, place: [f64; 2]) -> f64 {
        match *self {
            Self::Line { from, to } => {
                let ([dx, dy], [px, py]) = (less(to, from), less(place, from));
                (px * dx + py * dy) / (dx * dx + dy * dy)
            }
            Self::Arc {
                centre,
                start,
                sweep,
                ..
            } => {
                let [dx, dy] = less(place, centre);
                // The centre lies beside every part of the arc; its middle speaks for it.
                if dx.hypot(dy) < 1e6 {
                    return 0.5;
                }
                let along = turned(start, angle_of([dx, dy]), sweep > 0.0) / sweep;
                // What is not beside the arc is nearer to one of its ends.
                let beyond = TAU / sweep.abs();
                if along > (1.0 + beyond) / 2.0 {
                    along - beyond
                } else {
                    along
                }
            }
        }
    }

    /// How far a place lies from the piece, and beside which part of its length.
    pub(crate) fn distance(&self, place: [f64; 2]) -> (f64, f64) {
        let part = self.beside(place).clamp(0.0, 1.0);
        (apart(place, self.at(part)), part)
    }

    /// Where chords of it begin.
    pub(crate) fn chords(&self) -> impl Iterator<Item = [f64; 2]> {
        let steps = match *self {
            Self::Line { .. } => 1,
            Self::Arc { radius, sweep, .. } => {
                let step = 2.0 * (1.0 - (CHORD_ERROR_PM / radius).min(0.5)).acos();
                (1..CHORDS_MAX)
                    .find(|steps| sweep.abs() / f64::from(*steps) <= step)
                    .unwrap_or(CHORDS_MAX)
            }
        };
        let piece = *self;
        (0..steps).map(move |step| piece.at(f64::from(step) / f64::from(steps)))
    }

    /// As it is drawn.
    pub(crate) fn stroke(&self) -> StrokeShape {
        match *self {
            Self::Line { from, to } => line(from, to),
            Self::Arc {
                centre: [x, y],
                radius,
                start,
                sweep,
            } => {
                let whole = |radians: f64| {
                    measure::angle(radians.to_degrees()).expect("an arc goes at most once round")
                };
                StrokeShape::Arc {
                    centre: point(x, y),
                    radius: length(radius),
                    start: whole(start),
                    sweep: whole(sweep),
                }
            }
        }
    }
}

/// Where the line or circle of a piece crosses that of the next, nearest to where the two meet.
pub(crate) fn crossing(a: &Piece, b: &Piece) -> Option<[f64; 2]> {
    let nearest = |[p, q]: [[f64; 2]; 2]| {
        // On the pieces rather than on what they would be if they went on.
        let away = |at: [f64; 2]| {
            let ends = apart(at, a.at(1.0)) + apart(at, b.at(0.0));
            a.distance(at).0 + b.distance(at).0 + 0.5 * ends
        };
        if away(p) <= away(q) { p } else { q }
    };
    match (*a, *b) {
        (Piece::Line { from, .. }, Piece::Line { .. }) => {
            let ([ax, ay], [bx, by]) = (a.way(0.0), b.right(0.0));
            let over = ax * bx + ay * by;
            // Where they run on into each other they have no crossing.
            let along = b.left_of(from) / over;
            (over.abs() > 1e-12).then(|| [from[0] + along * ax, from[1] + along * ay])
        }
        (Piece::Line { from, .. }, Piece::Arc { centre, radius, .. }) => {
            on_line(a, from, centre, radius).map(nearest)
        }
        (Piece::Arc { centre, radius, .. }, Piece::Line { from, .. }) => {
            on_line(b, from, centre, radius).map(nearest)
        }
        (
            Piece::Arc { centre, radius, .. },
            Piece::Arc {
                centre: other,
                radius: reach,
                ..
            },
        ) => {
            let [dx, dy] = less(other, centre);
            let far = dx.hypot(dy);
            let along = (far * far + radius * radius - reach * reach) / (2.0 * far);
            let half = (radius * radius - along * along).sqrt();
            let [ux, uy] = [dx / far, dy / far];
            let foot = [centre[0] + along * ux, centre[1] + along * uy];
            let at = |side: f64| [foot[0] - side * uy, foot[1] + side * ux];
            (half.is_finite() && far > 0.0).then(|| nearest([at(half), at(-half)]))
        }
    }
}

/// The two places of a line that lie on a circle.
fn on_line(line: &Piece, from: [f64; 2], centre: [f64; 2], radius: f64) -> Option<[[f64; 2]; 2]> {
    let way = line.way(0.0);
    let [dx, dy] = less(centre, from);
    let along = dx * way[0] + dy * way[1];
    let aside = line.left_of(centre);
    let half = (radius * radius - aside * aside).sqrt();
    // Not a number where they do not meet.
    half.is_finite().then(|| {
        [along - half, along + half].map(|along| [0, 1].map(|axis| from[axis] + along * way[axis]))
    })
}

pub(crate) fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

fn less(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] - b[0], a[1] - b[1]]
}

fn angle_of([x, y]: [f64; 2]) -> f64 {
    y.atan2(x)
}

/// From one direction round to another, either way; above zero counter-clockwise.
fn turned(from: f64, to: f64, counter_clockwise: bool) -> f64 {
    let turn = (to - from).rem_euclid(TAU);
    if counter_clockwise {
        turn
    } else if turn == 0.0 {
        0.0
    } else {
        turn - TAU
    }
}
