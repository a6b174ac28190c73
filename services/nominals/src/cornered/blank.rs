//! The flat blank of a panel of corners.

use shared_types::{Length, Stage};

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
    drafts.extend(shape.facing().into_iter().map(|pair| across(shape, pair)));
    drafts.extend((0..shape.count()).filter_map(|corner| angle(shape, corner)));
    drafts.extend(shape.bent().map(|(edge, bent)| {
        let label = label(shape, edge);
        flange::line(&label, &shape.web.edge_name(edge), bent, shape.rule)
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
        id: (edge + 1).to_string(),
        words: format!("flange on {}", shape.web.edge_name(edge)),
    }
}

/// Edges of the blank with two ends to measure between: flanges, and plain edges between plain neighbours.
pub(super) fn edges(shape: &Shape<'_>) -> impl Iterator<Item = usize> {
    (0..shape.count()).filter(|edge| {
        let [before, _] = shape.edges_at(*edge);
        let after = (edge + 1) % shape.count();
        let plain = |edge: usize| shape.bents[edge].is_none();
        !plain(*edge) || (plain(before) && plain(after))
    })
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
    let name = shape.web.edge_name(edge);
    Draft {
        rule: "of the flat web between the tangent lines and plain edges of its neighbours"
            .to_owned(),
        how: format!("Outside jaws over the two ends of {name}, along it."),
        ..draft(
            format!("edge.{}", edge + 1),
            format!("length of {name} of the blank"),
            shape.length(edge),
            shape.panel.places[edge],
        )
    }
}

fn across(shape: &Shape<'_>, [a, b]: [usize; 2]) -> Draft {
    let flat = between(shape, [a, b]);
    let names = [a, b].map(|edge| shape.web.edge_name(edge));
    let extents = [a, b].map(|edge| shape.extent(edge));
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
            "Outside jaws over {} and {} of the blank, square to them and clear of the ends of neighbouring flanges; at \
             several places, the worst one counts.",
            names[0], names[1]
        ),
        ..draft(
            format!("across.{}-{}", a + 1, b + 1),
            format!("blank from {} to {}", names[0], names[1]),
            flat + extents[0] + extents[1],
            shape.panel.places[a],
        )
    }
}

/// Between the parallel lines of two edges of the flat web.
pub(super) fn between(shape: &Shape<'_>, [a, b]: [usize; 2]) -> Measure {
    Measure::computed(shape.inside(shape.place(b, 0.5, 0.0), a))
}

fn angle(shape: &Shape<'_>, corner: usize) -> Option<Draft> {
    let [before, after] = shape.edges_at(corner);
    let angle = shape.angle(corner)?;
    let reentrant = shape.panel.polygon.is_reentrant(corner);
    let what = if reentrant { "gap" } else { "angle" };
    let names = [before, after].map(|edge| shape.web.edge_name(edge));
    let base = draft(
        format!("corner.{}", corner + 1),
        format!("{what} between {} and {} of the blank", names[0], names[1]),
        Measure::ZERO,
        shape.panel.places[corner],
    );
    Some(Draft {
        nominal: Nominal::Angle(angle, shorter(shape, corner)),
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

/// The shorter of the two edges at a corner, by which general tolerances of angles go.
pub(super) fn shorter(shape: &Shape<'_>, corner: usize) -> Length {
    let lengths = shape
        .edges_at(corner)
        .map(|edge| shape.length(edge).length());
    lengths.into_iter().flatten().min().unwrap_or(Length::ZERO)
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
            let name = shape.web.edge_name(edge);
            drafts.push(Draft {
                rule: format!(
                    "{} from the edge to the second bend tangent line, less half the diameter {}; the hole's centre is the \
                     crossing of the inside bend tangent lines, FAA-H-8083-31 chapter 4",
                    mm(shape.extent(edge)),
                    mm(diameter)
                ),
                how: format!(
                    "From {name} of the blank, square to it, to the near side of the relief hole at corner {}, before the \
                     corner is cut out: one outside jaw on the edge, the tip of the other in the hole.",
                    corner + 1
                ),
                if_small: NOT_MOVED.into(),
                if_large: NOT_MOVED.into(),
                ..draft(
                    format!("relief.{}.{letter}", corner + 1),
                    format!("{name} to the relief hole at corner {}", corner + 1),
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
    let inside = Measure::computed(shape.inside(hole.centre(), edge));
    let rule = format!(
        "centre {} inside the flat web's line there, plus {} beyond it",
        mm(inside),
        mm(shape.extent(edge))
    );
    let centre = inside + shape.extent(edge);
    let way = shape.outward[edge];
    hole.place_draft(letter, &shape.web.edge_name(edge), centre, &rule, way)
}

/// The nearest edge that a hole stands square to, and the nearest that squares it.
pub(super) fn places(shape: &Shape<'_>, hole: &Hole) -> [usize; 2] {
    let web = &shape.web;
    // A hole beside the end of an edge is measured from it last.
    let away = |edge: &usize| {
        let (distance, part) = web.distance(hole.centre(), *edge);
        (!(part > 0.0 && part < 1.0), distance)
    };
    let nearer = |a: &usize, b: &usize| {
        let (a, b) = (away(a), away(b));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    };
    let first = (0..shape.count()).min_by(nearer).unwrap_or(0);
    let squares = |edge: &usize| {
        let ([ax, ay], [bx, by]) = (shape.outward[first], shape.outward[*edge]);
        (ax * by - ay * bx).abs() >= SQUARING_SIN_MIN
    };
    let second = (0..shape.count()).filter(squares).min_by(nearer);
    // Every outline turns by at least 30° somewhere against any of its edges.
    [first, second.unwrap_or((first + 1) % shape.count())]
}
