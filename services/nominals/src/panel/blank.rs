//! The flat blank: overall size, layout lines, relief holes, holes.

use shared_types::Stage;

use super::formed::label;
use super::shape::Shape;
use super::{AXES, Axis, Bent};
use crate::AllowanceRule;
use crate::diagonal::diagonals;
use crate::draft::{Draft, Nominal, mm};
use crate::flange;
use crate::form::At;
use crate::hole::{Hole, NOT_MOVED};
use crate::measure::Measure;

const NOT_BACK: &str = "It cannot be put back: ask what the plan allows.";

pub(super) fn drafts(shape: &Shape<'_>) -> Vec<Draft> {
    let mut drafts: Vec<Draft> = AXES.iter().map(|axis| overall(shape, *axis)).collect();
    drafts.extend(
        shape.bent().map(|(edge, bent)| {
            flange::line(&label(edge), &format!("{edge} edge"), bent, shape.rule)
        }),
    );
    drafts.extend(relief(shape));
    for one in &shape.panel.holes {
        drafts.extend(hole(shape, one));
    }
    if shape.panel.diagonals && shape.bent().next().is_none() {
        let flat = AXES.map(|axis| shape.flat(axis));
        drafts.extend(diagonals(Stage::Blank, flat, None, shape.panel.at));
    }
    drafts
}

fn draft(id: String, name: String, nominal: Measure, at: At) -> Draft {
    Draft {
        id,
        name,
        stage: Stage::Blank,
        nominal: Nominal::Length(nominal),
        rule: String::new(),
        how: String::new(),
        if_small: NOT_BACK.into(),
        if_large: NOT_BACK.into(),
        own: None,
        at,
    }
}

fn overall(shape: &Shape<'_>, axis: Axis) -> Draft {
    let (word, [a, b]) = (axis.word(), axis.edges());
    let at = match axis {
        Axis::Width => shape.panel.width_at,
        Axis::Height => shape.panel.height_at,
    };
    let flanged: Vec<String> = [a, b]
        .into_iter()
        .filter_map(|edge| {
            let bent = shape.side(edge).bent.as_ref()?;
            let extent = mm(shape.side(edge).extent());
            Some(format!(
                "{edge} {extent} = BA + h − SB ({}; h {})",
                allowance(shape.rule, bent),
                mm(bent.flange.formed.into())
            ))
        })
        .collect();
    let rule = if flanged.is_empty() {
        format!("{word} {} between plain edges", mm(shape.outside(axis)))
    } else {
        format!(
            "flat web {} = outside {word} {} less its setbacks; plus {}",
            mm(shape.flat(axis)),
            mm(shape.outside(axis)),
            flanged.join("; plus ")
        )
    };
    Draft {
        rule,
        how: format!(
            "Outside jaws over the {a} and {b} edges of the blank, square to them; keep clear of the corners."
        ),
        if_small: "It cannot be put back: cut another blank, or ask what the plan allows.".into(),
        if_large: "File or trim the edge down to the line.".into(),
        ..draft(
            format!("blank.{word}"),
            format!("overall {word} of the blank"),
            shape.blank(axis),
            at,
        )
    }
}

fn allowance(rule: AllowanceRule, bent: &Bent<'_>) -> String {
    crate::draft::allowance(rule, &bent.bend, bent.allowance, bent.setback)
}

fn relief(shape: &Shape<'_>) -> Vec<Draft> {
    let Some(relief) = &shape.panel.relief else {
        return Vec::new();
    };
    let diameter = Measure::exact(relief.diameter);
    let mut drafts = vec![Draft {
        rule: "as the plan gives it".to_owned(),
        how: "Inside jaws across each relief hole, before the corners are cut out; the worst one counts.".to_owned(),
        if_small: "Open them up to size.".into(),
        ..draft(
            "blank.relief.diameter".to_owned(),
            "diameter of the relief holes".to_owned(),
            diameter,
            relief.at,
        )
    }];
    for corner in shape.relieved() {
        for (letter, edge) in [("x", corner.upright), ("y", corner.level)] {
            let extent = shape.side(edge).extent();
            drafts.push(Draft {
                rule: format!(
                    "{} from the edge to the second bend tangent line, less half the diameter {}; the hole's centre is \
                     the crossing of the inside bend tangent lines, FAA-H-8083-31 chapter 4",
                    mm(extent),
                    mm(diameter)
                ),
                how: format!(
                    "From the {edge} edge of the blank to the near side of the {corner} relief hole, before the corner is \
                     cut out: one outside jaw on the edge, the tip of the other in the hole."
                ),
                if_small: NOT_MOVED.into(),
                if_large: NOT_MOVED.into(),
                ..draft(
                    format!("blank.relief.{corner}.{letter}"),
                    format!("{edge} edge to the {corner} relief hole"),
                    extent - diameter.half(),
                    relief.at,
                )
            });
        }
    }
    drafts
}

fn hole(shape: &Shape<'_>, hole: &Hole) -> Vec<Draft> {
    let mut drafts = hole.own_drafts();
    if !hole.is_placed() {
        return drafts;
    }
    for (letter, axis) in [("x", Axis::Width), ("y", Axis::Height)] {
        let [edge, _] = axis.edges();
        let given = match axis {
            Axis::Width => hole.x,
            Axis::Height => hole.y,
        };
        let from = match shape.side(edge).bent {
            Some(_) => format!(
                "centre {} from the {edge} mold line, less its setback, plus BA + h − SB of the {edge} flange",
                mm(given.into())
            ),
            None => format!("centre {} from the {edge} edge", mm(given.into())),
        };
        let edge = format!("{edge} edge");
        let centre = shape.hole_on_blank(hole, axis);
        drafts.push(hole.place_draft(letter, &edge, centre, &from, hole.reach(axis.way())));
    }
    drafts
}
