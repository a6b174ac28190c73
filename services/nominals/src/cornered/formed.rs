//! A panel of corners with its flanges worked up, and trimmed.

use shared_types::Stage;

use super::Bent;
use super::blank::{label, laid, pair_id};
use super::facing::Facing;
use super::outline::Corner;
use super::shape::Shape;
use crate::draft::{Draft, Nominal, deg, mm};
use crate::flange::row::{self, Run};
use crate::flange::{self, Direction};
use crate::measure::Measure;

/// Where across two facing edges a dimension is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Level {
    /// Just above the bends.
    Root,
    /// At the flanges' free edges.
    Free,
}

impl Level {
    pub(super) const fn id(self) -> &'static str {
        match self {
            Self::Root => "root",
            Self::Free => "free",
        }
    }
}

pub(super) fn drafts(shape: &Shape<'_>) -> Vec<Draft> {
    let mut drafts = Vec::new();
    for (edge, bent) in shape.bent() {
        drafts.push(flange::height(&label(shape, edge), bent, Stage::Formed));
        if has_angle(shape, edge) {
            let web = shape
                .web
                .length(edge)
                .length()
                .unwrap_or(bent.flange.formed);
            drafts.push(flange::angle(&label(shape, edge), bent, web));
        }
    }
    for pair in shape.facing.iter().filter(|pair| flanged(shape, pair)) {
        drafts.push(across(shape, pair, Level::Root, Stage::Formed));
        drafts.push(across(shape, pair, Level::Free, Stage::Formed));
    }
    drafts.extend(corners(shape).filter_map(|corner| between_flanges(shape, &corner)));
    for (edge, bent) in shape
        .bent()
        .filter(|(_, bent)| bent.flange.finished.is_some())
    {
        drafts.push(flange::height(&label(shape, edge), bent, Stage::Trimmed));
    }
    for pair in shape.facing.iter().filter(|pair| finished(shape, pair)) {
        drafts.push(across(shape, pair, Level::Free, Stage::Trimmed));
    }
    let runs = runs(shape);
    for stage in [Stage::Formed, Stage::Trimmed] {
        drafts.extend(runs.iter().flat_map(|run| row::drafts(run, stage)));
    }
    drafts
}

/// The straight flanges that end at a corner both ways, each from the corner where its edge begins.
pub(super) fn runs<'s, 'p>(shape: &'s Shape<'p>) -> Vec<Run<'s, 'p, usize>> {
    let run = |(edge, bent): (usize, &'s Bent<'p>)| Run {
        label: label(shape, edge),
        start: format!("end at {}", shape.corner_name(edge)),
        length: shape.web.length(edge),
        // Of a flange turned away from the web's outside face one sees the way back.
        starts_left: shape.web.is_counter_clockwise() == (bent.flange.direction == Direction::Down),
        bent,
    };
    shape
        .bent()
        .filter(|(edge, _)| has_run(shape, *edge))
        .map(run)
        .collect()
}

/// Whether a flange is straight from a corner to a corner.
pub(super) fn has_run(shape: &Shape<'_>, edge: usize) -> bool {
    let goes_on = shape.is_smooth(edge) || shape.is_smooth(shape.web.after(edge));
    shape.web.piece(edge).is_line() && !goes_on
}

/// The blade of an angle gauge finds no room on a flange that goes round a corner.
pub(super) fn has_angle(shape: &Shape<'_>, edge: usize) -> bool {
    !shape.outline().is_rounding(edge)
}

pub(super) fn flanged(shape: &Shape<'_>, facing: &Facing) -> bool {
    facing.pair.iter().any(|edge| shape.bents[*edge].is_some())
}

pub(super) fn finished(shape: &Shape<'_>, facing: &Facing) -> bool {
    facing.pair.iter().any(|edge| {
        let bent = shape.bents[*edge].as_ref();
        bent.is_some_and(|bent| bent.flange.finished.is_some())
    })
}

