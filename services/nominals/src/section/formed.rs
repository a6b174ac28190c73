//! The bent section: each leg, each angle, and over everything.

use shared_types::{Length, Stage};

use super::solved::{Solid, Solved};
use crate::draft::{Draft, Nominal, deg, mm};
use crate::form::At;
use crate::measure::Measure;

const NOT_BACK: &str = "It cannot be put back: ask what the plan allows.";

/// Two nominals nearer than this are one dimension: twice the grain to which each was rounded.
const SAME_PM_MAX: i64 = 200_000;

pub(super) fn drafts(solved: &Solved<'_>) -> Vec<Draft> {
    let legs = 0..solved.flats.len();
    let mut drafts: Vec<Draft> = legs.map(|leg| of_leg(solved, leg)).collect();
    drafts.extend((0..solved.bends.len()).map(|bend| angle(solved, bend)));
    drafts.extend(OVERALL.into_iter().filter_map(|over| overall(solved, over)));
    drafts
}

/// What trimming leaves: the trimmed legs, over everything, and the strip's length.
pub(super) fn trimmed(solved: &Solved<'_>) -> Vec<Draft> {
    let legs = (0..solved.flats.len()).filter(|leg| solved.is_trimmed(*leg));
    let mut drafts: Vec<Draft> = legs.map(|leg| of_leg(solved, leg)).collect();
    if !drafts.is_empty() {
        drafts.extend(OVERALL.into_iter().filter_map(|over| overall(solved, over)));
    }
    if solved.section.finished.length.is_some() {
        drafts.push(Draft {
            rule: "as the plan gives it".to_owned(),
            how: "Outside jaws or the beam's tips over both ends of the section, along a leg; on every leg, the worst one \
                  counts."
                .to_owned(),
            if_large: "Trim an end down to the line, square to the bends.".into(),
            ..draft(
                solved.stage,
                "length",
                "finished length of the section".to_owned(),
                Nominal::Length(Measure::exact(solved.section.length)),
                solved.section.length_at,
            )
        });
    }
    drafts
}

fn draft(stage: Stage, id: &str, name: String, nominal: Nominal, at: At) -> Draft {
    Draft {
        id: format!("{stage}.{id}"),
        name,
        stage,
        nominal,
        rule: String::new(),
        how: String::new(),
        if_small: NOT_BACK.into(),
        if_large: NOT_BACK.into(),
        own: None,
        at,
    }
}

fn of_leg(solved: &Solved<'_>, leg: usize) -> Draft {
    let (_, at) = solved.section.legs[leg];
    let number = leg + 1;
    let nominal = Nominal::Length(solved.leg(leg));
    let base = draft(
        solved.stage,
        &format!("leg.{number}"),
        format!("leg {number}, from the outside of its bend"),
        nominal,
        at,
    );
    let ends = solved.ends(leg);
    let t = mm(solved.thickness.into());
    if let Some(neighbour) = solved.is_square_to_neighbour(leg)
        && let Some(solid) = ends.into_iter().flatten().next()
    {
        return Draft {
            name: format!("height of leg {number} above leg {}", neighbour + 1),
            rule: format!(
                "h sin A + T cos A; h {} from the outside mold line along the outer face, T {t}, A {}",
                mm(solved.mold_line(leg)),
                deg(solid.bend.angle)
            ),
            how: format!(
                "Outside jaws from the outer face of leg {} to the farthest point of leg {number}'s free edge, square to \
                 leg {}; at several places along it, the worst one counts.",
                neighbour + 1,
                neighbour + 1
            ),
            if_large: "Trim it down to height.".into(),
            ..base
        };
    }
    let reaches: Vec<String> = ends
        .into_iter()
        .flatten()
        .map(|solid| {
            if solid.is_open() {
                format!("{} = (R + T) sin A", mm(solid.reach()))
            } else {
                format!("{} = R + T", mm(solid.reach()))
            }
        })
        .collect();
    let rule = format!(
        "flat {} between tangent lines and free edges, plus over each bend {}",
        mm(solved.flats[leg]),
        reaches.join(" and ")
    );
    let past = ends
        .into_iter()
        .flatten()
        .any(|solid| solid.bend.cos() < 0.0);
    let leans = if past {
        " A neighbour leans over it: reach past with the tips of the jaws."
    } else {
        ""
    };
    if ends.iter().all(Option::is_some) {
        let open = ends.into_iter().flatten().any(Solid::is_open);
        let place = if open {
            ", where their outer faces begin, just off the bends"
        } else {
            ""
        };
        return Draft {
            name: format!("leg {number}, over legs {leg} and {}", number + 1),
            rule,
            how: format!(
                "Outside jaws along leg {number}, over the outer faces of legs {leg} and {}{place}; near both ends of the \
                 strip and in the middle, the worst one counts.{leans}",
                number + 1
            ),
            if_small: "Its bends sit too close together, and that cannot be put back: ask what the plan allows.".into(),
            if_large: "Its bends sit too far apart, and that cannot be put back: ask what the plan allows.".into(),
            ..base
        };
    }
    Draft {
        rule,
        how: format!(
            "Outside jaws along leg {number}, from the outside of its bend to the free edge; at several places along it, \
             the worst one counts.{leans}"
        ),
        if_large: "Trim it down to the line.".into(),
        ..base
    }
}

