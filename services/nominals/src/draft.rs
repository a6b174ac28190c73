//! A characteristic as a family of parts gives it, before it has a number and limits.

use std::borrow::Cow;

use shared_types::{Angle, Length, Limits, Stage};

use crate::AllowanceRule;
use crate::bend::Bend;
use crate::form::At;
use crate::measure::Measure;

/// What a family says of one dimension at one stage.
#[derive(Clone, Debug)]
pub(crate) struct Draft {
    pub(crate) id: String,
    pub(crate) name: String,
    pub(crate) stage: Stage,
    pub(crate) nominal: Nominal,
    pub(crate) rule: String,
    pub(crate) how: String,
    pub(crate) if_small: Cow<'static, str>,
    pub(crate) if_large: Cow<'static, str>,
    /// Limits stated with the characteristic itself.
    pub(crate) own: Option<Limits>,
    /// Where in the part file it comes from, for mistakes that only its nominal shows.
    pub(crate) at: At,
}

/// A nominal not yet turned into a value.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Nominal {
    Length(Measure),
    /// An external radius, for which general tolerances have a table of their own.
    Radius(Measure),
    /// An angle and its shorter leg, by which general tolerances of angles go.
    Angle(Angle, Length),
    /// A gap, which may be nothing; its limits stand with it.
    Gap(Length),
}

impl Nominal {
    pub(crate) const fn is_angle(self) -> bool {
        matches!(self, Self::Angle(..))
    }
}

/// A computed length as it stands in a rule: millimetres to 0.001, for reading along with a rule on
/// paper; the nominal itself is finer.
pub(crate) fn mm(measure: Measure) -> String {
    measure.length().map_or_else(
        || "beyond 1 km".to_owned(),
        |length| {
            let text = length.rounded(shared_types::Unit::Millimetre, 3);
            format!("{} mm", text.trim_end_matches('0').trim_end_matches('.'))
        },
    )
}

/// An angle as it stands in a rule: degrees without needless decimals.
pub(crate) fn deg(angle: Angle) -> String {
    // To the hundredth at which nominals are shown: finer than any gauge on a bench.
    let text = angle.degrees(2);
    format!("{}°", text.trim_end_matches('0').trim_end_matches('.'))
}

/// A bend by both angles that people name it by.
pub(crate) fn both(bend: &Bend) -> String {
    format!(
        "{} turned through ({} between flange and web)",
        deg(bend.angle),
        deg(bend.between())
    )
}

/// A bend allowance with its rule and inputs.
pub(crate) fn allowance(
    rule: AllowanceRule,
    bend: &Bend,
    allowance: Measure,
    setback: Measure,
) -> String {
    let named = match rule {
        AllowanceRule::Empirical => {
            "(0.01743 R + 0.0078 T) A in degrees, empirical rule of FAA-H-8083-31 chapter 4"
                .to_owned()
        }
        AllowanceRule::KFactor(k) => format!("(R + {k} T) A in radians, k-factor"),
        AllowanceRule::Din6935 => "DIN 6935, k = 0.65 + 0.5 log10(R/T) up to 1".to_owned(),
    };
    format!(
        "BA {} = {named}; SB {} = tan(A/2) (R + T); R {}, T {}, A {}",
        mm(allowance),
        mm(setback),
        mm(bend.radius.into()),
        mm(bend.thickness.into()),
        both(bend)
    )
}