/// Corners between two square flanges that go the same way: their outer faces stand at the plan's angle.
pub(super) fn corners<'s>(shape: &'s Shape<'_>) -> impl Iterator<Item = Corner> + 's {
    shape.outline().corners().filter(|corner| {
        let bents = corner.edges.map(|edge| shape.bents[edge].as_ref());
        let [Some(a), Some(b)] = bents else {
            return false;
        };
        let square = a.bend.cos() == 0.0 && b.bend.cos() == 0.0;
        square && a.flange.direction == b.flange.direction
    })
}

/// How far the outer face of a flange stands outside the line of the flat web; a plain edge on it.
pub(super) fn reach(shape: &Shape<'_>, edge: usize, level: Level, stage: Stage) -> Measure {
    shape.bents[edge].as_ref().map_or(Measure::ZERO, |bent| {
        let s = match level {
            Level::Root => bent.setback,
            Level::Free => Measure::exact(bent.height(stage)),
        };
        shape.mold[edge] + s.times(bent.bend.cos())
    })
}

fn across(shape: &Shape<'_>, facing: &Facing, level: Level, stage: Stage) -> Draft {
    let [a, b] = facing.pair;
    let [one, other] = [a, b].map(|edge| match shape.bents[edge] {
        Some(_) => format!("the flange on {}", shape.name(edge)),
        None => format!("the plain {}", shape.outline().bare(edge)),
    });
    let reaches = [a, b].map(|edge| reach(shape, edge, level, stage));
    let flat = Measure::computed(facing.across);
    let ways = [a, b].map(|edge| shape.bents[edge].as_ref().map(|bent| bent.flange.direction));
    let opposed = match ways {
        [Some(a), Some(b)] if a != b => {
            " The two flanges stand on opposite sides of the web: the jaws must reach past it on both."
        }
        _ => "",
    };
    let (place, if_small, if_large) = match level {
        Level::Root => (
            "just above the bends",
            "The bends sit too far in, and that cannot be put back: ask what the plan allows.",
            "Work the bends in tighter against the block, or ask what the plan allows.",
        ),
        Level::Free => (
            "at the free edges",
            "Ease the flanges back, away from each other.",
            "Work the flanges up further, toward each other.",
        ),
    };
    let at = [a, b]
        .into_iter()
        .find_map(|edge| shape.bents[edge].as_ref())
        .map_or(shape.panel.at, |bent| bent.flange.at);
    Draft {
        id: format!("{stage}.across.{}.{}", pair_id(shape, facing), level.id()),
        name: format!("over {one} and {other}, {place}"),
        stage,
        nominal: Nominal::Length(flat + reaches[0] + reaches[1]),
        rule: format!(
            "flat web {}, plus SB + s cos A beyond each flanged edge, s along the outer face from the mold line: {} and {}",
            mm(flat),
            mm(reaches[0]),
            mm(reaches[1])
        ),
        how: format!(
            "Outside jaws over {one} and {other}, {place}, {}.{opposed}",
            laid(shape, facing)
        ),
        if_small: if_small.into(),
        if_large: if_large.into(),
        own: None,
        at,
    }
}

fn between_flanges(shape: &Shape<'_>, corner: &Corner) -> Option<Draft> {
    let outline = shape.outline();
    let angle = outline.angle(corner)?;
    let names = corner.edges.map(|edge| shape.name(edge));
    Some(Draft {
        id: format!("formed.corner.{}", outline.corner_id(corner.number)),
        name: format!("angle between the flanges on {} and {}", names[0], names[1]),
        stage: Stage::Formed,
        nominal: Nominal::Angle(angle, shape.shorter(corner)),
        rule: "as between the plan's edges: flanges square to the web stand as its edges run"
            .to_owned(),
        how: format!(
            "One blade of the angle gauge on the outer face of each of the two flanges at {}. It should show {}.",
            outline.corner_name(corner.number),
            deg(angle)
        ),
        if_small: "The bend lines are off, and that cannot be put back: ask what the plan allows."
            .into(),
        if_large: "The bend lines are off, and that cannot be put back: ask what the plan allows."
            .into(),
        own: None,
        at: outline.at(corner.edges[1]),
    })
}
