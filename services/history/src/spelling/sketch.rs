//! The stored spelling of what a part looks like.

use serde::{Deserialize, Serialize};
use shared_types::{
    CharacteristicId, Dimension, DimensionShape, Layer, Point, Stage, Stroke, StrokeShape, View,
};

use super::words::{Mas, Name, Pm, Text, Word};

/// `s` stage, `t` title, `l` strokes with their layers, `d` dimensions.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ViewSpelt<'a> {
    s: Word<Stage>,
    #[serde(borrow)]
    t: Text<'a>,
    l: Vec<(Word<Layer>, ShapeSpelt)>,
    d: Vec<(Name<CharacteristicId>, DimensionSpelt)>,
}

/// x, y
#[derive(Serialize, Deserialize)]
struct PointSpelt(Pm, Pm);

#[derive(Serialize, Deserialize)]
enum ShapeSpelt {
    /// from, to
    #[serde(rename = "l")]
    Line(PointSpelt, PointSpelt),
    /// centre, radius
    #[serde(rename = "c")]
    Circle(PointSpelt, Pm),
    /// centre, radius, start, sweep
    #[serde(rename = "a")]
    Arc(PointSpelt, Pm, Mas, Mas),
}

#[derive(Serialize, Deserialize)]
enum DimensionSpelt {
    /// from, to, offset
    #[serde(rename = "l")]
    Linear(PointSpelt, PointSpelt, Pm),
    /// centre, radius
    #[serde(rename = "d")]
    Diameter(PointSpelt, Pm),
    /// vertex, from, to
    #[serde(rename = "a")]
    Angle(PointSpelt, PointSpelt, PointSpelt),
}

impl<'a> ViewSpelt<'a> {
    pub(super) fn of(view: &'a View) -> Self {
        Self {
            s: Word(view.stage),
            t: view.title.as_str().into(),
            l: view
                .strokes
                .iter()
                .map(|stroke| (Word(stroke.layer), ShapeSpelt::of(stroke.shape)))
                .collect(),
            d: view
                .dimensions
                .iter()
                .map(|dimension| {
                    let id = Name(dimension.characteristic.clone());
                    (id, DimensionSpelt::of(dimension.shape))
                })
                .collect(),
        }
    }

    pub(super) fn read(self) -> View {
        let strokes = self.l.into_iter().map(|(layer, shape)| Stroke {
            layer: layer.0,
            shape: shape.read(),
        });
        let dimensions = self.d.into_iter().map(|(id, shape)| Dimension {
            characteristic: id.0,
            shape: shape.read(),
        });
        View {
            stage: self.s.0,
            title: self.t.into(),
            strokes: strokes.collect(),
            dimensions: dimensions.collect(),
        }
    }
}

impl From<Point> for PointSpelt {
    fn from(point: Point) -> Self {
        Self(Pm(point.x), Pm(point.y))
    }
}

impl From<PointSpelt> for Point {
    fn from(PointSpelt(Pm(x), Pm(y)): PointSpelt) -> Self {
        Self { x, y }
    }
}

impl ShapeSpelt {
    fn of(shape: StrokeShape) -> Self {
        match shape {
            StrokeShape::Line { from, to } => Self::Line(from.into(), to.into()),
            StrokeShape::Circle { centre, radius } => Self::Circle(centre.into(), Pm(radius)),
            StrokeShape::Arc {
                centre,
                radius,
                start,
                sweep,
            } => Self::Arc(centre.into(), Pm(radius), Mas(start), Mas(sweep)),
        }
    }

    fn read(self) -> StrokeShape {
        match self {
            Self::Line(from, to) => StrokeShape::Line {
                from: from.into(),
                to: to.into(),
            },
            Self::Circle(centre, Pm(radius)) => StrokeShape::Circle {
                centre: centre.into(),
                radius,
            },
            Self::Arc(centre, Pm(radius), Mas(start), Mas(sweep)) => StrokeShape::Arc {
                centre: centre.into(),
                radius,
                start,
                sweep,
            },
        }
    }
}

impl DimensionSpelt {
    fn of(shape: DimensionShape) -> Self {
        match shape {
            DimensionShape::Linear { from, to, offset } => {
                Self::Linear(from.into(), to.into(), Pm(offset))
            }
            DimensionShape::Diameter { centre, radius } => {
                Self::Diameter(centre.into(), Pm(radius))
            }
            DimensionShape::Angle { vertex, from, to } => {
                Self::Angle(vertex.into(), from.into(), to.into())
            }
        }
    }

    fn read(self) -> DimensionShape {
        match self {
            Self::Linear(from, to, Pm(offset)) => DimensionShape::Linear {
                from: from.into(),
                to: to.into(),
                offset,
            },
            Self::Diameter(centre, Pm(radius)) => DimensionShape::Diameter {
                centre: centre.into(),
                radius,
            },
            Self::Angle(vertex, from, to) => DimensionShape::Angle {
                vertex: vertex.into(),
                from: from.into(),
                to: to.into(),
            },
        }
    }
}
