//! The cut face of a section in the plane, its longest leg level.

use shared_types::StrokeShape;

use super::Turn;
use super::solved::Solid;
use crate::measure::{self, Measure};
use crate::pen::{length, line, point};
use crate::polygon;

/// Chords of a bend for finding collisions: of at most 15°, which stay within a hundredth of the radius.
const CHORD_RADIANS_MAX: f64 = 0.262;

/// A leg in the plane: the beginning of its flat on the lower face, and its way.
#[derive(Clone, Copy, Debug)]
pub(super) struct Leg {
    pub(super) from: [f64; 2],
    pub(super) way: [f64; 2],
    pub(super) flat: f64,
}

impl Leg {
    /// A place `along` the flat from its beginning and `up` from the lower face.
    pub(super) fn place(&self, along: f64, up: f64) -> [f64; 2] {
        let [x, y] = self.way;
        [
            self.from[0] + along * x - up * y,
            self.from[1] + along * y + up * x,
        ]
    }

    /// Left of its way.
    pub(super) fn up(&self) -> [f64; 2] {
        [-self.way[1], self.way[0]]
    }
}

/// A bend in the plane.
#[derive(Clone, Copy, Debug)]
struct Round {
    centre: [f64; 2],
    /// Of the lower and of the upper face.
    radii: [f64; 2],
    /// Counter-clockwise from the x axis, in radians; where it begins and how far it goes.
    start: f64,
    sweep: f64,
}

impl Round {
    fn at(&self, part: f64, radius: f64) -> [f64; 2] {
        let angle = self.start + part * self.sweep;
        [
            self.centre[0] + radius * angle.cos(),
            self.centre[1] + radius * angle.sin(),
        ]
    }
}

/// Legs and bends laid out.
#[derive(Debug)]
pub(super) struct Profile {
    pub(super) legs: Vec<Leg>,
    rounds: Vec<Round>,
    /// The longest leg, which lies level.
    pub(super) base: usize,
    pub(super) thickness: f64,
}

impl Profile {
    pub(super) fn new(flats: &[Measure], bends: &[Solid], thickness: f64) -> Self {
        let flats: Vec<f64> = flats.iter().map(|flat| flat.pm()).collect();
        let mut base = 0;
        for (index, flat) in flats.iter().enumerate() {
            if *flat > flats[base] {
                base = index;
            }
        }
        let mut way = [1.0, 0.0];
        for solid in &bends[..base] {
            way = turned(way, solid);
        }
        // Turned back by the base's own way, so that the base lies level.
        let mut way = [way[0], -way[1]];
        let mut from = [0.0, 0.0];
        let (mut legs, mut rounds) = (Vec::new(), Vec::new());
        for (index, flat) in flats.iter().enumerate() {
            let leg = Leg {
                from,
                way,
                flat: *flat,
            };
            legs.push(leg);
            let Some(solid) = bends.get(index) else { break };
            let radius = solid.bend.radius.pm() as f64;
            let next = turned(way, solid);
            let [up, next_up] = [way, next].map(|[x, y]| [-y, x]);
            let outer = radius + thickness;
            let (side, radii) = match solid.turn {
                Turn::Up => (outer, [outer, radius]),
                Turn::Down => (-radius, [radius, outer]),
            };
            let centre = leg.place(*flat, side);
            let sweep = signed(solid, solid.bend.radians());
            let start = signed(solid, -1.0);
            rounds.push(Round {
                centre,
                radii,
                start: (start * up[1]).atan2(start * up[0]),
                sweep,
            });
            from = [centre[0] - side * next_up[0], centre[1] - side * next_up[1]];
            way = next;
        }
        Self {
            legs,
            rounds,
            base,
            thickness,
        }
    }

