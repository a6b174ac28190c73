//! A view drawn: what is marked, what is escaped, and that no ring covers another.

#![expect(
    clippy::unwrap_used,
    clippy::float_arithmetic,
    reason = "a test that cannot be set up has failed"
)]

use drawing::{Mark, Side, Style, key, svg};
use proptest::prelude::*;
use shared_types::{
    Angle, Characteristic, CharacteristicId, Dimension, DimensionShape, DisplayUnits, GaugeKind,
    Layer, Length, Limits, PartId, PartPlan, Point, Quantity, Sheet, Stage, Stroke, StrokeShape,
    Tolerance, View,
};

fn mm(value: i64) -> Length {
    Length::from_pm(value * 1_000_000_000).unwrap()
}

fn point(x: i64, y: i64) -> Point {
    Point { x: mm(x), y: mm(y) }
}

fn line(from: (i64, i64), to: (i64, i64)) -> Stroke {
    let shape = StrokeShape::Line {
        from: point(from.0, from.1),
        to: point(to.0, to.1),
    };
    Stroke {
        layer: Layer::Cut,
        shape,
    }
}

/// From where to where, in millimetres, and how far aside the line stands.
type Between = ((i64, i64), (i64, i64), i64);

/// A plate of 200 × 100 mm with these dimensions, each from one place to another.
fn plate(dimensions: &[Between]) -> (View, PartPlan) {
    let corners = [(0, 0), (200, 0), (200, 100), (0, 100), (0, 0)];
    let mut view = View {
        stage: Stage::Blank,
        title: "plate".to_owned(),
        strokes: corners
            .windows(2)
            .map(|pair| line(pair[0], pair[1]))
            .collect(),
        dimensions: Vec::new(),
    };
    let mut plan = PartPlan {
        part: PartId::new("HR1").unwrap(),
        title: "Hatch ring, an invented part".to_owned(),
        quantity: 1,
        sheet: Sheet {
            alloy: "6061-O".to_owned(),
            thickness: mm(1),
            expansion: None,
        },
        digest: String::new(),
        characteristics: Vec::new(),
        views: Vec::new(),
        warnings: Vec::new(),
        mirrored: None,
        fit: None,
        bends: Vec::new(),
    };
    for (index, (from, to, offset)) in dimensions.iter().enumerate() {
        let id = id(index + 1);
        let long = mm((from.0 - to.0).abs() + (from.1 - to.1).abs());
        plan.characteristics.push(Characteristic {
            id: id.clone(),
            number: u16::try_from(index + 1).unwrap(),
            name: format!("length {}", index + 1),
            stage: Stage::Blank,
            gauge: GaugeKind::Caliper,
            nominal: Quantity::Length(long),
            limits: Limits::new(Some(Quantity::Length(Length::ZERO)), None).unwrap(),
            tolerance: Tolerance::Stated,
            rule: String::new(),
            how: String::new(),
            if_small: String::new(),
            if_large: String::new(),
            derived: None,
            follows: None,
            decision: None,
        });
        let shape = DimensionShape::Linear {
            from: point(from.0, from.1),
            to: point(to.0, to.1),
            offset: mm(*offset),
        };
        view.dimensions.push(Dimension {
            characteristic: id,
            shape,
        });
    }
    (view, plan)
}

fn id(number: usize) -> CharacteristicId {
    CharacteristicId::new(&format!("blank.length.{number}")).unwrap()
}

fn draw(view: &View, plan: &PartPlan, due: Option<usize>, mark: Option<Mark>) -> String {
    let due = due.map(id);
    let marks = |_: &CharacteristicId| mark;
    let style = Style {
        units: DisplayUnits::Mm,
        due: due.as_ref(),
        marks: &marks,
        standalone: false,
    };
    svg(view, plan, &style)
}

/// The rings of a drawing: middle and radius.
fn rings(svg: &str) -> Vec<[f64; 3]> {
    let attribute = |tag: &str, name: &str| {
        let (_, rest) = tag.split_once(&format!(" {name}=\"")).unwrap();
        rest.split('"').next().unwrap().parse::<f64>().unwrap()
    };
    svg.split("<circle")
        .skip(1)
        .map(|tag| ["cx", "cy", "r"].map(|name| attribute(tag, name)))
        .collect()
}

/// Width and height of a drawing.
fn size(svg: &str) -> [f64; 2] {
    let (_, rest) = svg.split_once("viewBox=\"0 0 ").unwrap();
    let (width, rest) = rest.split_once(' ').unwrap();
    [
        width.parse().unwrap(),
        rest.split('"').next().unwrap().parse().unwrap(),
    ]
}

const THREE: [Between; 3] = [
    ((0, 0), (200, 0), -20),
    ((200, 0), (200, 100), -20),
    ((0, 50), (4, 50), 0),
];

