//! Edges that are arcs: what is measured of them, and what a flange on them asks of the sheet.
//!
//! The blank of a flange on an arc is developed as along a straight bend, BA + h − SB square to the bend line. The
//! edge of such a flange is stretched or shrunk as it is worked up, which moves it a little in a way that hand work
//! decides; whoever needs it close makes it higher and trims it.

use shared_types::{Dimension, Warning};

use super::blank::{draft, has_ends};
use super::outline::Outline;
use super::shape::Shape;
use super::{Bent, millimetres};
use crate::contour::Piece;
use crate::draft::{Draft, Nominal, mm};
use crate::form::At;
use crate::guidance;
use crate::measure::Measure;
use crate::pen::linear;
use crate::stock::Stock;

/// What is measured of an arc: between its ends and over its rise where it has ends to find, its radius otherwise.
pub(super) enum Arc {
    Bow { chord: Measure, rise: Measure },
    Radius(Measure),
}

impl Arc {
    /// Nothing for a straight piece.
    pub(super) fn of(piece: &Piece, ends: bool) -> Option<Self> {
        let Piece::Arc { radius, sweep, .. } = *piece else {
            return None;
        };
        Some(if ends {
            let (sin, cos) = (sweep.abs() / 2.0).sin_cos();
            Self::Bow {
                chord: Measure::computed(2.0 * radius * sin),
                rise: Measure::computed(radius - radius * cos),
            }
        } else {
            Self::Radius(Measure::computed(radius))
        })
    }

    /// What is measured of a piece of the `whole`, each on a draft of the caller's. `radius_id` is how ids name the
    /// radius of an arc.
    pub(super) fn drafts(
        &self,
        outline: &Outline,
        piece: usize,
        whole: &str,
        rule: &str,
        radius_id: &str,
        base: impl Fn(String, String, Measure, At) -> Draft,
    ) -> Vec<Draft> {
        let (id, at) = (outline.id(piece), outline.at(piece));
        let named = format!("{} {whole}", outline.name(piece));
        match *self {
            Self::Bow { chord, rise } => vec![
                Draft {
                    rule: rule.to_owned(),
                    how: format!(
                        "Tips of the outside jaws over the two ends of {named}, in a straight line."
                    ),
                    ..base(
                        format!("chord.{id}"),
                        format!("across the ends of {named}"),
                        chord,
                        at,
                    )
                },
                Draft {
                    rule: format!(
                        "{rule}; from the line between its ends to the middle of the arc"
                    ),
                    how: format!(
                        "A straightedge from end to end of {named}: depth rod, or step, from it to the middle of the arc; \
                         where the arc bows outward, from a line scribed between its ends."
                    ),
                    ..base(format!("rise.{id}"), format!("rise of {named}"), rise, at)
                },
            ],
            Self::Radius(radius) => vec![Draft {
                rule: rule.to_owned(),
                how: format!(
                    "A template or radius gauge on {named}; type in the one that fits without light between."
                ),
                if_small: "See whether its ends or its middle are off.".into(),
                if_large: "See whether its ends or its middle are off.".into(),
                nominal: if outline.is_rounding(piece) {
                    Nominal::Radius(radius)
                } else {
                    Nominal::Length(radius)
                },
                ..base(
                    format!("{radius_id}.{id}"),
                    format!("radius of {named}"),
                    radius,
                    at,
                )
            }],
        }
    }

    /// How far its crown stands out beyond its chord, where it bows outward.
    pub(super) fn beyond(&self, bow: Option<f64>) -> f64 {
        match (self, bow) {
            (Self::Bow { rise, .. }, Some(bow)) if bow > 0.0 => rise.pm(),
            _ => 0.0,
        }
    }

    /// Both drawn on the piece, the chord's line `offset` to the left of its way.
    pub(super) fn dimensions(
        &self,
        stage: &str,
        radius_id: &str,
        id: &str,
        piece: &Piece,
        offset: f64,
    ) -> Vec<Option<Dimension>> {
        let (from, to, middle) = (piece.at(0.0), piece.at(1.0), piece.at(0.5));
        match self {
            Self::Bow { .. } => {
                let between = [0, 1].map(|axis| (from[axis] + to[axis]) / 2.0);
                vec![
                    linear(&format!("{stage}.chord.{id}"), from, to, offset),
                    linear(&format!("{stage}.rise.{id}"), between, middle, 0.0),
                ]
            }
            Self::Radius(_) => match *piece {
                Piece::Arc { centre, .. } => {
                    vec![linear(
                        &format!("{stage}.{radius_id}.{id}"),
                        centre,
                        middle,
                        0.0,
                    )]
                }
                Piece::Line { .. } => Vec::new(),
            },
        }
    }
}

