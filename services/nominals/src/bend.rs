//! One bend: setback, bend allowance, bend deduction, and where its mold lines lie.

use shared_types::{Angle, Length};

use crate::AllowanceRule;
use crate::measure::Measure;

/// Largest bend angle: beyond it the mold lines run out of any sheet (the tangent of half a half turn
/// has no end), and a flange closed that far is a hem with rules of its own.
pub const BEND_ANGLE_MAX_DEG: i64 = 170;

const MAS_PER_DEGREE: i64 = 3_600_000;

/// A bend in a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bend {
    /// T.
    pub thickness: Length,
    /// R, inside.
    pub radius: Length,
    /// A, the angle turned through: 0 is flat.
    pub angle: Angle,
}

impl Bend {
    /// K = tan(A/2): what the sum of radius and thickness is multiplied by.
    #[must_use]
    pub fn k(&self) -> f64 {
        if self.is_square() {
            1.0
        } else {
            (self.radians() / 2.0).tan()
        }
    }

    /// SB = K (R + T), from the outside mold line back to the bend tangent line; rounded.
    #[must_use]
    pub fn setback(&self) -> Option<Length> {
        self.setback_measure().length()
    }

    /// BA by a rule, rounded; `None` where the rule has no value for so small a radius.
    #[must_use]
    pub fn allowance(&self, rule: AllowanceRule) -> Option<Length> {
        self.allowance_measure(rule)?.length()
    }

    /// BD = 2 SB − BA: what the blank is shorter than the sum of the mold-line dimensions.
    #[must_use]
    pub fn deduction(&self, rule: AllowanceRule) -> Option<Length> {
        let setback = self.setback_measure();
        (setback + setback - self.allowance_measure(rule)?).length()
    }

    pub(crate) fn setback_measure(&self) -> Measure {
        (Measure::exact(self.radius) + Measure::exact(self.thickness)).times(self.k())
    }

    /// From the inside mold line out to the outside mold line, along the web.
    pub(crate) fn mold_line_offset(&self) -> Measure {
        Measure::exact(self.thickness).times(self.k())
    }

    pub(crate) fn allowance_measure(&self, rule: AllowanceRule) -> Option<Measure> {
        let (r, t) = (self.radius.pm() as f64, self.thickness.pm() as f64);
        let pm = match rule {
            // The constants are the handbook's own and take the angle in degrees.
            AllowanceRule::Empirical => (0.01743 * r + 0.0078 * t) * self.degrees(),
            AllowanceRule::KFactor(k) => (r + k.ratio() * t) * self.radians(),
            // Up to 15° (an opening angle of 165° and more) the standard deducts nothing.
            AllowanceRule::Din6935 if self.angle.mas() <= 15 * MAS_PER_DEGREE => {
                2.0 * self.setback_measure().pm()
            }
            AllowanceRule::Din6935 => {
                let k = din_factor(r / t)?;
                (r + t * k / 2.0) * self.radians()
            }
        };
        Some(Measure::computed(pm))
    }

    pub(crate) fn sin(&self) -> f64 {
        if self.is_square() {
            1.0
        } else {
            self.radians().sin()
        }
    }

    pub(crate) fn cos(&self) -> f64 {
        if self.is_square() {
            0.0
        } else {
            self.radians().cos()
        }
    }

    /// The angle between flange and web, as an angle gauge reads it: 180° − A.
    #[must_use]
    pub fn between(&self) -> Angle {
        Angle::from_mas(180 * MAS_PER_DEGREE - self.angle.mas())
            .expect("the difference of a half turn and a bend angle is below ten turns")
    }

    /// Half of all bends are square; their factors are 1 and 0 exactly, not a float's nearest.
    fn is_square(&self) -> bool {
        self.angle.mas() == 90 * MAS_PER_DEGREE
    }

    fn degrees(&self) -> f64 {
        self.angle.mas() as f64 / MAS_PER_DEGREE as f64
    }

    pub(crate) fn radians(&self) -> f64 {
        self.degrees().to_radians()
    }
}

/// DIN 6935's k for a ratio of radius to thickness. Below about 0.05 the formula turns negative: the
/// standard has no answer there.
fn din_factor(ratio: f64) -> Option<f64> {
    let k = if ratio > 5.0 {
        1.0
    } else {
        0.65 + 0.5 * ratio.log10()
    };
    (k > 0.0).then_some(k.min(1.0))
}