#[test]
fn exactly_the_due_one_is_marked_and_has_its_value_written() {
    let (view, plan) = plate(&THREE);
    let none = draw(&view, &plan, None, None);
    assert!(!none.contains("due") && !none.contains(" mm<"), "{none}");
    let first = draw(&view, &plan, Some(1), None);
    assert_eq!(first.matches("class=\"ring due\"").count(), 1);
    assert_eq!(first.matches(">200.00 mm<").count(), 1);
    assert_eq!(first.matches("class=\"dim due\"").count(), 1);
    assert!(first.contains("marked: number 1, length 1, 200.00 mm"));
}

/// The numbers of an attribute, wherever it follows `after`.
fn numbers(svg: &str, after: &str) -> Vec<f64> {
    let (_, rest) = svg.split_once(after).unwrap();
    rest.split('"')
        .next()
        .unwrap()
        .split(|c: char| !(c.is_ascii_digit() || c == '.'))
        .filter_map(|number| number.parse().ok())
        .collect()
}

#[test]
fn a_value_is_written_where_the_edge_beside_it_stays_seen() {
    let (view, plan) = plate(&THREE);
    let upright = draw(&view, &plan, Some(2), None);
    let cut = numbers(&upright, "class=\"cut\" d=\"");
    let edge = cut.iter().step_by(2).copied().fold(0.0, f64::max);
    let top = cut
        .iter()
        .skip(1)
        .step_by(2)
        .copied()
        .fold(f64::MAX, f64::min);
    let at = numbers(&upright, "class=\"value\" x=\"")[0];
    let high = numbers(upright.split_once("class=\"value\"").unwrap().1, " y=\"")[0];
    // 16 units high, and no digit wider than 0.68 of that.
    let half = "100.00 mm".len() as f64 * 16.0 * 0.68 / 2.0;
    assert!(
        at - half > edge || high + 8.0 < top,
        "the value at {at} {high} covers the edge at {edge}"
    );
    assert!(
        at + half <= size(&upright)[0],
        "the value runs off the drawing"
    );
}

#[test]
fn the_key_marks_one_side_and_nothing_else() {
    let (view, _) = plate(&THREE);
    let middle = size(&key(&view, None)).map(|side| side / 2.0);
    assert!(rings(&key(&view, None)).is_empty());
    for (side, way) in [
        (Side::Left, [-1.0, 0.0]),
        (Side::Right, [1.0, 0.0]),
        (Side::Top, [0.0, -1.0]),
        (Side::Bottom, [0.0, 1.0]),
    ] {
        let svg = key(&view, Some((side, 7)));
        let [[x, y, _]] = rings(&svg)[..] else {
            panic!("one ring expected: {svg}")
        };
        let aside = [x - middle[0], y - middle[1]];
        let toward = aside[0] * way[0] + aside[1] * way[1];
        let across = aside[0] * way[1] + aside[1] * way[0];
        assert!(toward > 0.0 && across.abs() < 0.01, "{side:?}: {aside:?}");
        assert!(svg.contains(&format!("marked: the {} side", side.word())));
    }
}

#[test]
fn a_length_too_short_to_see_is_marked_in_a_loupe_with_its_value() {
    let (view, plan) = plate(&THREE);
    assert!(!draw(&view, &plan, Some(1), None).contains("class=\"loupe\""));
    let short = draw(&view, &plan, Some(3), None);
    assert_eq!(short.matches("class=\"loupe\"").count(), 1);
    assert_eq!(short.matches(">4.00 mm<").count(), 1);
}

#[test]
fn each_verdict_has_a_shape_of_its_own() {
    let (view, plan) = plate(&THREE[..1]);
    let badges: Vec<String> = [Mark::Pass, Mark::TooSmall, Mark::TooLarge, Mark::Held]
        .into_iter()
        .map(|mark| {
            let svg = draw(&view, &plan, None, Some(mark));
            let (_, rest) = svg.split_once("class=\"badge").unwrap();
            let (_, path) = rest.split_once(" d=\"").unwrap();
            path.split('"').next().unwrap().to_owned()
        })
        .collect();
    for (index, badge) in badges.iter().enumerate() {
        assert!(
            !badges[..index].contains(badge),
            "{badge} is the shape of two verdicts"
        );
    }
}

#[test]
fn text_of_a_plan_is_escaped_wherever_it_appears() {
    let (mut view, mut plan) = plate(&THREE);
    view.title = "\"><script>alert(1)</script>".to_owned();
    plan.characteristics[0].name = "<b onload='x'>&".to_owned();
    let svg = draw(&view, &plan, Some(1), None);
    assert!(!svg.contains("<script") && !svg.contains("<b "), "{svg}");
    assert!(svg.contains("&lt;script") && svg.contains("&amp;"));
}

