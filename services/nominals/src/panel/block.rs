//! The form blocks of a rectangular panel: faces as large as the web between the inside mold lines of its bends.

use std::collections::BTreeMap;

use shared_types::{Layer, Sheet, Springback, Stage, Stroke, View};

use super::shape::Shape;
use super::{AXES, Axis, Bent, Edge, words};
use crate::block::{self, Block, Named};
use crate::draft::{Draft, Nominal, deg, mm};
use crate::family::Family;
use crate::flange::Direction;
use crate::form::Table;
use crate::measure::Measure;
use crate::pen::{line, linear};

type Side = block::Side<Edge>;

/// Of every bend whose angle is measured on the block and on the piece.
pub(super) type Springbacks = BTreeMap<Edge, Springback>;

/// Dimension lines stand this part of the block's larger side away from it.
const STEP: f64 = 0.09;

/// Everything about the blocks. Nothing where a contradiction has been told.
pub(super) fn blocks(
    shape: &Shape<'_>,
    block: &Block,
    sheet: &Sheet,
    root: &Table<'_>,
) -> Option<(Family, Springbacks)> {
    let named = |edge: Edge| Named {
        id: edge.word().to_owned(),
        edge: format!("{edge} edge"),
        side: format!("{edge} side"),
    };
    let bents: Vec<(Edge, &Bent<'_>)> = shape.bent().collect();
    let sides = block::sides(block, sheet, &bents, named, words, root)?;
    let mut family = Family {
        warnings: block::trust(&sides, sheet, words),
        ..Family::default()
    };
    for direction in [Direction::Up, Direction::Down] {
        let worked: Vec<&Side> = sides
            .iter()
            .filter(|side| side.direction == direction)
            .collect();
        if worked.is_empty() {
            continue;
        }
        let sizes = AXES
            .into_iter()
            .filter_map(|axis| size(shape, block, &worked, axis, direction));
        family.drafts.extend(sizes);
        for side in &worked {
            family.drafts.extend(block::radius(side, block));
            family.drafts.push(block::bevel(side, block));
        }
        family.views.push(face(shape, &worked, direction));
        for flange in &shape.panel.flanges {
            let alike: Vec<&Side> = worked
                .iter()
                .copied()
                .filter(|side| flange.edges.contains(&side.edge))
                .collect();
            let edges: Vec<Edge> = alike.iter().map(|side| side.edge).collect();
            let title = format!("the {}", words(&edges));
            family
                .views
                .extend(block::section(&alike, &title, |_| true));
        }
    }
    let known = sides
        .iter()
        .filter_map(|side| Some((side.edge, side.springback()?)));
    let springbacks = known.collect();
    Some((family, springbacks))
}

/// Over the face, one way; nothing where no flange is worked over either edge.
fn size(
    shape: &Shape<'_>,
    block: &Block,
    worked: &[&Side],
    axis: Axis,
    direction: Direction,
) -> Option<Draft> {
    let edges = axis.edges();
    let worked: Vec<&Side> = worked
        .iter()
        .copied()
        .filter(|side| edges.contains(&side.edge))
        .collect();
    worked.first()?;
    let word = axis.word();
    let over: Measure = worked.iter().map(|side| side.overhang()).sum();
    let each: Vec<String> = worked
        .iter()
        .map(|side| {
            format!(
                "{} {} = R tan(Ai/2) at Ai {} turned through",
                side.edge,
                mm(side.overhang()),
                deg(side.tool.angle)
            )
        })
        .collect();
    let other = edges
        .into_iter()
        .find(|edge| worked.iter().all(|side| side.edge != *edge));
    let flush = match other {
        None => String::new(),
        Some(edge) if shape.side(edge).bent.is_some() => format!(
            " The {edge} flange of the panel goes the other way: the block ends at its tangent line."
        ),
        Some(edge) => {
            format!(" The {edge} edge of the panel is plain: the block ends flush with it.")
        }
    };
    let whole = direction.block();
    Some(Draft {
        rule: format!(
            "flat web {} between tangent lines, plus {}",
            mm(shape.flat(axis)),
            each.join(", plus ")
        ),
        how: format!(
            "Tips of the outside jaws over the block's face, the side that lies on the web, once the sides are bevelled \
             and before the edges are rounded.{flush}"
        ),
        ..block::draft(
            direction,
            word.to_owned(),
            format!("{word} of the form {whole} at its face"),
            Nominal::Length(shape.flat(axis) + over),
            block,
        )
    })
}

fn face(shape: &Shape<'_>, worked: &[&Side], direction: Direction) -> View {
    let overhang = |edge: Edge| {
        let side = worked.iter().find(|side| side.edge == edge);
        side.map_or(0.0, |side| side.overhang().pm())
    };
    let flat = AXES.map(|axis| shape.flat(axis).pm());
    // The crossing of the left and bottom tangent lines is the origin.
    let [left, bottom] = [Edge::Left, Edge::Bottom].map(|edge| -overhang(edge));
    let right = flat[0] + overhang(Edge::Right);
    let top = flat[1] + overhang(Edge::Top);
    let rim = [[left, bottom], [right, bottom], [right, top], [left, top]];
    let mut strokes: Vec<Stroke> = (0..4)
        .map(|at| Stroke {
            layer: Layer::Cut,
            shape: line(rim[at], rim[(at + 1) % 4]),
        })
        .collect();
    // Where the rounding begins: the web's bend tangent lines.
    strokes.extend(worked.iter().map(|side| {
        let shape = match side.edge {
            Edge::Left => line([0.0, bottom], [0.0, top]),
            Edge::Right => line([flat[0], bottom], [flat[0], top]),
            Edge::Bottom => line([left, 0.0], [right, 0.0]),
            Edge::Top => line([left, flat[1]], [right, flat[1]]),
        };
        Stroke {
            layer: Layer::Bend,
            shape,
        }
    }));
    let step = STEP * (right - left).max(top - bottom);
    let dimensions = AXES.into_iter().filter_map(|axis| {
        let edges = axis.edges();
        worked.iter().find(|side| edges.contains(&side.edge))?;
        let id = format!("{}.{}", direction.block_id(), axis.word());
        match axis {
            Axis::Width => linear(&id, rim[0], rim[1], -step),
            Axis::Height => linear(&id, rim[1], rim[2], -step),
        }
    });
    View {
        stage: Stage::Blocks,
        title: format!("face of the form {}", direction.block()),
        strokes,
        dimensions: dimensions.collect(),
    }
}
