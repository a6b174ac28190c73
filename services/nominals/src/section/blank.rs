//! The flat strip: developed width, length, and the first tangent line of each bend.

use shared_types::{Bend, BendWay, Length, Stage};

use super::solved::{Solid, Solved};
use super::{Given, Turn};
use crate::AllowanceRule;
use crate::draft::{Draft, Nominal, mm};
use crate::form::At;
use crate::measure::Measure;
use crate::pen;

const NOT_BACK: &str = "It cannot be put back: cut another blank, or ask what the plan allows.";

pub(super) fn drafts(solved: &Solved<'_>) -> Vec<Draft> {
    let section = solved.section;
    let mut drafts = vec![
        Draft {
            rule: developed(solved),
            how: "Outside jaws over the two edges that run along the bends, square to them; near both ends and in the \
                  middle, the worst one counts."
                .to_owned(),
            ..draft("width", "developed width of the blank", solved.developed(), section.at)
        },
        Draft {
            rule: "as the plan gives it".to_owned(),
            how: "Outside jaws over the two short edges, square to them.".to_owned(),
            ..draft(
                "length",
                "length of the blank, along the bends",
                Measure::exact(section.length),
                section.length_at,
            )
        },
    ];
    for (index, turned) in section.bends.iter().enumerate() {
        let solid = &solved.bends[index];
        drafts.push(Draft {
            rule: format!(
                "flats and bend allowances before it; the second tangent line of the bend lies BA farther, {} from the \
                 edge; {}",
                mm(solved.line(index) + solid.allowance),
                allowance(solved.rule, solid)
            ),
            how: format!(
                "From the free edge of leg 1 to the first tangent line of bend {}: tips of the outside jaws, or the step \
                 of the caliper.",
                index + 1
            ),
            if_small: "Scribe the line again, farther from the edge.".into(),
            if_large: "Scribe the line again, nearer to the edge.".into(),
            ..draft(
                &format!("line.{}", index + 1),
                &format!("edge of leg 1 to the first tangent line of bend {}", index + 1),
                solved.line(index),
                turned.at,
            )
        });
    }
    drafts
}

/// The bends as they are laid out on the strip.
pub(super) fn bends(solved: &Solved<'_>) -> Vec<Bend> {
    let numbered = solved.bends.iter().enumerate();
    numbered
        .filter_map(|(index, solid)| {
            Some(Bend {
                line: pen::line_of(&(index + 1).to_string())?,
                angle: solid.bend.angle,
                radius: solid.bend.radius,
                allowance: solid.allowance.length()?,
                way: match solid.turn {
                    Turn::Up => BendWay::Up,
                    Turn::Down => BendWay::Down,
                },
                trim: trimmed(solved, index),
                springback: None,
            })
        })
        .collect()
}

/// What comes off the free edge beside a bend. Where one bend has both free edges beside it, and both are
/// trimmed, the stage trimmed alone says so.
fn trimmed(solved: &Solved<'_>, bend: usize) -> Option<Length> {
    let section = solved.section;
    let taken = |finished: Option<(Length, At)>, laid_out: Option<&(Length, At)>| {
        Length::from_pm(laid_out?.0.pm() - finished?.0.pm())
    };
    let first = taken(section.finished.first, section.legs.first()).filter(|_| bend == 0);
    let last = taken(section.finished.last, section.legs.last())
        .filter(|_| bend + 1 == section.bends.len());
    match (first, last) {
        (one, None) | (None, one) => one,
        (Some(_), Some(_)) => None,
    }
}

fn draft(id: &str, name: &str, nominal: Measure, at: At) -> Draft {
    Draft {
        id: format!("blank.{id}"),
        name: name.to_owned(),
        stage: Stage::Blank,
        nominal: Nominal::Length(nominal),
        rule: String::new(),
        how: String::new(),
        if_small: NOT_BACK.into(),
        if_large: "File or trim the edge down to the line.".into(),
        own: None,
        at,
    }
}

fn developed(solved: &Solved<'_>) -> String {
    let given = match solved.section.given {
        Given::Outside => "legs over the outside of the bends",
        Given::Inside => "legs to the inside mold lines",
        Given::MoldLine => "legs to the outside mold lines",
    };
    let flats: Vec<String> = solved.flats.iter().map(|flat| mm(*flat)).collect();
    // Bends that are alike are told once.
    let mut alike: Vec<(String, Vec<String>)> = Vec::new();
    for (index, solid) in solved.bends.iter().enumerate() {
        let takes = allowance(solved.rule, solid);
        let number = (index + 1).to_string();
        match alike.iter_mut().find(|(other, _)| *other == takes) {
            Some((_, numbers)) => numbers.push(number),
            None => alike.push((takes, vec![number])),
        }
    }
    let bends: Vec<String> = alike
        .iter()
        .map(|(takes, numbers)| match numbers.as_slice() {
            [only] => format!("at bend {only} {takes}"),
            several => format!("at each of bends {} {takes}", several.join(", ")),
        })
        .collect();
    format!(
        "flats {} ({given}, less what the bends take), plus {}",
        flats.join(" + "),
        bends.join("; plus ")
    )
}

/// The bend allowance with its rule and inputs.
fn allowance(rule: AllowanceRule, solid: &Solid) -> String {
    crate::draft::allowance(rule, &solid.bend, solid.allowance, solid.setback)
}
