//! Rings with their numbers, placed so that none covers another.

use crate::Mark;
use crate::dimension::{Drawn, Ring, along, direction};
use crate::frame::Frame;
use crate::stroke::pair;
use crate::value::{self, Obstacle, Value};

/// Radius of a ring: two digits that read on a phone.
const RADIUS: f64 = 9.0;
/// Radius of the marked ring.
pub(crate) const RADIUS_DUE: f64 = 13.0;
/// Room kept between rings, in which a badge stands.
const GAP: f64 = 3.0;

/// A ring in its place.
pub(crate) struct Label {
    pub(crate) at: [f64; 2],
    pub(crate) radius: f64,
    pub(crate) number: u16,
    pub(crate) due: bool,
    pub(crate) mark: Option<Mark>,
    /// From the ring to its dimension line, where it had to stand elsewhere.
    pub(crate) leader: Option<String>,
    pub(crate) value: Option<Value>,
}

/// Places all rings: the marked one first, so that it has the best place; it comes last in the list, so
/// that it is drawn over everything.
pub(crate) fn place(
    drawn: &[Drawn<'_>],
    frame: &Frame,
    loupe: Option<Area>,
    obstacles: &[Obstacle],
) -> Vec<Label> {
    let mut taken: Vec<Area> = loupe.into_iter().collect();
    // In a loupe the value stands below what is enlarged.
    let obstacles = loupe.is_none().then_some(obstacles);
    let mut labels: Vec<Label> = Vec::new();
    for due in [true, false] {
        for one in drawn {
            for (index, ring) in one.rings.iter().enumerate() {
                if ring.due == due {
                    labels.push(stand(one, ring, index, frame, &mut taken, obstacles));
                }
            }
        }
    }
    labels.reverse();
    labels
}

fn stand(
    one: &Drawn<'_>,
    ring: &Ring<'_>,
    index: usize,
    frame: &Frame,
    taken: &mut Vec<Area>,
    obstacles: Option<&[Obstacle]>,
) -> Label {
    let radius = if ring.due { RADIUS_DUE } else { RADIUS };
    let pitch = RADIUS + GAP + if one.due { RADIUS_DUE } else { RADIUS };
    let place = f64::from(u32::try_from(index).unwrap_or(0));
    let wanted = if one.centred {
        let count = f64::from(u32::try_from(one.rings.len()).unwrap_or(1));
        along(one.best, one.follow, (place - (count - 1.0) / 2.0) * pitch)
    } else {
        along(one.best, one.follow, radius + place * pitch)
    };
    let at = free(wanted, radius, frame, taken);
    taken.push(Area::round(at, radius));
    let value = ring
        .value
        .as_ref()
        .zip(obstacles)
        .map(|(text, obstacles)| value::place(text, at, &one.tips, obstacles, frame, taken));
    let (way, far) = direction(at, one.anchor);
    let moved = direction(wanted, at).1 > 1.0 || (!one.centred && index == 0);
    Label {
        at,
        radius,
        number: ring.characteristic.number,
        due: ring.due,
        mark: ring.mark,
        leader: (moved && far > radius + 1.0)
            .then(|| format!("M{}L{}", pair(along(at, way, radius)), pair(one.anchor))),
        value,
    }
}

/// How far from its best place a ring may stand: near ones first, and at last anywhere on the drawing.
const DISTANCES: [f64; 14] = [
    0.0, 8.0, 13.0, 18.0, 24.0, 31.0, 39.0, 48.0, 60.0, 75.0, 95.0, 120.0, 150.0, 190.0,
];

/// The nearest free place: where it is wanted, or on rings of growing size around that.
fn free(wanted: [f64; 2], radius: f64, frame: &Frame, taken: &[Area]) -> [f64; 2] {
    let mut best = (f64::INFINITY, wanted);
    for far in DISTANCES {
        for turn in 0..16 {
            let angle = f64::from(turn) * std::f64::consts::TAU / 16.0;
            let at = inside(
                along(wanted, [angle.cos(), angle.sin()], far),
                radius,
                frame,
            );
            let area = Area::round(at, radius);
            let covered: f64 = taken.iter().map(|other| area.covers(other)).sum();
            if covered <= 0.0 {
                return at;
            }
            if covered < best.0 {
                best = (covered, at);
            }
        }
    }
    best.1
}

fn inside([x, y]: [f64; 2], radius: f64, frame: &Frame) -> [f64; 2] {
    let keep = radius + GAP;
    [
        x.clamp(keep, (frame.width - keep).max(keep)),
        y.clamp(keep, (frame.height - keep).max(keep)),
    ]
}

/// A rectangle that is spoken for.
#[derive(Clone, Copy)]
pub(crate) struct Area {
    pub(crate) at: [f64; 2],
    pub(crate) half: [f64; 2],
}

impl Area {
    const fn round(at: [f64; 2], radius: f64) -> Self {
        Self {
            at,
            half: [radius, radius],
        }
    }

    /// By how much two areas with their gap overlap; zero or less where they do not.
    pub(crate) fn covers(&self, other: &Self) -> f64 {
        let overlap = |axis: usize| {
            self.half[axis] + other.half[axis] + GAP - (self.at[axis] - other.at[axis]).abs()
        };
        overlap(0).min(overlap(1)).max(0.0)
    }
}
