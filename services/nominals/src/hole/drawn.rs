//! Holes drawn: what is cut, what is flanged, and a section through a flanged one.

use shared_types::{Angle, Dimension, DimensionShape, Layer, Stage, Stroke, StrokeShape, View};

use super::{Flanged, Hole, Kind, Row, unit};
use crate::measure;
use crate::pen::{self, circle, degrees, length, line, linear, point};

impl Hole {
    /// What is seen of it at a stage, its centre being drawn at `centre`.
    pub(crate) fn strokes(&self, stage: Stage, centre: [f64; 2]) -> Vec<Stroke> {
        let cut = |shape| Stroke {
            layer: Layer::Cut,
            shape,
        };
        match &self.kind {
            Kind::Slot { angle, .. } => {
                let [from, to] = self.spine();
                let [cx, cy] = self.centre();
                let moved = |[x, y]: [f64; 2]| [x - cx + centre[0], y - cy + centre[1]];
                let (from, to, r) = (moved(from), moved(to), self.radius());
                let [ux, uy] = unit(*angle);
                let side = |[x, y]: [f64; 2], sign: f64| [x - sign * r * uy, y + sign * r * ux];
                let lies = angle.mas() as f64 / 3_600_000.0;
                let round = |[x, y]: [f64; 2], start: f64| {
                    Some(StrokeShape::Arc {
                        centre: point(x, y),
                        radius: length(r),
                        start: measure::angle(start)?,
                        sweep: degrees(180),
                    })
                };
                let straight = [-1.0, 1.0].map(|sign| Some(line(side(from, sign), side(to, sign))));
                let rounds = [round(from, lies + 90.0), round(to, lies - 90.0)];
                let shapes = straight.into_iter().chain(rounds).flatten();
                shapes.map(cut).collect()
            }
            Kind::Flanged(flanged) if stage > Stage::Blank => {
                let opening = flanged.opening.pm() as f64 / 2.0;
                vec![
                    cut(circle(centre, opening)),
                    Stroke {
                        layer: Layer::Bend,
                        shape: circle(centre, flanged.tangent().pm() / 2.0),
                    },
                ]
            }
            Kind::Round { .. } | Kind::Flanged(_) => vec![cut(circle(centre, self.radius()))],
        }
    }

    /// Its own dimensions in the blank drawn, its centre being drawn at `centre`.
    pub(crate) fn own_dimensions(&self, centre: [f64; 2]) -> Vec<Option<Dimension>> {
        if matches!(self.row, Row::Between | Row::Last) {
            return Vec::new();
        }
        let [x, y] = centre;
        if let Kind::Slot {
            length,
            width,
            angle,
        } = &self.kind
        {
            return self.slot_dimensions(
                centre,
                [length.pm(), width.pm()].map(|pm| pm as f64),
                unit(*angle),
            );
        }
        let across = DimensionShape::Diameter {
            centre: point(x, y),
            radius: length(self.radius()),
        };
        let mut dimensions = vec![pen::dimension(
            &format!("blank.{}.diameter", self.group),
            across,
        )];
        if let Row::First { step } = self.row {
            let off = self.radius() / step[0].hypot(step[1]);
            let along = |part: f64| [x + part * step[0], y + part * step[1]];
            let id = format!("blank.{}.between", self.group);
            dimensions.push(linear(&id, along(off), along(1.0 - off), 0.0));
        }
        dimensions
    }

    fn slot_dimensions(
        &self,
        [x, y]: [f64; 2],
        [long, wide]: [f64; 2],
        [ux, uy]: [f64; 2],
    ) -> Vec<Option<Dimension>> {
        let id = |kind: &str| format!("blank.{}.{kind}", self.group);
        let along = |far: f64, up: f64| [x + far * ux - up * uy, y + far * uy + up * ux];
        let mut dimensions = vec![
            linear(
                &id("length"),
                along(-long / 2.0, 0.0),
                along(long / 2.0, 0.0),
                wide,
            ),
            linear(
                &id("width"),
                along(0.0, -wide / 2.0),
                along(0.0, wide / 2.0),
                0.0,
            ),
        ];
        if ux * uy != 0.0 {
            let [on, to] = [[x + long / 2.0, y], along(long / 2.0, 0.0)].map(|[x, y]| point(x, y));
            let shape = DimensionShape::Angle {
                vertex: point(x, y),
                from: on,
                to,
            };
            dimensions.push(pen::dimension(&id("angle"), shape));
        }
        dimensions
    }

