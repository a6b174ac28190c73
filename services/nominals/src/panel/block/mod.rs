//! The form block a panel is worked over: its face as large as the web, its edges rounded to the bend radius,
//! its sides bevelled by the springback.

mod drawn;

use shared_types::{Angle, Sheet, Stage, Warning};

use super::shape::Shape;
use super::{AXES, Axis, Bent, Block, Edge, words};
use crate::bend::Bend;
use crate::draft::{Draft, Nominal, deg, mm};
use crate::family::Family;
use crate::form::Table;
use crate::measure::Measure;
use crate::springback::{Basis, Springback};

/// One edge of the block.
struct Side {
    edge: Edge,
    /// The bend the sheet makes over it before it springs back.
    tool: Bend,
    springback: Springback,
}

impl Side {
    /// From the web's tangent line out to where face and side of the block would meet unrounded.
    fn overhang(&self) -> Measure {
        Measure::exact(self.tool.radius).times(self.tool.k())
    }
}

/// Everything about the block. Nothing where a contradiction has been told.
pub(super) fn blocks(
    shape: &Shape<'_>,
    block: &Block,
    sheet: &Sheet,
    root: &Table<'_>,
) -> Option<Family> {
    if shape.bent().next().is_none() {
        let what = "panel.block: no edge has a flange, expected no form block";
        root.tell(block.at, what);
        return None;
    }
    let mut sides: Vec<Side> = Vec::new();
    let mut sound = true;
    for flange in &shape.panel.flanges {
        let alike = || shape.bent().filter(|(edge, _)| flange.edges.contains(edge));
        for (edge, bent) in alike() {
            match side(edge, bent, block, sheet) {
                Some(side) => sides.push(side),
                // One flange on several edges is one cause.
                None => {
                    let edges: Vec<Edge> = alike().map(|(edge, _)| edge).collect();
                    root.tell(block.at, cannot(&edges, bent, block, sheet));
                    sound = false;
                    break;
                }
            }
        }
    }
    if !sound {
        return None;
    }
    sides.sort_by_key(|side| side.edge.index());
    let mut drafts: Vec<Draft> = AXES
        .into_iter()
        .filter_map(|axis| size(shape, block, &sides, axis))
        .collect();
    for side in &sides {
        let bent = shape.side(side.edge).bent.as_ref()?;
        drafts.extend(radius(side, bent, block));
        drafts.push(bevel(side, bent, block));
    }
    Some(Family {
        drafts,
        views: drawn::views(shape, &sides),
        warnings: trust(&sides, sheet),
        ..Family::default()
    })
}

fn side(edge: Edge, bent: &Bent<'_>, block: &Block, sheet: &Sheet) -> Option<Side> {
    let springback = match block.springback {
        Some(back) => Springback::stated(&bent.bend, back),
        None => Springback::predict(&bent.bend, sheet),
    }?;
    let tool = Bend {
        angle: springback.tool,
        ..bent.bend
    };
    Some(Side {
        edge,
        tool,
        springback,
    })
}

fn cannot(edges: &[Edge], bent: &Bent<'_>, block: &Block, sheet: &Sheet) -> String {
    let (a, r) = (deg(bent.bend.angle), mm(bent.bend.radius.into()));
    let edges = words(edges);
    match block.springback {
        Some(back) => format!(
            "panel.block.springback: {edges}: the sheet would have to be turned through {a} and {} more, which is past 170°, \
             expected less",
            deg(back)
        ),
        None => format!(
            "panel.block: {edges}: there is no springback to predict for {} turned through {a} over a radius of {r}, expected \
             springback = \"3 deg\" or the like, as a strip of the sheet bent over that radius shows it",
            sheet.alloy.trim()
        ),
    }
}

