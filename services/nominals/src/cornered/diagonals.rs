//! The diagonals of an outline: from each corner to the one opposite, half the corners on; of an odd number, to the
//! one before and the one after.

use shared_types::{Dimension, Stage};

use super::outline::Corner;
use super::shape::Shape;
use crate::contour::apart;
use crate::draft::{Draft, Nominal, mm};
use crate::flange::Contradictions;
use crate::measure::Measure;
use crate::pen::linear;

/// Tells where they are asked for and cannot be measured.
pub(super) fn check(shape: &Shape<'_>, wrong: &mut Contradictions<'_, '_>) {
    if !shape.panel.diagonals {
        return;
    }
    let corners = shape.outline().edges();
    let found = if corners < 4 {
        format!("found {corners} corners, expected four or more")
    } else if let Some(corner) = shape
        .outline()
        .corners()
        .find(|corner| is_round(shape, corner))
    {
        format!(
            "found no corner to lay a tip on at {}, expected them only where the outline has corners all round",
            shape.outline().corner_name(corner.number)
        )
    } else if stage(shape).is_none() {
        format!(
            "found {} flanged edges of {corners}, expected all or none, so that every diagonal has corners to measure from",
            shape.bent().count()
        )
    } else {
        return;
    };
    wrong.tell(shape.panel.at, format!("panel.diagonals: {found}"));
}

fn is_round(shape: &Shape<'_>, corner: &Corner) -> bool {
    corner.rounded || shape.is_smooth(corner.edges[1])
}

/// The blank of a flat panel, or the formed panel between its relief holes.
fn stage(shape: &Shape<'_>) -> Option<Stage> {
    match shape.bent().count() {
        0 => Some(Stage::Blank),
        all if all == shape.count() && shape.panel.relief.is_some() => Some(Stage::Formed),
        _ => None,
    }
}

/// One diagonal: its corners by number, from where to where on the web, and how far.
struct Diagonal {
    corners: [usize; 2],
    ends: [[f64; 2]; 2],
    whole: f64,
}

/// None where none are asked for.
fn diagonals(shape: &Shape<'_>) -> Vec<Diagonal> {
    if !shape.panel.diagonals {
        return Vec::new();
    }
    let count = shape.outline().edges();
    let at: Vec<[f64; 2]> = shape
        .outline()
        .corners()
        .map(|corner| shape.web.corner(corner.edges[1]))
        .collect();
    let on = count / 2;
    // Of an even number each is met from both of its ends.
    let begin = if count.is_multiple_of(2) { on } else { count };
    (0..begin)
        .map(|from| {
            let to = (from + on) % count;
            Diagonal {
                corners: [from.min(to), from.max(to)],
                ends: [at[from.min(to)], at[from.max(to)]],
                whole: apart(at[from], at[to]),
            }
        })
        .collect()
}

/// Kept off at each end.
fn short(shape: &Shape<'_>) -> Measure {
    let relief = shape
        .panel
        .relief
        .as_ref()
        .filter(|_| stage(shape) == Some(Stage::Formed));
    relief.map_or(Measure::ZERO, |relief| {
        Measure::exact(relief.diameter).half()
    })
}

fn id(shape: &Shape<'_>, stage: Stage, one: &Diagonal) -> String {
    let [a, b] = one.corners.map(|corner| shape.outline().corner_id(corner));
    format!("{stage}.diagonal.{a}-{b}")
}

pub(super) fn drafts(shape: &Shape<'_>) -> Vec<Draft> {
    let Some(stage) = stage(shape) else {
        return Vec::new();
    };
    let short = short(shape);
    let place = match stage {
        Stage::Blank => "tips of the outside jaws over the two corners",
        _ => {
            "over the web, the tips of the outside jaws in the two relief holes, on the sides toward each other"
        }
    };
    diagonals(shape)
        .iter()
        .map(|one| {
            let [a, b] = one
                .corners
                .map(|corner| shape.outline().corner_name(corner));
            let whole = Measure::computed(one.whole);
            let less = if short == Measure::ZERO {
                String::new()
            } else {
                format!(", less half of a relief hole, {}, at each end", mm(short))
            };
            Draft {
                id: id(shape, stage, one),
                name: format!("diagonal from {a} to {b}"),
                stage,
                nominal: Nominal::Length(whole - short - short),
                rule: format!(
                    "between the two corners of the flat web, {}{less}",
                    mm(whole)
                ),
                how: format!("From {a} to {b}: {place}."),
                if_small: "Compare it with the others: if one is longer, the part is out of shape."
                    .into(),
                if_large:
                    "Compare it with the others: if one is shorter, the part is out of shape."
                        .into(),
                own: None,
                at: shape.panel.at,
            }
        })
        .collect()
}

pub(super) fn dimensions(shape: &Shape<'_>, drawn: Stage) -> Vec<Option<Dimension>> {
    if stage(shape) != Some(drawn) {
        return Vec::new();
    }
    let short = short(shape).pm();
    diagonals(shape)
        .iter()
        .map(|one| {
            let [from, to] = one.ends;
            let off = [0, 1].map(|axis| short * (to[axis] - from[axis]) / one.whole);
            linear(
                &id(shape, drawn, one),
                [from[0] + off[0], from[1] + off[1]],
                [to[0] - off[0], to[1] - off[1]],
                0.0,
            )
        })
        .collect()
}
