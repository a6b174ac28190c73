//! The flat blank of a panel of corners.

use shared_types::Stage;

use super::curved;
use super::facing::Facing;
use super::outline::Corner;
use super::shape::Shape;
use crate::draft::{Draft, Nominal, deg, mm};
use crate::flange::{self, Label};
use crate::form::At;
use crate::hole::{Hole, NOT_MOVED};
use crate::measure::Measure;

const NOT_BACK: &str = "It cannot be put back: cut another blank, or ask what the plan allows.";

/// Two edges square a hole's place only where they differ by at least 30°; the sine of that.
const SQUARING_SIN_MIN: f64 = 0.5;

pub(super) fn drafts(shape: &Shape<'_>) -> Vec<Draft> {
    let mut drafts: Vec<Draft> = edges(shape).map(|edge| length(shape, edge)).collect();
    drafts.extend(curved::blank(shape));
    drafts.extend(shape.facing.iter().map(|pair| across(shape, pair)));
    drafts.extend(
        shape
            .outline()
            .corners()
            .filter_map(|corner| angle(shape, &corner)),
    );
    drafts.extend(shape.bent().map(|(edge, bent)| {
        let label = label(shape, edge);
        flange::line(&label, &shape.outline().bare(edge), bent, shape.rule)
    }));
    drafts.extend(relief(shape));
    for hole in &shape.panel.holes {
        drafts.extend(hole.own_drafts());
        if !hole.is_placed() {
            continue;
        }
        for (edge, letter) in places(shape, hole).into_iter().zip(PLACES) {
            drafts.push(place(shape, hole, edge, letter));
        }
    }
    drafts
}

/// As drafts and sections of flanges name an edge.
pub(super) fn label(shape: &Shape<'_>, edge: usize) -> Label {
    Label {
        id: shape.id(edge),
        words: format!("flange on {}", shape.name(edge)),
    }
}

/// Straight edges of the blank with two ends to measure between.
pub(super) fn edges(shape: &Shape<'_>) -> impl Iterator<Item = usize> {
    (0..shape.count()).filter(|edge| shape.web.piece(*edge).is_line() && has_ends(shape, *edge))
}

/// Whether an edge of the blank ends at a corner both ways, where jaws find it: flanges do, and plain edges between
/// plain neighbours.
pub(super) fn has_ends(shape: &Shape<'_>, edge: usize) -> bool {
    let after = shape.web.after(edge);
    let plain = |edge: usize| shape.bents[edge].is_none();
    let smooth = shape.is_smooth(edge) || shape.is_smooth(after);
    !smooth && (!plain(edge) || (plain(shape.web.before(edge)) && plain(after)))
}

pub(super) fn draft(id: String, name: String, nominal: Measure, at: At) -> Draft {
    Draft {
        id: format!("blank.{id}"),
        name,
        stage: Stage::Blank,
        nominal: Nominal::Length(nominal),
        rule: String::new(),
        how: String::new(),
        if_small: NOT_BACK.into(),
        if_large: "File or trim down to the line.".into(),
        own: None,
        at,
    }
}

fn length(shape: &Shape<'_>, edge: usize) -> Draft {
    let name = shape.name(edge);
    Draft {
        rule: "of the flat web between the tangent lines and plain edges of its neighbours"
            .to_owned(),
        how: format!("Outside jaws over the two ends of {name}, along it."),
        ..draft(
            format!("edge.{}", shape.id(edge)),
            format!("length of {name} of the blank"),
            shape.web.length(edge),
            shape.outline().at(edge),
        )
    }
}

fn across(shape: &Shape<'_>, facing: &Facing) -> Draft {
    let flat = Measure::computed(facing.across);
    let names = facing.pair.map(|edge| shape.name(edge));
    let extents = facing.pair.map(|edge| shape.extent(edge));
    Draft {
        rule: format!(
            "flat web {} between the lines of {} and {}, plus BA + h − SB beyond each: {} and {}",
            mm(flat),
            names[0],
            names[1],
            mm(extents[0]),
            mm(extents[1])
        ),
        how: format!(
            "Outside jaws over {} and {} of the blank, {}.",
            names[0],
            names[1],
            laid(shape, facing)
        ),
        ..draft(
            format!("across.{}", pair_id(shape, facing)),
            format!("blank from {} to {}", names[0], names[1]),
            flat + extents[0] + extents[1],
            shape.outline().at(facing.pair[0]),
        )
    }
}

/// `1-3`.
pub(super) fn pair_id(shape: &Shape<'_>, facing: &Facing) -> String {
    let [a, b] = facing.pair.map(|edge| shape.id(edge));
    format!("{a}-{b}")
}

