//! A section through one flange: thickness, bend, height and angle.

use shared_types::{Angle, Dimension, DimensionShape, Layer, Stage, Stroke, StrokeShape, View};

use super::Bent;
use crate::pen::{self, degrees, length, line, point};

/// The section of a flange that stands alike on the edges of these `ids`. The web lies flat with its outside face down and runs
/// to the left; the mold line is the origin.
pub(crate) fn view<E>(ids: &[String], title: String, bent: &Bent<'_, E>, stage: Stage) -> View {
    let profile = Profile::new(bent, stage);
    let height = DimensionShape::Linear {
        from: point(profile.right(), 0.0),
        to: point(profile.right(), profile.top()),
        offset: length(-0.75 * profile.size()),
    };
    let reach = profile.h.min(profile.stub) * 0.8;
    let angle = DimensionShape::Angle {
        vertex: point(0.0, 0.0),
        from: point(profile.along[0] * reach, profile.along[1] * reach),
        to: point(-reach, 0.0),
    };
    let dimension = |kind: &str, id: &str, shape: DimensionShape| {
        pen::dimension(&format!("{stage}.{kind}.{id}"), shape)
    };
    let mut dimensions: Vec<Dimension> = ids
        .iter()
        .filter_map(|id| dimension("height", id, height))
        .collect();
    if stage == Stage::Formed {
        dimensions.extend(ids.iter().filter_map(|id| dimension("angle", id, angle)));
    }
    View {
        stage,
        title,
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
    /// Along the flange, away from the mold line.
    along: [f64; 2],
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
        let centre = point(tangent, self.r + self.t);
        let arc = |radius: f64| StrokeShape::Arc {
            centre,
            radius: length(radius),
            start: degrees(270),
            sweep: turned,
        };
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