#[test]
fn a_dimension_the_plan_does_not_have_is_left_out() {
    let (view, mut plan) = plate(&THREE);
    assert_eq!(rings(&draw(&view, &plan, None, None)).len(), 3);
    plan.characteristics.remove(1);
    assert_eq!(rings(&draw(&view, &plan, None, None)).len(), 2);
}

#[test]
fn characteristics_measured_alike_share_one_dimension_line() {
    let (view, plan) = plate(&[THREE[0], THREE[0], THREE[1]]);
    let svg = draw(&view, &plan, None, None);
    assert_eq!(
        (svg.matches("class=\"dim\"").count(), rings(&svg).len()),
        (2, 3)
    );
}

#[test]
fn a_section_is_filled_where_its_strokes_close_and_only_there() {
    let (mut view, plan) = plate(&THREE);
    assert!(!draw(&view, &plan, None, None).contains("class=\"face\""));
    for stroke in &mut view.strokes {
        stroke.layer = Layer::Section;
    }
    // The strokes of a section come in any order and direction.
    view.strokes.swap(0, 2);
    if let StrokeShape::Line { from, to } = &mut view.strokes[1].shape {
        std::mem::swap(from, to);
    }
    assert!(draw(&view, &plan, None, None).contains("class=\"face\""));
    view.strokes.pop();
    assert!(!draw(&view, &plan, None, None).contains("class=\"face\""));
}

#[test]
fn a_drawing_for_a_file_brings_its_own_rules_and_one_for_a_page_does_not() {
    let (view, plan) = plate(&THREE);
    let marks = |_: &CharacteristicId| None;
    let style = Style {
        units: DisplayUnits::In,
        due: None,
        marks: &marks,
        standalone: true,
    };
    let alone = svg(&view, &plan, &style);
    assert!(alone.contains("<style>") && alone.contains("--scribe:#"));
    assert!(!draw(&view, &plan, None, None).contains("<style>"));
}

#[test]
fn angles_and_circles_and_empty_views_are_drawn_within_the_frame() {
    let (mut view, plan) = plate(&THREE);
    view.dimensions[0].shape = DimensionShape::Angle {
        vertex: point(0, 0),
        from: point(50, 0),
        to: point(0, 50),
    };
    view.dimensions[1].shape = DimensionShape::Diameter {
        centre: point(100, 50),
        radius: mm(9),
    };
    view.strokes.push(Stroke {
        layer: Layer::Hidden,
        shape: StrokeShape::Arc {
            centre: point(100, 50),
            radius: mm(20),
            start: Angle::ZERO,
            sweep: Angle::parse("-270 deg").unwrap(),
        },
    });
    let svg = draw(&view, &plan, Some(1), None);
    assert_eq!(rings(&svg).len(), 3);
    let empty = View {
        strokes: Vec::new(),
        dimensions: Vec::new(),
        ..view
    };
    assert!(!draw(&empty, &plan, None, None).contains("NaN"));
}

proptest! {
    #[test]
    fn rings_lie_on_the_drawing_and_none_covers_another(
        places in prop::collection::vec((0..200_i64, 0..100_i64, 1..150_i64, any::<bool>(), -20..20_i64), 1..20),
        due in 1..20_usize,
    ) {
        let dimensions: Vec<_> = places
            .iter()
            .map(|(x, y, long, level, offset)| {
                let to = if *level { ((x + long).min(200), *y) } else { (*x, (y + long).min(100)) };
                ((*x, *y), to, *offset)
            })
            .collect();
        let (view, plan) = plate(&dimensions);
        let svg = draw(&view, &plan, Some(due), None);
        let [width, height] = size(&svg);
        let rings = rings(&svg);
        prop_assert_eq!(rings.len(), dimensions.len());
        for (index, [x, y, r]) in rings.iter().enumerate() {
            prop_assert!(x - r >= 0.0 && x + r <= width && y - r >= 0.0 && y + r <= height);
            for [other_x, other_y, other_r] in &rings[..index] {
                let apart = (x - other_x).hypot(y - other_y);
                prop_assert!(apart >= r + other_r, "rings {apart} apart at {x} {y}");
            }
        }
        prop_assert!(!svg.contains("NaN") && !svg.contains("inf"));
    }

    #[test]
    fn no_coordinate_has_more_than_two_decimals(x in 0..199_i64, long in 1..100_i64) {
        let (view, plan) = plate(&[((x, 0), (x + long, 0), -7), ((0, 33), (0, 66), 3)]);
        let svg = draw(&view, &plan, Some(1), None);
        let geometry = svg.split(" d=\"").skip(1).map(|rest| rest.split('"').next().unwrap_or(""));
        for path in geometry {
            for number in path.split(|c: char| !(c.is_ascii_digit() || c == '.')) {
                let places = number.split_once('.').map_or(0, |(_, places)| places.len());
                prop_assert!(places <= 2, "{}", number);
            }
        }
    }
}