fn draft(id: String, name: String, nominal: Nominal, block: &Block) -> Draft {
    Draft {
        id: format!("blocks.{id}"),
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

/// Over the face, one way; nothing where no flange is worked over either edge.
fn size(shape: &Shape<'_>, block: &Block, sides: &[Side], axis: Axis) -> Option<Draft> {
    let [a, b] = axis.edges();
    let worked: Vec<&Side> = sides
        .iter()
        .filter(|side| side.edge == a || side.edge == b)
        .collect();
    let first = worked.first()?;
    let word = axis.word();
    let over: Measure = worked.iter().map(|side| side.overhang()).sum();
    let each: Vec<String> = worked
        .iter()
        .map(|side| {
            format!(
                "{} {} = R tan(Ai/2) at Ai {}",
                side.edge,
                mm(side.overhang()),
                deg(side.tool.angle)
            )
        })
        .collect();
    let plain = match worked.as_slice() {
        [_] => {
            let plain = if first.edge == a { b } else { a };
            format!(" The {plain} edge of the panel is plain: the block ends flush with it.")
        }
        _ => String::new(),
    };
    Some(Draft {
        rule: format!(
            "flat web {} between tangent lines, plus {}",
            mm(shape.flat(axis)),
            each.join(", plus ")
        ),
        how: format!(
            "Tips of the outside jaws over the block's face, the side that lies on the web, once the sides are bevelled \
             and before the edges are rounded.{plain}"
        ),
        ..draft(
            word.to_owned(),
            format!("{word} of the form block at its face"),
            Nominal::Length(shape.flat(axis) + over),
            block,
        )
    })
}

/// Nothing at a sharp bend.
fn radius(side: &Side, bent: &Bent<'_>, block: &Block) -> Option<Draft> {
    let edge = side.edge;
    (bent.bend.radius.pm() > 0).then(|| Draft {
        rule: "the inside bend radius, to which the block's edge is rounded, FAA-H-8083-31 chapter 4".to_owned(),
        how: format!(
            "Radius gauge on the {edge} edge of the block, square to it; type in the leaf that fits."
        ),
        if_small: "Round it over further.".into(),
        if_large: "Plane the side back and round it again, or make another block.".into(),
        ..draft(
            format!("radius.{edge}"),
            format!("radius of the block's {edge} edge"),
            Nominal::Radius(Measure::exact(bent.bend.radius)),
            block,
        )
    })
}

fn bevel(side: &Side, bent: &Bent<'_>, block: &Block) -> Draft {
    let (edge, tool) = (side.edge, side.tool.between());
    let basis = match side.springback.basis {
        Basis::Cubic => {
            "predicted: A/Ks, Ks = (2Ri/T + 1)/(2Rf/T + 1), Ri/Rf = 4x³ − 3x + 1, x = Ri Y/(E T) with the block's \
             radius as Ri and typical Y and E of the alloy, MIT OCW 2.008 and Gardiner 1957"
        }
        Basis::Table => {
            "predicted: A/kR, factors of the Tabellenbuch Metall, temper not stated there"
        }
        Basis::Stated => "stated in the part file",
    };
    Draft {
        rule: format!(
            "180° − Ai = {}; the flange is turned through Ai {} over the block and springs back by {} to A {}; {basis}",
            deg(tool),
            deg(side.tool.angle),
            deg(side.springback.back),
            deg(bent.bend.angle)
        ),
        how: format!(
            "One blade of the angle gauge on the block's face, the other on its {edge} side. It should show {} between \
             face and side.",
            deg(tool)
        ),
        if_small: "Plane the side back toward square.".into(),
        if_large: "Bevel the side further under.".into(),
        ..draft(
            format!("angle.{edge}"),
            format!("angle between the block's face and its {edge} side"),
            // As far down as the flange is worked.
            Nominal::Angle(tool, bent.flange.formed),
            block,
        )
    }
}

/// How far a prediction is to be trusted; a stated springback speaks for itself.
fn trust(sides: &[Side], sheet: &Sheet) -> Vec<Warning> {
    let mut told: Vec<(Angle, Basis, Vec<Edge>)> = Vec::new();
    for side in sides {
        let Springback { back, basis, .. } = side.springback;
        match told.iter_mut().find(|(b, s, _)| *b == back && *s == basis) {
            Some((_, _, edges)) => edges.push(side.edge),
            None => told.push((back, basis, vec![side.edge])),
        }
    }
    told.into_iter()
        .filter_map(|(back, basis, edges)| {
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
        })
        .collect()
}
