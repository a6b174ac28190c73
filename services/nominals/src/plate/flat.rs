//! What is measured of a plate, and where its holes contradict its outline.

use shared_types::{Length, Stage};

use super::{Outline, Plate};
use crate::BuildRules;
use crate::derived::{self, DerivedDraft};
use crate::diagonal::diagonals;
use crate::draft::{Draft, Nominal, deg, mm};
use crate::fit::{self, Rim};
use crate::form::At;
use crate::hand::{LEFT, RIGHT};
use crate::hole::{self, Hole};
use crate::measure::Measure;
use crate::polygon::Polygon;

const NOT_BACK: &str = "It cannot be put back: cut another, or ask what the plan allows.";

/// Two edges square a hole's place only where they differ by at least this much in direction: the sine
/// of 30°, below which a slip along the one hardly shows on the other.
const SQUARING_SIN_MIN: f64 = 0.5;

/// Every hole that leaves the plate or runs into another, and where it stands in the file.
pub(super) fn contradictions(plate: &Plate) -> Vec<(At, String)> {
    let named = |edge: usize| edge_name(plate, edge);
    hole::contradictions("plate", &plate.polygon, &plate.holes, named)
}

/// From a hole's centre to the nearest edge.
pub(super) fn to_edge(plate: &Plate, hole: &Hole) -> f64 {
    let edges = 0..plate.polygon.count();
    edges
        .map(|edge| plate.polygon.distance(hole.centre(), edge).0)
        .fold(f64::MAX, f64::min)
}

pub(super) fn drafts(plate: &Plate) -> Vec<Draft> {
    match &plate.outline {
        Outline::Rectangle {
            width,
            height,
            width_at,
            height_at,
        } => {
            let mut drafts = vec![
                overall(
                    "width",
                    Measure::exact(*width),
                    &format!("{LEFT} and {RIGHT} edges"),
                    *width_at,
                ),
                overall(
                    "height",
                    Measure::exact(*height),
                    "bottom and top edges",
                    *height_at,
                ),
            ];
            for hole in &plate.holes {
                drafts.extend(hole.own_drafts());
                if !hole.is_placed() {
                    continue;
                }
                let along = [
                    ("x", LEFT, hole.x, [1.0, 0.0]),
                    ("y", "bottom", hole.y, [0.0, 1.0]),
                ];
                for (letter, edge, given, way) in along {
                    let edge = format!("{edge} edge");
                    let rule = format!("centre {} from the {edge}", mm(given.into()));
                    let centre = Measure::exact(given);
                    let reach = hole.reach(way);
                    drafts.push(hole.place_draft(letter, &edge, centre, &rule, reach));
                }
            }
            if plate.diagonals {
                let flat = [*width, *height].map(Measure::exact);
                drafts.extend(diagonals(Stage::Blank, flat, None, *width_at));
            }
            drafts
        }
        Outline::Corners(places) => {
            let mut drafts: Vec<Draft> = Vec::new();
            for (index, at) in places.iter().enumerate() {
                drafts.push(edge(&plate.polygon, index, *at));
            }
            for (index, at) in places.iter().enumerate() {
                drafts.extend(corner(&plate.polygon, index, *at));
            }
            for hole in &plate.holes {
                drafts.extend(hole.own_drafts());
                if !hole.is_placed() {
                    continue;
                }
                for (place, letter) in places_of(&plate.polygon, hole).into_iter().zip(PLACES) {
                    drafts.push(from(&plate.polygon, hole, letter, place));
                }
            }
            drafts
        }
    }
}

/// How far the diagonals may differ, where they are measured.
pub(super) fn squareness(plate: &Plate, rules: &BuildRules) -> Option<DerivedDraft> {
    match plate.outline {
        Outline::Rectangle {
            width,
            height,
            width_at,
            ..
        } if plate.diagonals => {
            let sides = [width, height].map(Measure::exact);
            derived::squareness(Stage::Blank, sides, rules, width_at)
        }
        _ => None,
    }
}

