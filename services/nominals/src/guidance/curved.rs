//! Flanges on curved bend lines: how far their edges stretch or shrink, and what that asks for.

use shared_types::{Sheet, Warning};

use crate::bend::Bend;
use crate::draft::{deg, mm};
use crate::measure::Measure;

/// A flute as pliers make it, at the free edge: 12 mm wide and 3 mm deep. Common practice, no source.
const FLUTE_WIDTH_MM: f64 = 12.0;
const FLUTE_DEPTH_MM: f64 = 3.0;

/// Elongation in two inches of thin sheet, typical, in hundredths: from memory.
const ELONGATION: [(&str, u8); 10] = [
    ("2024-O", 20),
    ("2024-T3", 18),
    ("3003-O", 30),
    ("3003-H14", 8),
    ("5052-O", 25),
    ("5052-H32", 12),
    ("5052-H34", 10),
    ("6061-O", 25),
    ("6061-T4", 22),
    ("6061-T6", 12),
];

/// A flange on a curved bend line.
pub(crate) struct Curve {
    /// Of the free edge as formed, either way: a part of its length on the blank.
    pub(crate) strain: f64,
    /// By how much the free edge becomes longer or shorter.
    pub(crate) change: Measure,
    /// Of the mold line in plan.
    pub(crate) radius: Measure,
    /// Of the mold line along the arc.
    pub(crate) along: Measure,
    /// Flat beyond the bend.
    pub(crate) flat: Measure,
    pub(crate) bend: Bend,
}

impl Curve {
    /// The rule, h being the flange's height and R the radius in plan.
    fn rule(&self, square: &str, other: &str) -> String {
        if self.bend.cos() == 0.0 {
            square.to_owned()
        } else {
            format!("{other}, A {} turned through", deg(self.bend.angle))
        }
    }

    fn percent(&self) -> String {
        format!("{:.1} %", self.strain * 100.0)
    }
}

/// What a flange on an edge that bows inward asks for.
pub(crate) fn stretch(what: &str, curve: &Curve, sheet: &Sheet) -> Warning {
    let alloy = sheet.alloy.trim();
    let elongation = ELONGATION
        .iter()
        .find(|(name, _)| alloy.eq_ignore_ascii_case(name));
    let against = match elongation {
        Some((name, hundredths)) => {
            let over = curve.strain * 100.0 > f64::from(*hundredths);
            let (word, advice) = if over {
                (
                    "more than",
                    "it will split: lower the flange, or cut it into tabs",
                )
            } else {
                (
                    "within",
                    "file and smooth its edge first, so that no nick starts a crack",
                )
            };
            format!(
                "{word} the {hundredths} % by which {name} typically lengthens before it breaks; {advice}"
            )
        }
        None => format!(
            "to be held against the elongation of {alloy}, for which no value is at hand; file and smooth its edge first, \
             so that no nick starts a crack"
        ),
    };
    Warning {
        what: format!(
            "{what}: its bend line bows inward at a radius of {}, and its free edge is stretched by {} ({}), {against}; work it \
             from the ends to the centre",
            mm(curve.radius),
            curve.percent(),
            curve.rule("h/(R − h)", "h (1 − cos A)/(R − h)")
        ),
        source: "geometry; FAA-H-8083-31, chapter 4, stretching concave flanges; elongation of alloys from memory"
            .to_owned(),
    }
}

/// What a flange on an edge that bows outward asks for.
pub(crate) fn shrink(what: &str, curve: &Curve) -> Warning {
    // An arc so flat is longer than its chord by 8 d²/(3 w).
    let each_mm = 8.0 * FLUTE_DEPTH_MM * FLUTE_DEPTH_MM / (3.0 * FLUTE_WIDTH_MM);
    let flutes = (curve.change.pm() / 1e9 / each_mm).ceil().max(1.0);
    let room = flutes * FLUTE_WIDTH_MM * 1e9 <= curve.along.pm();
    let plural = if flutes > 1.0 { "s" } else { "" };
    let advice = if room {
        format!("spread over the {} of the arc", mm(curve.along))
    } else {
        format!(
            "for which the {} of the arc have no room: lower the flange, notch it, or give the arc a larger radius",
            mm(curve.along)
        )
    };
    Warning {
        what: format!(
            "{what}: its bend line bows outward at a radius of {}, and its free edge is to shrink by {} ({}), {} over the \
             whole arc; that takes about {flutes} flute{plural} of {FLUTE_WIDTH_MM} mm width and {FLUTE_DEPTH_MM} mm depth at \
             the free edge, each {} long from there to the bend, {advice}; work it from the centre to the ends",
            mm(curve.radius),
            curve.percent(),
            curve.rule("h/(R + h)", "h (1 − cos A)/(R + h)"),
            mm(curve.change),
            mm(curve.flat)
        ),
        source: "geometry: the surplus length divided by what one flute takes up, 8 d²/(3 w); size of a flute by common \
                 practice, no source; FAA-H-8083-31, chapter 4, shrinking convex flanges"
            .to_owned(),
    }
}
