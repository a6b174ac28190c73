//! A flanged lightening hole: what to cut in the blank so that the finished opening comes out, and how much
//! the rim is stretched on the way.
//!
//! The blank is developed along a section through the axis as for a straight flange: the length of the sheet
//! there is kept. The rim is stretched round the axis instead, from what was cut to the opening.

use shared_types::{Length, Warning};

use super::{Hole, Kind};
use crate::AllowanceRule;
use crate::bend::Bend;
use crate::draft::{allowance, deg, mm};
use crate::measure::Measure;
use crate::part::DIMENSION_MAX_MM;

/// Stretch of the rim above which it is warned of, in hundredths. Handbooks give elongations of a straight
/// specimen, which a cut rim does not reach.
const STRETCH_PERCENT_MAX: f64 = 10.0;

/// The flange round a hole.
#[derive(Debug)]
pub(crate) struct Flanged {
    /// Where the flange leaves it narrowest: at its free edge, or at the bulge of a bend past square.
    pub(crate) opening: Length,
    /// Along the outer face from the mold line.
    pub(crate) height: Length,
    pub(crate) bend: Bend,
    pub(super) allowance: Measure,
    rule: AllowanceRule,
    /// The diameter cut in the blank.
    pub(super) cut: Measure,
}

impl Flanged {
    /// The hole solved, or the key that is wrong and what is wrong with it.
    pub(super) fn new(
        opening: Length,
        height: Length,
        bend: Bend,
        rule: AllowanceRule,
    ) -> Result<Self, (&'static str, String)> {
        if bend.cos() < 0.0 {
            return Err((
                "angle",
                format!(
                    "found {}, expected at most 90°: a hole's flange turned past square cannot be worked over a die",
                    deg(bend.angle)
                ),
            ));
        }
        let setback = bend.setback_measure();
        if (Measure::exact(height) - setback).pm() <= 0.0 {
            return Err((
                "height",
                format!(
                    "found {height}, which ends within the bend, expected more than its setback of {}",
                    mm(setback)
                ),
            ));
        }
        let Some(allowance) = bend.allowance_measure(rule) else {
            return Err((
                "radius",
                format!(
                    "{rule} has no bend allowance for a radius of {} on sheet of {}, expected a larger radius or another \
                     rule for the build",
                    mm(bend.radius.into()),
                    mm(bend.thickness.into())
                ),
            ));
        };
        let mut flanged = Self {
            opening,
            height,
            bend,
            allowance,
            rule,
            cut: Measure::ZERO,
        };
        let extent = allowance + Measure::exact(height) - setback;
        flanged.cut = flanged.tangent() - extent - extent;
        if flanged.cut.pm() <= 0.0 {
            return Err((
                "height",
                format!(
                    "found {height}, for which an opening of {opening} has too little metal: the hole in the blank would be \
                     {}, expected a lower flange or a larger opening",
                    mm(flanged.cut)
                ),
            ));
        }
        // A bend of small angle and large radius begins far out.
        if flanged.tangent().pm() > (DIMENSION_MAX_MM * shared_types::PM_PER_MM) as f64 {
            return Err((
                "radius",
                format!(
                    "its bend begins on a circle of {}, expected at most {DIMENSION_MAX_MM} mm: a smaller radius",
                    mm(flanged.tangent())
                ),
            ));
        }
        Ok(flanged)
    }

    /// Diameter of the mold line, where the web's outside face and the flange's outer face cross.
    pub(super) fn mold_line(&self) -> Measure {
        let inward = Measure::exact(self.height).times(self.bend.cos());
        Measure::exact(self.opening) + inward + inward
    }

    /// Diameter of the bend tangent line on the web.
    pub(super) fn tangent(&self) -> Measure {
        let setback = self.bend.setback_measure();
        self.mold_line() + setback + setback
    }

    /// From the web's outside face to the farthest point of the flange's edge.
    pub(super) fn overall(&self) -> Measure {
        Measure::exact(self.height).times(self.bend.sin())
            + Measure::exact(self.bend.thickness).times(self.bend.cos())
    }

    /// How the diameter in the blank follows.
    pub(super) fn rule(&self) -> String {
        format!(
            "tangent line {} = opening {} + 2 h cos A + 2 SB, less twice BA + h − SB, h {}; developed in a section through \
             the axis; {}",
            mm(self.tangent()),
            mm(self.opening.into()),
            mm(self.height.into()),
            allowance(
                self.rule,
                &self.bend,
                self.allowance,
                self.bend.setback_measure()
            )
        )
    }

    /// By how much of itself the rim grows.
    fn stretch(&self) -> f64 {
        let opening = Measure::exact(self.opening).pm();
        (opening - self.cut.pm()) / self.cut.pm()
    }
}

/// What there is to say of the flanges round holes.
pub(crate) fn warnings(holes: &[Hole]) -> Vec<Warning> {
    let mut told = Vec::new();
    for hole in holes {
        let Kind::Flanged(flanged) = &hole.kind else {
            continue;
        };
        let percent = 100.0 * flanged.stretch();
        if percent > STRETCH_PERCENT_MAX {
            told.push(Warning {
                what: format!(
                    "{}: its rim is stretched by {percent:.0} %, from {} in the blank to {} when flanged, above \
                     {STRETCH_PERCENT_MAX:.0} %, where a rim tears; polish it before forming, or take a lower flange, a \
                     smaller angle or a softer temper",
                    hole.called,
                    mm(flanged.cut),
                    mm(flanged.opening.into())
                ),
                source: "stretch e = (d − d0)/d0 from geometry; its bound from common practice, no source".to_owned(),
            });
        }
    }
    told
}