/// How jaws are laid over two edges that face each other.
pub(super) fn laid(shape: &Shape<'_>, facing: &Facing) -> &'static str {
    match facing.pair.map(|edge| shape.web.piece(edge).is_line()) {
        [true, true] => {
            "square to them and clear of the ends of neighbouring flanges; at several places, the worst one counts"
        }
        [false, false] => "moved round until the reading is largest",
        _ => "flat against the straight one and moved along it until the reading is largest",
    }
}

fn angle(shape: &Shape<'_>, corner: &Corner) -> Option<Draft> {
    let outline = shape.outline();
    let angle = outline.angle(corner)?;
    let what = if outline.is_reentrant(corner) {
        "gap"
    } else {
        "angle"
    };
    let names = corner.edges.map(|edge| shape.name(edge));
    let base = draft(
        format!("corner.{}", outline.corner_id(corner.number)),
        format!("{what} between {} and {} of the blank", names[0], names[1]),
        Measure::ZERO,
        outline.at(corner.edges[1]),
    );
    Some(Draft {
        nominal: Nominal::Angle(angle, shape.shorter(corner)),
        rule: "as between the plan's edges: flanges lie parallel to them".to_owned(),
        how: format!(
            "One blade of the angle gauge along each of the two edges, bridging the corner. It should show {}.",
            deg(angle)
        ),
        if_small: "See which of the two edges is off; what is cut away cannot be put back.".into(),
        if_large: "See which of the two edges is off; file or trim there.".into(),
        ..base
    })
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
        if_large: NOT_BACK.into(),
        ..draft(
            "relief.diameter".to_owned(),
            "diameter of the relief holes".to_owned(),
            diameter,
            relief.at,
        )
    }];
    for corner in shape.relieved() {
        for (edge, letter) in shape.edges_at(corner).into_iter().zip(SIDES) {
            let name = shape.name(edge);
            let corner_name = shape.corner_name(corner);
            drafts.push(Draft {
                rule: format!(
                    "{} from the edge to the second bend tangent line, less half the diameter {}; the hole's centre is the \
                     crossing of the inside bend tangent lines, FAA-H-8083-31 chapter 4",
                    mm(shape.extent(edge)),
                    mm(diameter)
                ),
                how: format!(
                    "From {name} of the blank, square to it, to the near side of the relief hole at {corner_name}, before the \
                     corner is cut out: one outside jaw on the edge, the tip of the other in the hole."
                ),
                if_small: NOT_MOVED.into(),
                if_large: NOT_MOVED.into(),
                ..draft(
                    format!("relief.{}.{letter}", shape.corner_id(corner)),
                    format!("{name} to the relief hole at {corner_name}"),
                    shape.extent(edge) - diameter.half(),
                    relief.at,
                )
            });
        }
    }
    drafts
}

/// The two edges at a corner: the one that ends there, and the one that begins there.
pub(super) const SIDES: [&str; 2] = ["before", "after"];

/// The two dimensions that place a hole.
pub(super) const PLACES: [&str; 2] = ["first", "second"];

fn place(shape: &Shape<'_>, hole: &Hole, edge: usize, letter: &str) -> Draft {
    let inside = Measure::computed(shape.web.inside(hole.centre(), edge));
    let rule = format!(
        "centre {} inside the flat web's line there, plus {} beyond it",
        mm(inside),
        mm(shape.extent(edge))
    );
    let centre = inside + shape.extent(edge);
    let part = shape.web.piece(edge).distance(hole.centre()).1;
    let way = shape.web.outward(edge, part);
    hole.place_draft(
        letter,
        &shape.outline().bare(edge),
        centre,
        &rule,
        hole.reach(way),
    )
}

/// The nearest edge that a hole stands square to, and the nearest that squares it.
pub(super) fn places(shape: &Shape<'_>, hole: &Hole) -> [usize; 2] {
    let foot = |edge: usize| shape.web.piece(edge).distance(hole.centre());
    // A hole beside the end of an edge is measured from it last, from an arc only where there is no straight edge.
    let away = |edge: usize| {
        let (distance, part) = foot(edge);
        let clear = part > 0.0 && part < 1.0;
        (!clear, !shape.web.piece(edge).is_line(), distance)
    };
    let nearer = |a: &usize, b: &usize| {
        let (a, b) = (away(*a), away(*b));
        (a.0, a.1).cmp(&(b.0, b.1)).then(a.2.total_cmp(&b.2))
    };
    let outward = |edge: usize| shape.web.outward(edge, foot(edge).1);
    let first = (0..shape.count()).min_by(nearer).unwrap_or(0);
    let squares = |edge: &usize| {
        let ([ax, ay], [bx, by]) = (outward(first), outward(*edge));
        (ax * by - ay * bx).abs() >= SQUARING_SIN_MIN
    };
    let second = (0..shape.count()).filter(squares).min_by(nearer);
    // Every outline turns by at least 30° somewhere against any of its edges; seen from the middle of a disc it may
    // not, and then its next edge will do.
    [first, second.unwrap_or(shape.web.after(first))]
}
