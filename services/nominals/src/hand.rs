//! The two hands of a part: its sides named for either, and its views mirrored.
//!
//! A part is computed once, as its left piece. Wherever a sentence names a side it writes [`LEFT`] or
//! [`RIGHT`], and the sentence is [`said`] for a hand when it is finished. So the person's own words, a
//! lightening hole called "left", stay what they are on both pieces.

use shared_types::{
    Angle, Dimension, DimensionShape, Hand, Length, Mirrored, Point, Stroke, StrokeShape, View,
    Words,
};

use crate::draft::Draft;

/// What is left on the plan's own piece. No keyboard writes these two characters.
pub(crate) const LEFT: &str = "\u{E000}";
/// What is right on it.
pub(crate) const RIGHT: &str = "\u{E001}";

/// A sentence in the words of a hand.
pub(crate) fn said(text: &str, hand: Hand) -> String {
    let (left, right) = match hand {
        Hand::Left => ("left", "right"),
        Hand::Right => ("right", "left"),
    };
    text.replace(LEFT, left).replace(RIGHT, right)
}

/// A sentence in the plan's own words.
pub(crate) fn plain(text: &str) -> String {
    said(text, Hand::Left)
}

/// A view in the plan's own words.
pub(crate) fn view_said(mut view: View) -> View {
    view.title = plain(&view.title);
    view
}

/// What differs on the right piece: the drafts are those of the characteristics, in their order.
pub(crate) fn mirrored<'d>(drafts: impl Iterator<Item = &'d Draft>, views: &[View]) -> Mirrored {
    let words = drafts.map(|draft| Words {
        name: said(&draft.name, Hand::Right),
        how: said(&draft.how, Hand::Right),
        if_small: said(&draft.if_small, Hand::Right),
        if_large: said(&draft.if_large, Hand::Right),
    });
    Mirrored {
        words: words.collect(),
        views: views.iter().map(mirror).collect(),
    }
}

/// A view in the mirror, x become −x, its title in the words of the right piece.
fn mirror(view: &View) -> View {
    let strokes = view.strokes.iter().map(|stroke| Stroke {
        layer: stroke.layer,
        shape: stroke_shape(stroke.shape),
    });
    let dimensions = view.dimensions.iter().map(|dimension| Dimension {
        characteristic: dimension.characteristic.clone(),
        shape: dimension_shape(dimension.shape),
    });
    View {
        stage: view.stage,
        title: said(&view.title, Hand::Right),
        strokes: strokes.collect(),
        dimensions: dimensions.collect(),
    }
}

fn stroke_shape(shape: StrokeShape) -> StrokeShape {
    match shape {
        StrokeShape::Line { from, to } => StrokeShape::Line {
            from: place(from),
            to: place(to),
        },
        StrokeShape::Circle { centre, radius } => StrokeShape::Circle {
            centre: place(centre),
            radius,
        },
        // What began so far from +x begins so far from −x, and goes the other way round.
        StrokeShape::Arc {
            centre,
            radius,
            start,
            sweep,
        } => StrokeShape::Arc {
            centre: place(centre),
            radius,
            start: angle(180 * 3_600_000 - start.mas()),
            sweep: angle(-sweep.mas()),
        },
    }
}

fn dimension_shape(shape: DimensionShape) -> DimensionShape {
    match shape {
        // Left of the way from → to is right of it in the mirror.
        DimensionShape::Linear { from, to, offset } => DimensionShape::Linear {
            from: place(from),
            to: place(to),
            offset: negative(offset),
        },
        DimensionShape::Diameter { centre, radius } => DimensionShape::Diameter {
            centre: place(centre),
            radius,
        },
        // Counter-clockwise from the first to the second is clockwise in the mirror.
        DimensionShape::Angle { vertex, from, to } => DimensionShape::Angle {
            vertex: place(vertex),
            from: place(to),
            to: place(from),
        },
    }
}

fn place(point: Point) -> Point {
    Point {
        x: negative(point.x),
        y: point.y,
    }
}

fn negative(length: Length) -> Length {
    Length::from_pm(-length.pm()).expect("the range of a length has no sign")
}

fn angle(mas: i64) -> Angle {
    Angle::from_mas(mas).expect("what is drawn turns at most twice")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::BuildRules;
    use crate::part::part;

    #[test]
    fn a_view_mirrored_twice_is_itself() {
        let rules = BuildRules {
            general: "m".parse().unwrap(),
            allowance: "empirical".parse().unwrap(),
        };
        for text in [
            include_str!("../../../demo-readings/parts/B1.toml"),
            include_str!("../../../demo-readings/parts/B2.toml"),
            include_str!("../../../demo-readings/parts/C1.toml"),
            include_str!("../../../demo-readings/parts/G1.toml"),
            include_str!("../../../demo-readings/parts/R1.toml"),
        ] {
            let plan = part("part.toml", text, &rules).unwrap();
            for view in &plan.views {
                assert_ne!(mirror(view).strokes, view.strokes);
                assert_eq!(&mirror(&mirror(view)), view);
            }
        }
    }
}
