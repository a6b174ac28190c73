//! What is measured of an edge of a form block, and how far its bevel is to be trusted.

use shared_types::{Angle, Sheet, Stage, Warning};

use super::{Block, Side};
use crate::draft::{Draft, Nominal, deg, mm};
use crate::flange::Direction;
use crate::measure::Measure;
use crate::springback::{Basis, Springback};

/// How the ids of a block begin, and how it is called.
const fn of(direction: Direction) -> (&'static str, &'static str) {
    match direction {
        Direction::Up => ("blocks", "block"),
        Direction::Down => ("blocks.down", "block for the flanges turned down"),
    }
}

impl Direction {
    /// The beginning of the ids of the block that flanges of this direction are worked over.
    pub(crate) const fn block_id(self) -> &'static str {
        of(self).0
    }

    /// `block`.
    pub(crate) const fn block(self) -> &'static str {
        of(self).1
    }
}

/// The beginning of a draft of a block.
pub(crate) fn draft(
    direction: Direction,
    id: String,
    name: String,
    nominal: Nominal,
    block: &Block,
) -> Draft {
    Draft {
        id: format!("{}.{id}", direction.block_id()),
        name,
        stage: Stage::Blocks,
        nominal,
        rule: String::new(),
        how: String::new(),
        if_small: "Make another block: wood cannot be put back.".into(),
        if_large: "Plane or sand it down to the line.".into(),
        own: None,
        at: block.at,
    }
}

/// Nothing at a sharp bend.
pub(crate) fn radius<E>(side: &Side<E>, block: &Block) -> Option<Draft> {
    let (edge, whole) = (&side.named.edge, side.direction.block());
    (side.bend.radius.pm() > 0).then(|| Draft {
        rule:
            "the inside bend radius, to which the block's edge is rounded, FAA-H-8083-31 chapter 4"
                .to_owned(),
        how: format!(
            "Radius gauge on the {edge} of the {whole}, square to it; type in the leaf that fits."
        ),
        if_small: "Round it over further.".into(),
        if_large: "Plane the side back and round it again, or make another block.".into(),
        ..draft(
            side.direction,
            format!("radius.{}", side.named.id),
            format!("radius that the {edge} of the {whole} is rounded to"),
            Nominal::Radius(Measure::exact(side.bend.radius)),
            block,
        )
    })
}

pub(crate) fn bevel<E>(side: &Side<E>, block: &Block) -> Draft {
    let (name, whole) = (&side.named.side, side.direction.block());
    let (over, tool) = (side.tool.angle, side.tool.between());
    let basis = match side.springback.basis {
        Basis::Cubic => {
            "predicted: A/Ks, Ks = (2Ri/T + 1)/(2Rf/T + 1), Ri/Rf = 4x³ − 3x + 1, x = Ri Y/(E T) with the block's \
             radius as Ri and typical Y and E of the alloy, MIT OCW 2.008 and Gardiner 1957; good to a degree or two"
        }
        Basis::Table => {
            "predicted: A/kR, factors of the Tabellenbuch Metall, temper not stated there; good to a degree or two"
        }
        Basis::Stated => "stated in the part file",
    };
    Draft {
        rule: format!(
            "180° − Ai = {} between face and side; the flange is turned through Ai {} over the block and springs back by {} \
             to A {} turned through, {} between flange and web; {basis}",
            deg(tool),
            deg(over),
            deg(side.springback.back),
            deg(side.bend.angle),
            deg(side.bend.between())
        ),
        how: format!(
            "One blade of the angle gauge on the face of the {whole}, the other on its {name}. It should show {} between face and \
             side, over which a flange is turned through {}.",
            deg(tool),
            deg(over)
        ),
        if_small: "Plane the side back toward square.".into(),
        if_large: "Bevel the side further under.".into(),
        ..draft(
            side.direction,
            format!("angle.{}", side.named.id),
            format!(
                "angle between the face of the {whole} and its {name}, over which a flange is bent through {}",
                deg(over)
            ),
            // As far down as the flange is worked.
            Nominal::Angle(tool, side.formed),
            block,
        )
    }
}

/// How far a prediction is to be trusted; a stated springback speaks for itself. And what flanges that go both
/// ways ask for.
pub(crate) fn trust<E: Copy>(
    sides: &[Side<E>],
    sheet: &Sheet,
    words: impl Fn(&[E]) -> String,
) -> Vec<Warning> {
    let mut told: Vec<(Angle, Basis, Vec<E>)> = Vec::new();
    for side in sides {
        let Springback { back, basis, .. } = side.springback;
        match told.iter_mut().find(|(b, s, _)| *b == back && *s == basis) {
            Some((_, _, edges)) => edges.push(side.edge),
            None => told.push((back, basis, vec![side.edge])),
        }
    }
    let predicted = told.into_iter().filter_map(|(back, basis, edges)| {
        let source = match basis {
            Basis::Cubic => "MIT OCW 2.008; Gardiner 1957; typical strength of the alloy",
            Basis::Table => "Tabellenbuch Metall, springback factors",
            Basis::Stated => return None,
        };
        Some(Warning {
            what: format!(
                "form block, {}: the bevel for a springback of {}° is a prediction, good to a degree or two; bend a \
                 strip of this {} over the same radius first, and state what it shows as springback in [panel.block]",
                words(&edges),
                back.degrees(1),
                sheet.alloy.trim()
            ),
            source: source.to_owned(),
        })
    });
    let down: Vec<&Side<E>> = sides
        .iter()
        .filter(|side| side.direction == Direction::Down)
        .collect();
    let mixed = !down.is_empty() && down.len() < sides.len();
    let two = mixed.then(|| {
        let highest = down.iter().map(|side| side.formed).max();
        Warning {
            what: format!(
                "form blocks: flanges go both ways, so that two blocks hold the web between them, each ending at the tangent \
                 lines of the other's flanges; work one way first, and stand the other block clear of the bench by more than \
                 {}, the highest flange turned down",
                mm(highest.unwrap_or_default().into())
            ),
            source: "geometry".to_owned(),
        }
    });
    predicted.chain(two).collect()
}