/// The edges, as gaps are measured from them.
pub(super) fn rims(plate: &Plate) -> Vec<Rim> {
    match plate.outline {
        Outline::Rectangle { width, height, .. } => {
            fit::rectangle([width, height].map(|side| side.pm() as f64))
        }
        Outline::Corners(_) => fit::polygon(&plate.polygon),
    }
}

/// The two dimensions that place a hole on an outline of corners.
pub(super) const PLACES: [&str; 2] = ["first", "second"];

/// From what a hole's place is measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Place {
    /// Square from an edge.
    Edge(usize),
    /// In a line from a corner.
    Corner(usize),
}

impl Place {
    /// How far the hole's centre is from it.
    pub(super) fn distance(self, polygon: &Polygon, hole: &Hole) -> f64 {
        match self {
            Self::Edge(edge) => polygon.distance(hole.centre(), edge).0,
            Self::Corner(corner) => apart(polygon.corner(corner), hole.centre()),
        }
    }

    /// Where on the outline the measuring begins.
    pub(super) fn foot(self, polygon: &Polygon, hole: &Hole) -> [f64; 2] {
        match self {
            Self::Edge(edge) => {
                let (_, part) = polygon.distance(hole.centre(), edge);
                let [a, b] = polygon.edge(edge);
                [0, 1].map(|axis| a[axis] + part * (b[axis] - a[axis]))
            }
            Self::Corner(corner) => polygon.corner(corner),
        }
    }

    /// From the hole's middle to the side that the measuring ends at.
    pub(super) fn reach(self, polygon: &Polygon, hole: &Hole) -> Measure {
        match self {
            Self::Edge(_) => hole.reach(self.way(polygon, hole)),
            Self::Corner(corner) => hole.reach_from(polygon.corner(corner)),
        }
    }

    /// The way the measuring goes, of length one.
    fn way(self, polygon: &Polygon, hole: &Hole) -> [f64; 2] {
        let (foot, centre) = (self.foot(polygon, hole), hole.centre());
        let far = apart(foot, centre);
        [0, 1].map(|axis| (centre[axis] - foot[axis]) / far)
    }

    /// The distance, exact from an edge along an axis.
    fn measure(self, polygon: &Polygon, hole: &Hole) -> Measure {
        if let Self::Edge(edge) = self {
            let at = polygon.corner(edge);
            let exact = match polygon.along(edge) {
                [0, _] => Some(hole.centre()[0] - at[0]),
                [_, 0] => Some(hole.centre()[1] - at[1]),
                _ => None,
            };
            #[expect(
                clippy::cast_possible_truncation,
                reason = "differences of whole picometres below 10 m are whole and exact"
            )]
            if let Some(length) = exact.and_then(|pm| Length::from_pm(pm.abs() as i64)) {
                return Measure::exact(length);
            }
        }
        Measure::computed(self.distance(polygon, hole))
    }
}

/// The nearest edge that the hole stands square to, and the nearest that squares it; a corner where the
/// outline has no such edge.
pub(super) fn places_of(polygon: &Polygon, hole: &Hole) -> [Place; 2] {
    let square_to = |edge: &usize| {
        let (_, part) = polygon.distance(hole.centre(), *edge);
        part > 0.0 && part < 1.0
    };
    let nearest = |places: &mut dyn Iterator<Item = Place>| {
        places.min_by(|a, b| {
            let [a, b] = [a, b].map(|place| place.distance(polygon, hole));
            a.total_cmp(&b)
        })
    };
    let count = polygon.count();
    let edges = || (0..count).filter(square_to);
    let corner_other_than = |taken: Option<Place>| {
        let corners = (0..count).map(Place::Corner);
        nearest(&mut corners.filter(|place| Some(*place) != taken)).unwrap_or(Place::Corner(0))
    };
    let first = nearest(&mut edges().map(Place::Edge));
    let Some(first @ Place::Edge(edge)) = first else {
        let first = corner_other_than(None);
        return [first, corner_other_than(Some(first))];
    };
    let squares = |other: &usize| {
        let [a, b] = [edge, *other].map(|edge| polygon.along(edge).map(|pm| pm as f64));
        let cross = (a[0] * b[1] - a[1] * b[0]).abs();
        cross >= SQUARING_SIN_MIN * a[0].hypot(a[1]) * b[0].hypot(b[1])
    };
    let second = nearest(&mut edges().filter(squares).map(Place::Edge));
    [first, second.unwrap_or_else(|| corner_other_than(None))]
}

