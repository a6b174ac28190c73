//! What is measured of one flange, whatever panel it stands on.

use shared_types::{Length, Stage};

use super::Bent;
use crate::AllowanceRule;
use crate::draft::{Draft, Nominal, allowance, both, deg, mm};

/// How a flange is named: in ids, and in sentences.
pub(crate) struct Label {
    pub(crate) id: String,
    pub(crate) words: String,
}

/// How high a flange stands at a stage.
pub(crate) fn height<E>(label: &Label, bent: &Bent<'_, E>, stage: Stage) -> Draft {
    let h = bent.height(stage);
    let (what, at) = match stage {
        Stage::Trimmed => ("finished height", bent.flange.finished_at),
        _ => ("height", bent.flange.formed_at),
    };
    let (if_small, if_large) = match (stage, bent.flange.finished) {
        (Stage::Trimmed, _) => (
            "It cannot be put back: ask what the plan allows.",
            "Trim or file it down to the line.",
        ),
        (_, Some(_)) => (
            "See whether enough is left for the finished height; otherwise make another.",
            "Trim it down at the trim stage or now.",
        ),
        (_, None) => (
            "It cannot be put back: ask what the plan allows.",
            "Trim it down to height.",
        ),
    };
    Draft {
        id: format!("{stage}.height.{}", label.id),
        name: format!("{what} of the {}", label.words),
        stage,
        nominal: Nominal::Length(bent.overall(h)),
        rule: format!(
            "h sin A + T cos A where that is above 0 (the inner edge of a flange bent less than square stands higher); h {} \
             along the outer face from the mold line, T {}, A {}",
            mm(h.into()),
            mm(bent.bend.thickness.into()),
            both(&bent.bend)
        ),
        how: format!(
            "Outside jaws from the web's {} face to the farthest point of the edge of the {}{}, square to the web; at several \
             places along the flange, the worst one counts.",
            bent.flange.direction.face(),
            label.words,
            bent.flange.direction.note()
        ),
        if_small: if_small.into(),
        if_large: if_large.into(),
        own: None,
        at,
    }
}

/// The angle between a flange and the web, `web` being how far the web reaches from it.
pub(crate) fn angle<E>(label: &Label, bent: &Bent<'_, E>, web: Length) -> Draft {
    let (turned, between) = (bent.bend.angle, bent.bend.between());
    Draft {
        id: format!("formed.angle.{}", label.id),
        name: format!(
            "angle between the {} and the web, which is bent through {}",
            label.words,
            deg(turned)
        ),
        stage: Stage::Formed,
        nominal: Nominal::Angle(between, bent.flange.formed.min(web)),
        rule: format!(
            "180° − A = {} between flange and web, A {} being the bend angle turned through (0° = flat)",
            deg(between),
            deg(turned)
        ),
        how: format!(
            "One blade of the angle gauge on the web's {} face, the other on the outer face of the {}{}. It should show {} \
             between flange and web, which is a bend turned through {}.",
            bent.flange.direction.face(),
            label.words,
            bent.flange.direction.note(),
            deg(between),
            deg(turned)
        ),
        if_small: "Ease the flange back.".into(),
        if_large: "Work the flange up further.".into(),
        own: None,
        at: bent.flange.at,
    }
}

/// From the blank's edge to the nearer bend tangent line.
pub(crate) fn line<E>(label: &Label, edge: &str, bent: &Bent<'_, E>, rule: AllowanceRule) -> Draft {
    Draft {
        id: format!("blank.line.{}", label.id),
        name: format!("{edge} to its first bend tangent line"),
        stage: Stage::Blank,
        nominal: Nominal::Length(bent.line()),
        rule: format!(
            "h − SB, h {} as formed; the second bend tangent line lies BA farther in, {} from the edge; {}",
            mm(bent.flange.formed.into()),
            mm(bent.extent()),
            allowance(rule, &bent.bend, bent.allowance, bent.setback)
        ),
        how: format!(
            "From the {edge} of the blank to the nearer of its two bend tangent lines: tips of the outside jaws, or the \
             step of the caliper."
        ),
        if_small: "Scribe the line again, farther in from the edge.".into(),
        if_large: "Scribe the line again, nearer to the edge.".into(),
        own: None,
        at: bent.flange.formed_at,
    }
}
