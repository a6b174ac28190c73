//! Strokes as plain numbers in millimetres, from the plan and from each kind of file.

use dxf::entities::EntityType;
use shared_types::{Layer, Length, StrokeShape, View};

/// A stroke: its kind, and its numbers in an order that does not depend on its direction.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Piece {
    pub(crate) kind: &'static str,
    /// Line: the two ends. Circle: centre, radius twice. Arc: the ends, and the middle of the curve.
    pub(crate) numbers: Vec<f64>,
}

fn mm(length: Length) -> f64 {
    length.pm() as f64 / 1e9
}

fn line(a: [f64; 2], b: [f64; 2]) -> Piece {
    let (a, b) = sorted(a, b);
    Piece {
        kind: "line",
        numbers: vec![a[0], a[1], b[0], b[1]],
    }
}

fn circle([x, y]: [f64; 2], r: f64) -> Piece {
    Piece {
        kind: "circle",
        numbers: vec![x, y, r, r],
    }
}

fn arc([x, y]: [f64; 2], r: f64, start_deg: f64, sweep_deg: f64) -> Piece {
    let on = |deg: f64| {
        let (sin, cos) = deg.to_radians().sin_cos();
        [x + r * cos, y + r * sin]
    };
    let middle = on(start_deg + sweep_deg / 2.0);
    let (a, b) = sorted(on(start_deg), on(start_deg + sweep_deg));
    Piece {
        kind: "arc",
        numbers: vec![a[0], a[1], b[0], b[1], middle[0], middle[1]],
    }
}

/// Ends that differ by less than a file may are in the same order.
fn sorted(a: [f64; 2], b: [f64; 2]) -> ([f64; 2], [f64; 2]) {
    let key = |p: [f64; 2]| ((p[0] * 1e4).round(), (p[1] * 1e4).round());
    if key(a) <= key(b) { (a, b) } else { (b, a) }
}

pub(crate) fn of_view(view: &View, layer: Layer) -> Vec<Piece> {
    let strokes = view.strokes.iter().filter(|stroke| stroke.layer == layer);
    strokes
        .map(|stroke| match stroke.shape {
            StrokeShape::Line { from, to } => line([mm(from.x), mm(from.y)], [mm(to.x), mm(to.y)]),
            StrokeShape::Circle { centre, radius } => {
                circle([mm(centre.x), mm(centre.y)], mm(radius))
            }
            StrokeShape::Arc {
                centre,
                radius,
                start,
                sweep,
            } => {
                let [start, sweep] = [start, sweep].map(|angle| angle.mas() as f64 / 3_600_000.0);
                arc([mm(centre.x), mm(centre.y)], mm(radius), start, sweep)
            }
        })
        .collect()
}

pub(crate) fn of_dxf(drawing: &dxf::Drawing, layer: &str) -> Vec<Piece> {
    let entities = drawing.entities().filter(|e| e.common.layer == layer);
    entities
        .map(|entity| match &entity.specific {
            EntityType::Line(l) => line([l.p1.x, l.p1.y], [l.p2.x, l.p2.y]),
            EntityType::Circle(c) => circle([c.center.x, c.center.y], c.radius),
            EntityType::Arc(a) => {
                let sweep = (a.end_angle - a.start_angle).rem_euclid(360.0);
                arc([a.center.x, a.center.y], a.radius, a.start_angle, sweep)
            }
            other => panic!("{other:?} on {layer}"),
        })
        .collect()
}

/// The value of an attribute where it first stands.
pub(crate) fn attribute<'t>(text: &'t str, name: &str) -> &'t str {
    let start = text
        .find(&format!(" {name}=\""))
        .unwrap_or_else(|| panic!("{name} in {text}"));
    text[start..].split('"').nth(1).unwrap()
}

/// The strokes in the group of that id; y goes down in SVG.
pub(crate) fn of_svg(text: &str, id: &str) -> Vec<Piece> {
    let Some(start) = text.find(&format!("<g id=\"{id}\"")) else {
        return Vec::new();
    };
    let group = text[start..].split("</g>").next().unwrap();
    let elements = group.split('<').skip(2);
    elements
        .filter(|element| !element.starts_with('/') && !element.starts_with("text"))
        .map(|element| {
            let number = |name: &str| attribute(element, name).parse::<f64>().unwrap();
            match element.split([' ', '>']).next().unwrap() {
                "line" => line([number("x1"), -number("y1")], [number("x2"), -number("y2")]),
                "circle" => circle([number("cx"), -number("cy")], number("r")),
                "path" => svg_arc(attribute(element, "d")),
                other => panic!("{other} in {id}"),
            }
        })
        .collect()
}

/// `Mx yAr r 0 0 sweep x yAr r 0 0 sweep x y`: two halves, each less than half a turn.
fn svg_arc(path: &str) -> Piece {
    let numbers: Vec<f64> = path
        .split(['M', 'A', ' '])
        .filter(|word| !word.is_empty())
        .map(|word| word.parse().unwrap())
        .collect();
    let [
        x1,
        y1,
        r,
        same,
        _,
        large,
        clockwise,
        mx,
        my,
        r2,
        _,
        _,
        large2,
        clockwise2,
        x2,
        y2,
    ] = numbers[..]
    else {
        panic!("{path}")
    };
    assert!(r == same && r == r2 && large == 0.0 && large2 == 0.0 && clockwise == clockwise2);
    // The circle through the three places has that radius, and they follow one another that way round.
    let apart = |ax: f64, ay: f64, bx: f64, by: f64| (ax - bx).hypot(ay - by);
    let sides = apart(x1, y1, mx, my) * apart(mx, my, x2, y2) * apart(x2, y2, x1, y1);
    let twice_area = (mx - x1) * (y2 - y1) - (my - y1) * (x2 - x1);
    let found = sides / (2.0 * twice_area.abs());
    assert!((found - r).abs() < 1e-5, "{path}: radius {found}");
    assert_eq!(twice_area > 0.0, clockwise == 1.0, "{path}");
    let (a, b) = sorted([x1, -y1], [x2, -y2]);
    Piece {
        kind: "arc",
        numbers: vec![a[0], a[1], b[0], b[1], mx, -my],
    }
}

/// Every piece of one is in the other, to a nanometre, and as often.
pub(crate) fn near(wanted: &[Piece], found: &[Piece]) -> Result<(), String> {
    const NEAR_MM: f64 = 1e-6;
    let mut left: Vec<&Piece> = found.iter().collect();
    for piece in wanted {
        let same = left.iter().position(|other| {
            other.kind == piece.kind
                && other
                    .numbers
                    .iter()
                    .zip(&piece.numbers)
                    .all(|(a, b)| (a - b).abs() <= NEAR_MM)
        });
        match same {
            Some(index) => left.swap_remove(index),
            None => return Err(format!("{piece:?} is missing; left are {left:?}")),
        };
    }
    if left.is_empty() {
        Ok(())
    } else {
        Err(format!("{left:?} is too many"))
    }
}

/// Those of many that are wanted.
pub(crate) fn only(wanted: &[Piece], found: Vec<Piece>) -> Vec<Piece> {
    let is = |piece: &Piece| {
        wanted
            .iter()
            .any(|one| near(std::slice::from_ref(one), std::slice::from_ref(piece)).is_ok())
    };
    found.into_iter().filter(is).collect()
}