fn from(polygon: &Polygon, hole: &Hole, letter: &str, place: Place) -> Draft {
    let (from, rule) = match place {
        Place::Edge(edge) => (
            polygon.edge_name(edge),
            "square from the edge to the hole's centre, from the plan's coordinates",
        ),
        Place::Corner(corner) => (
            format!("corner {}", corner + 1),
            "in a line from the corner to the hole's centre, from the plan's coordinates",
        ),
    };
    let reach = place.reach(polygon, hole);
    hole.place_draft(letter, &from, place.measure(polygon, hole), rule, reach)
}

fn overall(word: &str, nominal: Measure, over: &str, at: At) -> Draft {
    Draft {
        id: format!("blank.{word}"),
        name: format!("overall {word} of the plate"),
        stage: Stage::Blank,
        nominal: Nominal::Length(nominal),
        rule: "as the plan gives it".to_owned(),
        how: format!(
            "Outside jaws over the {over}, square to them; near both ends, the worst one counts."
        ),
        if_small: NOT_BACK.into(),
        if_large: "File or trim the edge down to the line.".into(),
        own: None,
        at,
    }
}

fn edge(polygon: &Polygon, index: usize, at: At) -> Draft {
    let [from, to] = [index, index + 1].map(|corner| 1 + corner % polygon.count());
    Draft {
        id: format!("blank.edge.{}", index + 1),
        name: format!("length of {}", polygon.edge_name(index)),
        stage: Stage::Blank,
        nominal: Nominal::Length(polygon.length(index)),
        rule: "between the plan's corners".to_owned(),
        how: format!(
            "Outside jaws or the beam's tips from corner {from} to corner {to}, along the edge."
        ),
        if_small: NOT_BACK.into(),
        if_large: "See which of its two corners is too far out; file or trim there.".into(),
        own: None,
        at,
    }
}

fn corner(polygon: &Polygon, index: usize, at: At) -> Option<Draft> {
    let angle = polygon.angle(index)?;
    let before = (index + polygon.count() - 1) % polygon.count();
    let legs = [before, index].map(|edge| polygon.length(edge).length());
    let reentrant = polygon.is_reentrant(index);
    let what = if reentrant {
        "gap between the edges"
    } else {
        "angle between the edges"
    };
    let (if_small, if_large) = if reentrant {
        ("File the gap open, down to the line.", NOT_BACK)
    } else {
        (NOT_BACK, "File or trim down to the line.")
    };
    Some(Draft {
        id: format!("blank.corner.{}", index + 1),
        name: format!("{what} at corner {}", index + 1),
        stage: Stage::Blank,
        nominal: Nominal::Angle(angle, legs.into_iter().flatten().min()?),
        rule: format!(
            "between the edges to corners {} and {}, from the plan's corners{}",
            before + 1,
            (index + 1) % polygon.count() + 1,
            if reentrant {
                "; the metal goes round this corner, and the gap is measured"
            } else {
                ""
            }
        ),
        how: format!(
            "One blade of the angle gauge along each edge at corner {}. It should show {}.",
            index + 1,
            deg(angle)
        ),
        if_small: if_small.into(),
        if_large: if_large.into(),
        own: None,
        at,
    })
}

fn edge_name(plate: &Plate, index: usize) -> String {
    match plate.outline {
        Outline::Rectangle { .. } => {
            format!("the {} edge", ["bottom", RIGHT, "top", LEFT][index % 4])
        }
        Outline::Corners(_) => plate.polygon.edge_name(index),
    }
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}