    /// The hole's flange in section through its axis, with what is measured of it.
    pub(crate) fn section(&self) -> Option<View> {
        let Kind::Flanged(flanged) = &self.kind else {
            return None;
        };
        let half = Half::new(flanged);
        let sides = [1.0, -1.0].map(|sign| half.strokes(sign));
        let [tip, deep] = half.tip();
        let id = |kind: &str| format!("formed.{kind}.{}", self.group);
        let far = if tip[1] > deep[1] { tip } else { deep };
        let aside = half.web + 0.3 * half.size();
        let vertex = [half.mold, 0.0];
        let reach = 0.8 * half.h.min(half.web - half.mold);
        let [cos, sin] = half.along;
        let on = [half.mold - reach * cos, reach * sin];
        let angle = DimensionShape::Angle {
            vertex: point(vertex[0], vertex[1]),
            from: point(half.mold + reach, 0.0),
            to: point(on[0], on[1]),
        };
        let dimensions = [
            linear(&id("opening"), [-tip[0], tip[1]], tip, 0.35 * half.size()),
            linear(&id("height"), [aside, 0.0], [aside, far[1]], 0.0),
            pen::dimension(&id("angle"), angle),
        ];
        Some(View {
            stage: Stage::Formed,
            title: format!("section through the flange of {}", self.called),
            strokes: sides.concat(),
            dimensions: dimensions.into_iter().flatten().collect(),
        })
    }
}

/// The right half of the cut face in picometres: the axis at x = 0, the web's outside face at y = 0, the
/// sheet and the flange above it.
struct Half {
    mold: f64,
    tangent: f64,
    web: f64,
    h: f64,
    t: f64,
    r: f64,
    /// Toward the axis and up, along the flange from the mold line.
    along: [f64; 2],
    turned: Angle,
}

impl Half {
    fn new(flanged: &Flanged) -> Self {
        let (h, t) = (
            flanged.height.pm() as f64,
            flanged.bend.thickness.pm() as f64,
        );
        let tangent = flanged.tangent().pm() / 2.0;
        Self {
            mold: flanged.mold_line().pm() / 2.0,
            tangent,
            web: tangent + 0.9 * h.max(4.0 * t),
            h,
            t,
            r: flanged.bend.radius.pm() as f64,
            along: [flanged.bend.cos(), flanged.bend.sin()],
            turned: flanged.bend.angle,
        }
    }

    fn size(&self) -> f64 {
        self.h.max(self.web - self.mold)
    }

    /// A place of the flange: `s` along its outer face, `depth` into the sheet, which lies away from the axis.
    fn on_flange(&self, s: f64, depth: f64) -> [f64; 2] {
        let [cos, sin] = self.along;
        [self.mold - s * cos + depth * sin, s * sin + depth * cos]
    }

    /// The free edge at its outer and its inner face.
    fn tip(&self) -> [[f64; 2]; 2] {
        [self.on_flange(self.h, 0.0), self.on_flange(self.h, self.t)]
    }

    /// Right of the axis with `side` 1, left of it with −1.
    fn strokes(&self, side: f64) -> Vec<Stroke> {
        let at = |[x, y]: [f64; 2]| [side * x, y];
        let back = self.tangent - self.mold;
        let [tip, deep] = self.tip();
        let centre = at([self.tangent, self.r + self.t]);
        // From the web's tangent line straight below the centre, toward the axis.
        let sweep = if side > 0.0 {
            reversed(self.turned)
        } else {
            self.turned
        };
        let arc = |radius: f64| StrokeShape::Arc {
            centre: point(centre[0], centre[1]),
            radius: length(radius),
            start: degrees(270),
            sweep,
        };
        let mut shapes = vec![
            line(at([self.web, 0.0]), at([self.tangent, 0.0])),
            arc(self.r + self.t),
            line(at(self.on_flange(back, 0.0)), at(tip)),
            line(at(tip), at(deep)),
            line(at(deep), at(self.on_flange(back, self.t))),
            line(at([self.tangent, self.t]), at([self.web, self.t])),
            line(at([self.web, self.t]), at([self.web, 0.0])),
        ];
        // A sharp inside corner has no arc.
        if self.r > 0.0 {
            shapes.push(arc(self.r));
        }
        shapes
            .into_iter()
            .map(|shape| Stroke {
                layer: Layer::Section,
                shape,
            })
            .collect()
    }
}

fn reversed(angle: Angle) -> Angle {
    Angle::from_mas(-angle.mas()).expect("the range of an angle has no sign")
}
