//! What each kind of line on a layout means, and how it looks on every kind of file.

use shared_types::Layer;

/// A kind of line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Ink {
    /// Dimension lines.
    Dimension,
    /// Everything written.
    Text,
    /// An edge that is not cut here.
    Hidden,
    /// A line to mark that is neither cut nor a bend tangent line: sight lines, the whole circle of a relief hole.
    Scribe,
    /// A bend tangent line.
    Bend,
    /// The cross in the middle of a hole.
    Centre,
    /// The cut face of a section.
    Section,
    /// A line to cut.
    Cut,
}

impl From<Layer> for Ink {
    fn from(layer: Layer) -> Self {
        match layer {
            Layer::Cut => Self::Cut,
            Layer::Bend => Self::Bend,
            Layer::Section => Self::Section,
            Layer::Hidden => Self::Hidden,
        }
    }
}

/// In the order they are drawn: what is cut lies on top of everything.
pub(crate) const INKS: [Ink; 8] = [
    Ink::Dimension,
    Ink::Text,
    Ink::Hidden,
    Ink::Scribe,
    Ink::Bend,
    Ink::Centre,
    Ink::Section,
    Ink::Cut,
];

impl Ink {
    /// Its layer in a DXF file.
    pub(crate) const fn layer(self) -> &'static str {
        match self {
            Self::Dimension => "DIMENSION",
            Self::Text => "TEXT",
            Self::Hidden => "HIDDEN",
            Self::Scribe => "SCRIBE",
            Self::Bend => "BEND",
            Self::Centre => "CENTRE",
            Self::Section => "SECTION",
            Self::Cut => "CUT",
        }
    }

    /// Its group's name in an SVG file, after that of its view.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Dimension => "dimension",
            Self::Text => "text",
            Self::Hidden => "hidden",
            Self::Scribe => "scribe",
            Self::Bend => "bend",
            Self::Centre => "centre",
            Self::Section => "section",
            Self::Cut => "cut",
        }
    }

    /// Red, green, blue. Only what is cut is black, and every kind has its own dashes: a printer without
    /// colours tells them apart too.
    pub(crate) const fn colour(self) -> [u8; 3] {
        match self {
            Self::Dimension => [110, 110, 110],
            Self::Text => [60, 60, 60],
            Self::Hidden => [150, 150, 150],
            Self::Scribe => [0, 125, 70],
            Self::Bend => [0, 80, 190],
            Self::Centre => [190, 40, 20],
            Self::Section | Self::Cut => [0, 0, 0],
        }
    }

    /// Width of the line in millimetres: thin, for one cuts to its middle.
    pub(crate) const fn wide_mm(self) -> f64 {
        match self {
            Self::Dimension | Self::Text | Self::Hidden => 0.1,
            Self::Scribe | Self::Centre => 0.13,
            Self::Bend => 0.15,
            Self::Section | Self::Cut => 0.18,
        }
    }

    /// Dash, gap, dash, gap in millimetres; none for a whole line.
    pub(crate) const fn dashes_mm(self) -> &'static [f64] {
        match self {
            Self::Bend => &[6.0, 1.2, 1.0, 1.2],
            Self::Scribe => &[2.4, 1.4],
            Self::Hidden => &[1.2, 1.2],
            _ => &[],
        }
    }

    /// The colour's number in a DXF file's own palette, and its line type.
    pub(crate) const fn dxf(self) -> (u8, &'static str) {
        match self {
            Self::Dimension | Self::Text | Self::Hidden => (8, "CONTINUOUS"),
            Self::Scribe => (3, "DASHED"),
            Self::Bend => (5, "DASHDOT"),
            Self::Centre => (1, "CONTINUOUS"),
            Self::Section | Self::Cut => (7, "CONTINUOUS"),
        }
    }
}
