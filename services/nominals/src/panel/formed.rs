//! The panel with its flanges worked up, and with its flanges trimmed.

use shared_types::{Length, Stage};

use super::shape::Shape;
use super::{AXES, Axis, Bent, Edge};
use crate::diagonal::diagonals;
use crate::draft::{Draft, Nominal, deg, mm};
use crate::flange::row::{self, Run};
use crate::flange::{self, Direction, Label};
use crate::hand;
use crate::measure::Measure;

/// Where across the flanges a dimension is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Level {
    /// Just above the bends.
    Root,
    /// At the flanges' free edges.
    Free,
}

pub(super) fn formed(shape: &Shape<'_>) -> Vec<Draft> {
    let mut drafts = Vec::new();
    for (edge, bent) in shape.bent() {
        drafts.push(flange::height(&label(edge), bent, Stage::Formed));
        drafts.push(flange::angle(&label(edge), bent, leg(shape, edge)));
    }
    for axis in AXES {
        drafts.extend(across(shape, axis, Level::Root, Stage::Formed));
        drafts.extend(across(shape, axis, Level::Free, Stage::Formed));
    }
    if let (true, Some(relief)) = (shape.panel.diagonals, &shape.panel.relief) {
        let flat = AXES.map(|axis| shape.flat(axis));
        let relief = Some(relief.diameter);
        drafts.extend(diagonals(Stage::Formed, flat, relief, shape.panel.at));
    }
    drafts.extend(rows(shape, Stage::Formed));
    drafts
}

pub(super) fn trimmed(shape: &Shape<'_>) -> Vec<Draft> {
    let finished = |edge: Edge| {
        let bent = shape.side(edge).bent.as_ref();
        bent.is_some_and(|bent| bent.flange.finished.is_some())
    };
    let mut drafts: Vec<Draft> = shape
        .bent()
        .filter(|(edge, _)| finished(*edge))
        .map(|(edge, bent)| flange::height(&label(edge), bent, Stage::Trimmed))
        .collect();
    for axis in AXES {
        if axis.edges().into_iter().any(finished) {
            drafts.extend(across(shape, axis, Level::Free, Stage::Trimmed));
        }
    }
    drafts.extend(rows(shape, Stage::Trimmed));
    drafts
}

fn rows(shape: &Shape<'_>, stage: Stage) -> Vec<Draft> {
    let runs = runs(shape);
    runs.iter()
        .flat_map(|run| row::drafts(run, stage))
        .collect()
}

/// The flanges from end to end, each from its left or its bottom end.
pub(super) fn runs<'s, 'p>(shape: &'s Shape<'p>) -> Vec<Run<'s, 'p, Edge>> {
    let run = |(edge, bent): (Edge, &'s Bent<'p>)| {
        let (along, start) = match edge {
            Edge::Left | Edge::Right => (Axis::Height, "bottom end".to_owned()),
            Edge::Bottom | Edge::Top => (Axis::Width, format!("{} end", hand::LEFT)),
        };
        // Counter-clockwise round the web's outside face, these begin where they are measured from; of a flange
        // turned away from that face one sees the way back.
        let counter_clockwise = matches!(edge, Edge::Bottom | Edge::Right);
        Run {
            label: label(edge),
            start,
            length: shape.flat(along),
            starts_left: counter_clockwise == (bent.flange.direction == Direction::Down),
            bent,
        }
    };
    shape.bent().map(run).collect()
}

/// As drafts and sections of flanges name an edge.
pub(super) fn label(edge: Edge) -> Label {
    Label {
        id: edge.word().to_owned(),
        words: format!("{edge} flange"),
    }
}

fn leg(shape: &Shape<'_>, edge: Edge) -> Length {
    let across = match edge {
        Edge::Left | Edge::Right => Axis::Width,
        Edge::Bottom | Edge::Top => Axis::Height,
    };
    shape.outside(across).length().unwrap_or(Length::ZERO)
}