/// The arcs of the blank, each as it is cut.
fn arcs<'s>(shape: &'s Shape<'_>) -> impl Iterator<Item = (usize, Piece, Arc)> + 's {
    (0..shape.count()).filter_map(|edge| {
        let rim = shape.web.beyond(edge, shape.extent(edge).pm())?;
        let arc = Arc::of(&rim, has_ends(shape, edge))?;
        Some((edge, rim, arc))
    })
}

pub(super) fn blank(shape: &Shape<'_>) -> Vec<Draft> {
    arcs(shape)
        .flat_map(|(edge, _, arc)| {
            let web = millimetres(shape.web.bow(edge).unwrap_or_default().abs());
            let rule = match &shape.bents[edge] {
                None => "as the plan gives the arc".to_owned(),
                Some(bent) => format!(
                    "arc of radius {web} at the bend tangent line on the web, and {} = BA + h − SB beyond it, taken as \
                     along a straight bend",
                    mm(bent.extent())
                ),
            };
            arc.drafts(shape.outline(), edge, "of the blank", &rule, "radius", draft)
        })
        .collect()
}

pub(super) fn dimensions(shape: &Shape<'_>, away: f64) -> Vec<Option<Dimension>> {
    let out = if shape.web.is_counter_clockwise() {
        -away
    } else {
        away
    };
    arcs(shape)
        .flat_map(|(edge, rim, arc)| {
            let offset = out + arc.beyond(shape.web.bow(edge)).copysign(out);
            arc.dimensions("blank", "radius", &shape.id(edge), &rim, offset)
        })
        .collect()
}

/// How a flange is strained by the arc that its bend line runs along.
pub(super) struct Strain {
    /// Of the free edge: above zero stretched, below shrunk.
    pub(super) part: f64,
    /// By how much the free edge is too short or too long, over the whole arc.
    pub(super) change: Measure,
    /// Of the bend's mold line in plan.
    pub(super) radius: f64,
    /// Of the bend's mold line along the arc.
    pub(super) along: f64,
}

impl Strain {
    /// At the mold line the sheet keeps its length; its edge, h away, lies on another radius flat than formed.
    pub(super) fn of(shape: &Shape<'_>, edge: usize, bent: &Bent<'_>) -> Option<Self> {
        let Piece::Arc { sweep, .. } = *shape.web.piece(edge) else {
            return None;
        };
        let bow = shape.web.bow(edge)?;
        // Outward from the web's tangent line to the mold line.
        let radius = bow.abs() + shape.mold[edge].pm().copysign(bow);
        let h = bent.flange.formed.pm() as f64;
        let flat = radius + h.copysign(bow);
        let formed = radius + (h * bent.bend.cos()).copysign(h * bent.bend.cos() * bow);
        (flat > 0.0 && radius > 0.0).then(|| Self {
            part: formed / flat - 1.0,
            change: Measure::computed((formed - flat) * sweep.abs()),
            radius,
            along: radius * sweep.abs(),
        })
    }
}

pub(super) fn warnings(shape: &Shape<'_>, stock: &Stock) -> Vec<Warning> {
    shape
        .bent()
        .filter_map(|(edge, bent)| {
            let strain = Strain::of(shape, edge, bent)?;
            let what = format!("flange on {}", shape.name(edge));
            Some(if strain.part > 0.0 {
                guidance::stretch(&what, &strain.curve(bent), &stock.sheet)
            } else {
                guidance::shrink(&what, &strain.curve(bent))
            })
        })
        .collect()
}

impl Strain {
    fn curve(&self, bent: &Bent<'_>) -> guidance::Curve {
        guidance::Curve {
            strain: self.part.abs(),
            change: Measure::computed(self.change.pm().abs()),
            radius: Measure::computed(self.radius),
            along: Measure::computed(self.along),
            flat: bent.line(),
            bend: bent.bend,
        }
    }
}