    /// The outline as strokes, faces, bends and both free edges.
    pub(super) fn strokes(&self) -> Vec<StrokeShape> {
        let mut shapes = Vec::new();
        for leg in &self.legs {
            for up in [0.0, self.thickness] {
                shapes.push(line(leg.place(0.0, up), leg.place(leg.flat, up)));
            }
        }
        for round in &self.rounds {
            let angles = [round.start, round.sweep]
                .map(f64::to_degrees)
                .map(measure::angle);
            let [Some(start), Some(sweep)] = angles else {
                continue;
            };
            let [x, y] = round.centre;
            // A sharp inside corner has no arc.
            for radius in round.radii.into_iter().filter(|radius| *radius > 0.0) {
                shapes.push(StrokeShape::Arc {
                    centre: point(x, y),
                    radius: length(radius),
                    start,
                    sweep,
                });
            }
        }
        if let (Some(first), Some(last)) = (self.legs.first(), self.legs.last()) {
            shapes.push(line(
                first.place(0.0, 0.0),
                first.place(0.0, self.thickness),
            ));
            let [low, high] = [0.0, self.thickness].map(|up| last.place(last.flat, up));
            shapes.push(line(low, high));
        }
        shapes
    }

    /// Left, right, bottom and top of everything.
    pub(super) fn bounds(&self) -> [f64; 4] {
        let ends = self.legs.iter().flat_map(|leg| {
            [0.0, self.thickness]
                .into_iter()
                .flat_map(|up| [leg.place(0.0, up), leg.place(leg.flat, up)])
        });
        let bulges = self.rounds.iter().flat_map(|round| {
            let radius = round.radii[0].max(round.radii[1]);
            let [x, y] = round.centre;
            // Where the bend goes through one of the four directions it reaches out to its radius.
            (0..4_i32).filter_map(move |quarter| {
                let (sin, cos) = [(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)]
                    [usize::try_from(quarter).unwrap_or_default()];
                let way = f64::from(quarter) * std::f64::consts::FRAC_PI_2;
                let past = if round.sweep < 0.0 {
                    round.start - way
                } else {
                    way - round.start
                };
                let past = past.rem_euclid(std::f64::consts::TAU);
                (past <= round.sweep.abs()).then_some([x + radius * cos, y + radius * sin])
            })
        });
        let mut bounds = [f64::MAX, f64::MIN, f64::MAX, f64::MIN];
        for [x, y] in ends.chain(bulges) {
            bounds = [
                bounds[0].min(x),
                bounds[1].max(x),
                bounds[2].min(y),
                bounds[3].max(y),
            ];
        }
        bounds
    }

    /// Two parts of the section that run into each other, by name.
    pub(super) fn collision(&self) -> Option<[String; 2]> {
        // Along the lower face and back along the upper one, each place named by what begins there.
        let mut places: Vec<([i64; 2], String)> = Vec::new();
        let mut back = Vec::new();
        for (index, leg) in self.legs.iter().enumerate() {
            let name = format!("leg {}", index + 1);
            let (before, after) = (format!("bend {index}"), format!("bend {}", index + 1));
            let t = self.thickness;
            places.push((whole(leg.place(0.0, 0.0)), name.clone()));
            back.push((whole(leg.place(0.0, t)), before));
            places.push((whole(leg.place(leg.flat, 0.0)), after.clone()));
            back.push((whole(leg.place(leg.flat, t)), name));
            let Some(round) = self.rounds.get(index) else {
                break;
            };
            let chords = (1_u32..36)
                .find(|n| round.sweep.abs() / f64::from(*n) <= CHORD_RADIANS_MAX)
                .unwrap_or(36);
            for chord in 1..chords {
                let part = f64::from(chord) / f64::from(chords);
                places.push((whole(round.at(part, round.radii[0])), after.clone()));
                back.push((whole(round.at(part, round.radii[1])), after.clone()));
            }
        }
        places.extend(back.into_iter().rev());
        places.dedup_by(|a, b| a.0 == b.0);
        let corners: Vec<[i64; 2]> = places.iter().map(|(place, _)| *place).collect();
        let [a, b] = polygon::crossing(&corners)?;
        Some([places[a].1.clone(), places[b].1.clone()])
    }
}

fn turned([x, y]: [f64; 2], solid: &Solid) -> [f64; 2] {
    let (cos, sin) = (solid.bend.cos(), signed(solid, solid.bend.sin()));
    [x * cos - y * sin, x * sin + y * cos]
}

fn signed(solid: &Solid, value: f64) -> f64 {
    match solid.turn {
        Turn::Up => value,
        Turn::Down => -value,
    }
}

/// The nearest whole picometre.
fn whole(place: [f64; 2]) -> [i64; 2] {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "a section of at most 24 legs of 10 m stays far below 2^53 picometres"
    )]
    place.map(|pm| pm.round_ties_even() as i64)
}