/// Past square the bend itself stands out farthest, and jaws laid flat would rest on it.
const LEANS: &str = " A flange here leans inward: touch it with the tips of the jaws, not the bulge of the bend below.";

/// Jaws reach the outer faces of two flanges on opposite sides of the web only past it.
const OPPOSED: &str =
    " The two flanges stand on opposite sides of the web: the jaws must reach past it on both.";

/// Across both flanges, or across one flange and the plain edge opposite; nothing between two plain edges.
fn across(shape: &Shape<'_>, axis: Axis, level: Level, stage: Stage) -> Option<Draft> {
    let edges = axis.edges();
    let bents: Vec<(Edge, &Bent<'_>)> = edges
        .into_iter()
        .filter_map(|edge| Some((edge, shape.side(edge).bent.as_ref()?)))
        .collect();
    let (_, first) = bents.first()?;
    let at = first.flange.at;
    let (word, [a, b]) = (axis.word(), edges);
    let over = match bents.as_slice() {
        [(only, _)] => {
            let plain = if *only == a { b } else { a };
            format!("the {only} flange and the plain {plain} edge")
        }
        _ => format!("the {a} and {b} flanges"),
    };
    let opposed = match bents.as_slice() {
        [(_, one), (_, other)] if one.flange.direction != other.flange.direction => OPPOSED,
        _ => "",
    };
    let leans = bents.iter().any(|(_, bent)| bent.bend.cos() < 0.0);
    let outward: Vec<String> = bents
        .iter()
        .map(|(edge, bent)| {
            let s = match level {
                Level::Root => bent.setback,
                Level::Free => Measure::exact(bent.height(stage)),
            };
            format!("{edge} s {} at A {}", mm(s), deg(bent.bend.angle))
        })
        .collect();
    let (id, name, s_is, place) = match level {
        Level::Root => ("root", "at the root", "SB", "just above the bends"),
        Level::Free => ("free", "at the free edge", "h", "at the free edges"),
    };
    Some(Draft {
        id: format!("{stage}.across.{word}.{id}"),
        name: format!("{word} over {over}, {name}"),
        stage,
        nominal: Nominal::Length(spread(shape, axis, level, stage)),
        rule: format!(
            "outside {word} {} + s cos A for each flange, at s = {s_is} along its outer face from the mold line: {}",
            mm(shape.outside(axis)),
            outward.join(", ")
        ),
        how: format!(
            "Outside jaws over {over}, {place}, square to the edges; near both ends and in the middle, the worst one \
             counts.{}{opposed}",
            if leans { LEANS } else { "" }
        ),
        if_small: match level {
            Level::Root => {
                "The bends sit too far in, and that cannot be put back: ask what the plan allows."
            }
            Level::Free => "Ease the flanges back, away from each other.",
        }
        .into(),
        if_large: match level {
            Level::Root => {
                "Work the bends in tighter against the block, or ask what the plan allows."
            }
            Level::Free => "Work the flanges up further, toward each other.",
        }
        .into(),
        own: None,
        at,
    })
}

/// The outside dimension across the flanges: Wo + Σ s cos A.
pub(super) fn spread(shape: &Shape<'_>, axis: Axis, level: Level, stage: Stage) -> Measure {
    let sides: Measure = axis
        .edges()
        .into_iter()
        .map(|edge| outward(shape, edge, level, stage))
        .sum();
    shape.outside(axis) + sides
}

/// How far a flange's outer face stands outside its mold line; negative where it leans inward.
pub(super) fn outward(shape: &Shape<'_>, edge: Edge, level: Level, stage: Stage) -> Measure {
    shape
        .side(edge)
        .bent
        .as_ref()
        .map_or(Measure::ZERO, |bent| {
            let s = match level {
                Level::Root => bent.setback,
                Level::Free => Measure::exact(bent.height(stage)),
            };
            s.times(bent.bend.cos())
        })
}
