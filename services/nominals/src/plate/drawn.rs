//! A plate drawn flat.

use shared_types::{Dimension, DimensionShape, Layer, Stage, Stroke, View};

use super::flat::{PLACES, places_of};
use super::{Outline, Plate};
use crate::diagonal;
use crate::pen::{self, line, linear, point};
use crate::polygon::Polygon;

/// Dimension lines stand this part of the plate's larger side away from it.
const STEP: f64 = 0.09;

pub(super) fn view(plate: &Plate) -> View {
    let polygon = &plate.polygon;
    let outline = (0..polygon.count()).map(|edge| {
        let [from, to] = polygon.edge(edge);
        line(from, to)
    });
    let outline = outline.map(|shape| Stroke {
        layer: Layer::Cut,
        shape,
    });
    let holes = plate.holes.iter();
    let strokes = outline.chain(holes.flat_map(|hole| hole.strokes(Stage::Blank, hole.centre())));
    let [left, right, bottom, top] = polygon.bounds();
    let step = STEP * (right - left).max(top - bottom);
    let mut dimensions: Vec<Option<Dimension>> = Vec::new();
    match plate.outline {
        Outline::Rectangle { .. } => {
            dimensions.push(linear(
                "blank.width",
                [left, bottom],
                [right, bottom],
                -step,
            ));
            dimensions.push(linear("blank.height", [right, bottom], [right, top], -step));
            if plate.diagonals {
                let corners = [left, right].map(|x| [bottom, top].map(|y| [x, y]));
                dimensions.extend(diagonal::dimensions(Stage::Blank, corners, 0.0));
            }
            for hole in &plate.holes {
                let [x, y] = hole.centre();
                let [across, high] = [[1.0, 0.0], [0.0, 1.0]].map(|way| hole.reach(way).pm());
                dimensions.extend(hole.own_dimensions([x, y]));
                if hole.is_placed() {
                    let (along, up) = (hole.place_id("x"), hole.place_id("y"));
                    dimensions.push(linear(&along, [left, y], [x - across, y], 0.0));
                    dimensions.push(linear(&up, [x, bottom], [x, y - high], 0.0));
                }
            }
        }
        Outline::Corners(_) => {
            // Outside is right of the way round, or left of it clockwise.
            let outward = if polygon.is_counter_clockwise() {
                -step
            } else {
                step
            };
            for index in 0..polygon.count() {
                let [from, to] = polygon.edge(index);
                let id = format!("blank.edge.{}", index + 1);
                dimensions.push(linear(&id, from, to, outward));
                dimensions.push(corner(polygon, index, 2.0 * step));
            }
            for hole in &plate.holes {
                dimensions.extend(hole.own_dimensions(hole.centre()));
                if !hole.is_placed() {
                    continue;
                }
                for (place, letter) in places_of(polygon, hole).into_iter().zip(PLACES) {
                    let id = hole.place_id(letter);
                    let foot = place.foot(polygon, hole);
                    let near = toward(hole.centre(), foot, place.reach(polygon, hole).pm());
                    dimensions.push(linear(&id, foot, near, 0.0));
                }
            }
        }
    }
    View {
        stage: Stage::Blank,
        title: "the plate".to_owned(),
        strokes: strokes.collect(),
        dimensions: dimensions.into_iter().flatten().collect(),
    }
}

/// The arc of a corner, at most `most` away from it.
fn corner(polygon: &Polygon, index: usize, most: f64) -> Option<Dimension> {
    let at = polygon.corner(index);
    let before = polygon.corner(index + polygon.count() - 1);
    let after = polygon.corner(index + 1);
    let apart = |other: [f64; 2]| (other[0] - at[0]).hypot(other[1] - at[1]);
    let reach = (0.4 * apart(before).min(apart(after))).min(most);
    let [before, after] = [before, after].map(|other| {
        let [x, y] = toward(at, other, reach);
        point(x, y)
    });
    // Counter-clockwise round the metal, or round the gap of a re-entrant corner.
    let metal = polygon.is_counter_clockwise() != polygon.is_reentrant(index);
    let (from, to) = if metal {
        (after, before)
    } else {
        (before, after)
    };
    let shape = DimensionShape::Angle {
        vertex: point(at[0], at[1]),
        from,
        to,
    };
    pen::dimension(&format!("blank.corner.{}", index + 1), shape)
}

fn toward(from: [f64; 2], to: [f64; 2], far: f64) -> [f64; 2] {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let long = dx.hypot(dy);
    [from[0] + dx / long * far, from[1] + dy / long * far]
}