fn angle(solved: &Solved<'_>, bend: usize) -> Draft {
    let (turned, between) = solved.angles(bend);
    let (one, other) = (bend + 1, bend + 2);
    Draft {
        rule: format!(
            "180° − A = {}, A {} being the bend angle turned through (0° = flat)",
            deg(between),
            deg(turned)
        ),
        how: format!(
            "One blade of the angle gauge on the outer face of leg {one}, the other on that of leg {other}. It should show \
             {} between the legs, which is a bend turned through {}.",
            deg(between),
            deg(turned)
        ),
        if_small: "Ease the bend open.".into(),
        if_large: "Bend it further.".into(),
        ..draft(
            solved.stage,
            &format!("angle.{one}"),
            format!("angle between legs {one} and {other}"),
            Nominal::Angle(between, solved.shorter_leg(bend)),
            solved.section.bends[bend].at,
        )
    }
}

/// Which way over everything.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Overall {
    /// Along the longest leg.
    Along,
    /// Square to it.
    Square,
}

pub(super) const OVERALL: [Overall; 2] = [Overall::Along, Overall::Square];

impl Overall {
    pub(super) const fn id(self) -> &'static str {
        match self {
            Self::Along => "overall.along",
            Self::Square => "overall.square",
        }
    }
}

/// Over everything one way; nothing where a leg already says it.
pub(super) fn overall(solved: &Solved<'_>, over: Overall) -> Option<Draft> {
    let [left, right, bottom, top] = solved.profile.bounds();
    let (extent, way) = match over {
        Overall::Along => (right - left, "along"),
        Overall::Square => (top - bottom, "square to"),
    };
    let nominal = Measure::computed(extent);
    let same = |leg: usize| {
        let pair = [solved.leg(leg), nominal].map(|measure| measure.length().map(Length::pm));
        matches!(pair, [Some(a), Some(b)] if (a - b).abs() <= SAME_PM_MAX)
            && measured_along(solved, leg, over)
    };
    if (0..solved.flats.len()).any(same) {
        return None;
    }
    let base = solved.profile.base + 1;
    Some(Draft {
        rule: format!(
            "over legs and bends of the section laid out with leg {base} level, from the flats, radii and angles"
        ),
        how: format!(
            "Outside jaws over the whole section, {way} leg {base}; near both ends of the strip and in the middle, the \
             worst one counts."
        ),
        if_small: "See which leg or angle is off, and correct that one.".into(),
        if_large: "See which leg or angle is off, and correct that one.".into(),
        ..draft(
            solved.stage,
            over.id(),
            format!("overall, {way} leg {base}"),
            Nominal::Length(nominal),
            solved.section.at,
        )
    })
}

/// Whether a leg is measured that way.
fn measured_along(solved: &Solved<'_>, leg: usize, over: Overall) -> bool {
    let legs = &solved.profile.legs;
    let way = match solved.is_square_to_neighbour(leg) {
        Some(neighbour) => legs[neighbour].up(),
        None => legs[leg].way,
    };
    let across = match over {
        Overall::Along => way[1],
        Overall::Square => way[0],
    };
    across.abs() < 1e-9
}
