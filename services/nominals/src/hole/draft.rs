//! What is measured of a hole.

use shared_types::{Angle, Length, Stage};

use super::{Flanged, Hole, Kind, Row};
use crate::draft::{Draft, Nominal, deg, mm};
use crate::measure::Measure;

/// What to do about a hole in the wrong place.
pub(crate) const NOT_MOVED: &str = "The hole cannot be moved: ask what the plan allows.";
/// What to do about a hole that is too large.
const NOT_BACK: &str = "It cannot be put back: ask what the plan allows.";

impl Hole {
    /// What is measured of it wherever it lies: its size, what stands between the holes of its row, and its
    /// flange once that is formed.
    pub(crate) fn own_drafts(&self) -> Vec<Draft> {
        match &self.kind {
            Kind::Round { diameter } => self.round(*diameter),
            Kind::Slot {
                length,
                width,
                angle,
            } => self.slot(*length, *width, *angle),
            Kind::Flanged(flanged) => self.flanged(flanged),
        }
    }

    fn round(&self, diameter: Length) -> Vec<Draft> {
        let (called, how) = match self.row {
            Row::Alone => (self.called.clone(), self.turned()),
            Row::First { .. } => (
                format!("the holes of {}", self.row_called()),
                format!(
                    "Inside jaws across each hole of {}; the worst one counts.",
                    self.row_called()
                ),
            ),
            Row::Between | Row::Last => return Vec::new(),
        };
        let across = Draft {
            name: format!("diameter of {called}"),
            how,
            ..self.blank("diameter", Measure::exact(diameter))
        };
        let Row::First { step } = self.row else {
            return vec![across];
        };
        let pitch = Measure::computed(step[0].hypot(step[1]));
        let row = self.row_called();
        let between = Draft {
            name: format!("between neighbouring holes of {row}"),
            rule: format!(
                "pitch {}, the row shared out evenly, less the diameter {}",
                mm(pitch),
                mm(diameter.into())
            ),
            how: format!(
                "Tips of the outside jaws in two neighbouring holes of {row}, over the metal between them; the worst pair \
                 counts."
            ),
            if_small: NOT_MOVED.into(),
            if_large: NOT_MOVED.into(),
            ..self.blank("between", pitch - Measure::exact(diameter))
        };
        vec![across, between]
    }

    fn slot(&self, length: Length, width: Length, angle: Angle) -> Vec<Draft> {
        let called = &self.called;
        let mut drafts = vec![
            Draft {
                name: format!("length of {called}"),
                how: format!("Inside jaws in {called}, along it, from round end to round end."),
                ..self.blank("length", Measure::exact(length))
            },
            Draft {
                name: format!("width of {called}"),
                how: format!(
                    "Inside jaws across {called}, square to it, at both ends and in the middle; the worst one counts."
                ),
                ..self.blank("width", Measure::exact(width))
            },
        ];
        // Along an axis both of its places already say how it lies.
        if angle.mas() % (90 * 3_600_000) != 0 {
            drafts.push(Draft {
                name: format!("angle of {called} from the x axis"),
                nominal: Nominal::Angle(angle, length),
                rule: format!("{} from the x axis, counter-clockwise, as the plan gives it", deg(angle)),
                how: format!(
                    "One blade of the angle gauge along a straightedge laid with the x axis, the other along a straight \
                     side of {called}."
                ),
                if_small: NOT_MOVED.into(),
                if_large: NOT_MOVED.into(),
                ..self.blank("angle", Measure::ZERO)
            });
        }
        drafts
    }

    fn flanged(&self, flanged: &Flanged) -> Vec<Draft> {
        let called = &self.called;
        let formed = |kind: &str, name: String, nominal: Nominal| Draft {
            id: format!("formed.{kind}.{}", self.group),
            name,
            stage: Stage::Formed,
            nominal,
            ..self.blank("", Measure::ZERO)
        };
        let (turned, between) = (flanged.bend.angle, flanged.bend.between());
        vec![
            Draft {
                name: format!("diameter of {called} before it is flanged"),
                rule: flanged.rule(),
                how: self.turned(),
                ..self.blank("diameter", flanged.cut)
            },
            Draft {
                how: format!(
                    "Inside jaws across {called}, at the free edge of its flange, turned until the reading is largest."
                ),
                if_small: "Work the flange round further, or open it up to size.".into(),
                ..formed(
                    "opening",
                    format!("opening of {called}, flanged"),
                    Nominal::Length(Measure::exact(flanged.opening)),
                )
            },
            Draft {
                rule: format!(
                    "h sin A + T cos A (the inner edge of a flange bent less than square stands higher); h {} along the \
                     outer face from the mold line, T {}, A {}",
                    mm(flanged.height.into()),
                    mm(flanged.bend.thickness.into()),
                    deg(turned)
                ),
                how: format!(
                    "Depth rod or outside jaws from the web's outside face to the farthest point of the edge of the flange \
                     of {called}; at several places round it, the worst one counts."
                ),
                if_small: NOT_BACK.into(),
                if_large: "File it down to height.".into(),
                ..formed(
                    "height",
                    format!("height of the flange of {called}"),
                    Nominal::Length(flanged.overall()),
                )
            },
            Draft {
                rule: format!(
                    "180° − A = {}, A {} being the bend angle turned through (0° = flat)",
                    deg(between),
                    deg(turned)
                ),
                how: format!(
                    "One blade of the angle gauge on the web's outside face, the other down the flange of {called}. It \
                     should show {} between flange and web, which is a bend turned through {}.",
                    deg(between),
                    deg(turned)
                ),
                if_small: "Ease the flange back.".into(),
                if_large: "Work the flange further.".into(),
                ..formed(
                    "angle",
                    format!("angle between the flange of {called} and the web"),
                    Nominal::Angle(between, flanged.height),
                )
            },
        ]
    }

    /// From an edge to the near side of the hole, `reach` from its middle: `blank.hole.1.x`.
    pub(crate) fn place_draft(
        &self,
        letter: &str,
        from: &str,
        centre: Measure,
        rule: &str,
        reach: Measure,
    ) -> Draft {
        let called = &self.called;
        let less = match &self.kind {
            Kind::Slot { .. } => format!("less {} from its middle to its side", mm(reach)),
            Kind::Round { .. } | Kind::Flanged(_) => {
                format!("less half the diameter {}", mm(self.diameter()))
            }
        };
        Draft {
            id: self.place_id(letter),
            name: format!("{from} to {called}"),
            rule: format!("{rule}; {less}"),
            how: format!(
                "From the {from} of the blank to the near side of {called}: one outside jaw there, the tip of the \
                 other in the hole."
            ),
            if_small: NOT_MOVED.into(),
            if_large: NOT_MOVED.into(),
            ..self.blank("", centre - reach)
        }
    }

    fn turned(&self) -> String {
        format!(
            "Inside jaws across {}, turned until the reading is largest.",
            self.called
        )
    }

    /// A size in the blank as the plan gives it.
    fn blank(&self, kind: &str, nominal: Measure) -> Draft {
        Draft {
            id: format!("blank.{}.{kind}", self.group),
            name: String::new(),
            stage: Stage::Blank,
            nominal: Nominal::Length(nominal),
            rule: "as the plan gives it".to_owned(),
            how: String::new(),
            if_small: "Open it up to size.".into(),
            if_large: NOT_BACK.into(),
            own: None,
            at: self.at,
        }
    }
}
