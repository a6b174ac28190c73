//! Plain geometry to draw: what a part looks like, and where each characteristic is measured.
//! Coordinates are lengths on the part at full size, x to the right and y up.

use serde::{Deserialize, Serialize};

use crate::{Angle, CharacteristicId, Length, Stage};

/// A place on a view.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Point {
    /// To the right.
    pub x: Length,
    /// Up.
    pub y: Length,
}

/// What a stroke means to the person who cuts or bends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Layer {
    /// A visible edge of the piece, or a line to cut.
    Cut,
    /// A bend tangent line to scribe.
    Bend,
    /// The cut face of a section.
    Section,
    /// An edge behind.
    Hidden,
}

/// The shape of a stroke.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum StrokeShape {
    /// A straight line.
    Line {
        /// From here.
        from: Point,
        /// To here.
        to: Point,
    },
    /// A full circle.
    Circle {
        /// Its centre.
        centre: Point,
        /// Its radius.
        radius: Length,
    },
    /// Part of a circle.
    Arc {
        /// Its centre.
        centre: Point,
        /// Its radius.
        radius: Length,
        /// Where it begins, counter-clockwise from the x axis.
        start: Angle,
        /// How far it goes, counter-clockwise; negative goes clockwise.
        sweep: Angle,
    },
}

/// One stroke of a view.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stroke {
    /// What it means.
    pub layer: Layer,
    /// What it is.
    pub shape: StrokeShape,
}

/// How a dimension is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DimensionShape {
    /// Between two points, the dimension line `offset` to the left of the direction from → to
    /// (negative: to the right).
    Linear {
        /// First point on the piece.
        from: Point,
        /// Second point on the piece.
        to: Point,
        /// Distance of the dimension line.
        offset: Length,
    },
    /// Across a circle.
    Diameter {
        /// Its centre.
        centre: Point,
        /// Its radius.
        radius: Length,
    },
    /// Between two directions at a corner.
    Angle {
        /// The corner.
        vertex: Point,
        /// A point on the first leg.
        from: Point,
        /// A point on the second leg, counter-clockwise from the first.
        to: Point,
    },
}

/// A characteristic's place on a view.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Dimension {
    /// Which one.
    pub characteristic: CharacteristicId,
    /// Where and how.
    pub shape: DimensionShape,
}

/// One view of a part at one stage.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct View {
    /// The stage it shows.
    pub stage: Stage,
    /// Its title, as `from outside` or `section through the left flange`.
    pub title: String,
    /// What is there.
    pub strokes: Vec<Stroke>,
    /// What is measured there.
    pub dimensions: Vec<Dimension>,
}
