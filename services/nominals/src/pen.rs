//! Strokes and places to draw, from picometres under computation.

use shared_types::{
    Angle, CharacteristicId, Dimension, DimensionShape, Length, Point, StrokeShape,
};

use crate::hand;
use crate::measure::Measure;

/// A straight stroke between two places in picometres.
pub(crate) fn line(from: [f64; 2], to: [f64; 2]) -> StrokeShape {
    StrokeShape::Line {
        from: point(from[0], from[1]),
        to: point(to[0], to[1]),
    }
}

/// A circle about a place in picometres.
pub(crate) fn circle([x, y]: [f64; 2], radius: f64) -> StrokeShape {
    StrokeShape::Circle {
        centre: point(x, y),
        radius: length(radius),
    }
}

/// A linear dimension of the characteristic `id`, its line `offset` to the left of the direction from → to.
pub(crate) fn linear(id: &str, from: [f64; 2], to: [f64; 2], offset: f64) -> Option<Dimension> {
    let shape = DimensionShape::Linear {
        from: point(from[0], from[1]),
        to: point(to[0], to[1]),
        offset: length(offset),
    };
    dimension(id, shape)
}

/// A dimension of the characteristic `id`. The ids are those of drafts, which are checked where they
/// become characteristics; one that is refused there is not drawn here.
pub(crate) fn dimension(id: &str, shape: DimensionShape) -> Option<Dimension> {
    let characteristic = CharacteristicId::new(&hand::plain(id)).ok()?;
    Some(Dimension {
        characteristic,
        shape,
    })
}

/// The characteristic that says where the first tangent line of a bend lies.
pub(crate) fn line_of(bend: &str) -> Option<CharacteristicId> {
    CharacteristicId::new(&hand::plain(&format!("blank.line.{bend}"))).ok()
}

/// A place in picometres.
pub(crate) fn point(x: f64, y: f64) -> Point {
    Point {
        x: length(x),
        y: length(y),
    }
}

/// A length to draw.
pub(crate) fn length(pm: f64) -> Length {
    // Every dimension is at most 10 m, the tangent of half a bend at most 11.5, and a section has few legs.
    Measure::computed(pm)
        .length()
        .expect("what is drawn stays below a kilometre")
}

/// Whole degrees to draw.
pub(crate) fn degrees(degrees: i64) -> Angle {
    Angle::from_mas(degrees * 3_600_000).expect("at most one turn")
}
