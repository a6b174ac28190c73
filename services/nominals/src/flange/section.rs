//! A section through one flange: thickness, bend, height and angle.

use shared_types::{Angle, Dimension, DimensionShape, Layer, Stage, Stroke, StrokeShape, View};

use super::{Bent, Direction};
use crate::pen::{self, degrees, length, line, point};

/// What a section shows: the ids of edges whose heights, and whose angles, are measured there.
pub(crate) struct Shown {
    pub(crate) heights: Vec<String>,
    pub(crate) angles: Vec<String>,
    pub(crate) title: String,
}

/// The section of a flange that stands alike on several edges. The web lies flat with its outside face down and runs
/// to the left; the mold line is the origin.
pub(crate) fn view<E>(shown: Shown, bent: &Bent<'_, E>, stage: Stage) -> View {
    let profile = Profile::new(bent, stage);
    let [bottom, top] = [0.0, profile.top()].map(|y| profile.turn([profile.right(), y]));
    let height = DimensionShape::Linear {
        from: point(bottom[0], bottom[1]),
        to: point(top[0], top[1]),
        offset: length(match profile.direction {
            Direction::Up => -0.75 * profile.size(),
            Direction::Down => 0.75 * profile.size(),
        }),
    };
    let reach = profile.h.min(profile.stub) * 0.8;
    let [vertex, flange, web] = [
        [0.0, 0.0],
        [profile.along[0] * reach, profile.along[1] * reach],
        [-reach, 0.0],
    ]
    .map(|at| profile.turn(at));
    // Counter-clockwise from the first leg to the second.
    let (from, to) = match profile.direction {
        Direction::Up => (flange, web),
        Direction::Down => (web, flange),
    };
    let angle = DimensionShape::Angle {
        vertex: point(vertex[0], vertex[1]),
        from: point(from[0], from[1]),
        to: point(to[0], to[1]),
    };
    let dimension = |kind: &str, id: &str, shape: DimensionShape| {
        pen::dimension(&format!("{stage}.{kind}.{id}"), shape)
    };
    let heights = shown.heights.iter();
    let mut dimensions: Vec<Dimension> = heights
        .filter_map(|id| dimension("height", id, height))
        .collect();
    if stage == Stage::Formed {
        let angles = shown.angles.iter();
        dimensions.extend(angles.filter_map(|id| dimension("angle", id, angle)));
    }
    View {
        stage,
        title: format!("{}{}", shown.title, bent.flange.direction.note()),
        strokes: profile.strokes(bent.bend.angle),
        dimensions,
    }
}

/// The cut face, in picometres.
struct Profile {
    h: f64,
    t: f64,
    r: f64,
    setback: f64,
    /// How much web is drawn.
    stub: f64,
    /// Along the flange, away from the mold line, before it is turned down.
    along: [f64; 2],
    direction: Direction,
}

impl Profile {
    fn new<E>(bent: &Bent<'_, E>, stage: Stage) -> Self {
        let (t, r) = (
            bent.bend.thickness.pm() as f64,
            bent.bend.radius.pm() as f64,
        );
        let h = bent.height(stage).pm() as f64;
        let setback = bent.setback.pm();
        Self {
            h,
            t,
            r,
            setback,
            stub: setback + 0.9 * h.max(4.0 * t),
            along: [bent.bend.cos(), bent.bend.sin()],
            direction: bent.flange.direction,
        }
    }

    /// A place of the flange turned up, where the flange goes down: the web stays, the rest is turned over.
    fn turn(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        match self.direction {
            Direction::Up => [x, y],
            Direction::Down => [x, self.t - y],
        }
    }

    fn size(&self) -> f64 {
        self.h.max(self.stub)
    }

    /// A point of the flange: `s` along its outer face, `depth` into the sheet.
    fn on_flange(&self, s: f64, depth: f64) -> [f64; 2] {
        let [cos, sin] = self.along;
        [s * cos - depth * sin, s * sin + depth * cos]
    }

    fn top(&self) -> f64 {
        self.on_flange(self.h, 0.0)[1].max(self.on_flange(self.h, self.t)[1])
    }

    fn right(&self) -> f64 {
        // The bend bulges out to its radius beyond the centre; a flange bent less reaches farther.
        let bulge = self.r + self.t - self.setback;
        let tip = self.on_flange(self.h, 0.0)[0];
        if self.along[0] > 0.0 {
            tip
        } else {
            bulge.max(tip)
        }
    }

    fn strokes(&self, turned: Angle) -> Vec<Stroke> {
        let (tangent, end) = (-self.setback, -self.stub);
        let [x, y] = self.turn([tangent, self.r + self.t]);
        let (start, sweep) = match self.direction {
            Direction::Up => (degrees(270), turned),
            Direction::Down => (
                degrees(90),
                Angle::from_mas(-turned.mas()).expect("an angle is in range either way round"),
            ),
        };
        let arc = |radius: f64| StrokeShape::Arc {
            centre: point(x, y),
            radius: length(radius),
            start,
            sweep,
        };
        let line = |from: [f64; 2], to: [f64; 2]| line(self.turn(from), self.turn(to));
        let tip = [self.on_flange(self.h, 0.0), self.on_flange(self.h, self.t)];
        let shapes = [
            line([end, 0.0], [tangent, 0.0]),
            arc(self.r + self.t),
            line(self.on_flange(self.setback, 0.0), tip[0]),
            line(tip[0], tip[1]),
            line(tip[1], self.on_flange(self.setback, self.t)),
            arc(self.r),
            line([tangent, self.t], [end, self.t]),
            line([end, self.t], [end, 0.0]),
        ];
        shapes
            .into_iter()
            .map(|shape| Stroke {
                layer: Layer::Section,
                shape,
            })
            .collect()
    }
}
