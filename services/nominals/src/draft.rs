//! A characteristic as a family of parts gives it, before it has a number and limits.

use shared_types::{Angle, Length, Stage};

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
    pub(crate) if_small: &'static str,
    pub(crate) if_large: &'static str,
    /// Where in the part file it comes from, for mistakes that only its nominal shows.
    pub(crate) at: At,
}

/// A nominal not yet turned into a value.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Nominal {
    Length(Measure),
    /// An angle and its shorter leg, by which general tolerances of angles go.
    Angle(Angle, Length),
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
    let text = angle.degrees(4);
    format!("{}°", text.trim_end_matches('0').trim_end_matches('.'))
}
