//! The invented Saltmarsh bulkhead, written out by hand.

use shared_types::*;

use super::{id, length};

fn point(x: &str, y: &str) -> Point {
    Point {
        x: length(x),
        y: length(y),
    }
}

fn line(layer: Layer, from: Point, to: Point) -> Stroke {
    Stroke {
        layer,
        shape: StrokeShape::Line { from, to },
    }
}

fn characteristic(
    number: u16,
    name: &str,
    stage: Stage,
    of: &str,
    nominal: &str,
    limits: [&str; 2],
) -> Characteristic {
    let q = |text: &str| Quantity::parse(text).expect("a quantity");
    let angle = matches!(q(nominal), Quantity::Angle(_));
    Characteristic {
        id: id(of),
        number,
        name: name.to_owned(),
        stage,
        gauge: if angle {
            GaugeKind::AngleGauge
        } else {
            GaugeKind::Caliper
        },
        nominal: q(nominal),
        limits: Limits::new(Some(q(limits[0])), Some(q(limits[1]))).expect("limits"),
        tolerance: Tolerance::General("ISO 2768-1 m".to_owned()),
        rule: "as the plan states it".to_owned(),
        how: if angle {
            "Lay one leg on the web, bring the other to the flange at mid length.".to_owned()
        } else {
            "Outside jaws: web face to flange edge, at mid length.".to_owned()
        },
        if_small: "Work the flange up further, or cut a new blank if it is short.".to_owned(),
        if_large: "It will be trimmed: trim it now, or go on.".to_owned(),
        derived: None,
        follows: None,
        decision: None,
    }
}

/// The invented Saltmarsh bulkhead, by hand.
pub fn plan(title: &str) -> PartPlan {
    let formed = Stage::Formed;
    let rect = |layer, x0: &str, y0: &str, x1: &str, y1: &str| {
        [
            line(layer, point(x0, y0), point(x1, y0)),
            line(layer, point(x1, y0), point(x1, y1)),
            line(layer, point(x1, y1), point(x0, y1)),
            line(layer, point(x0, y1), point(x0, y0)),
        ]
    };
    let linear = |of: &str, from: Point, to: Point, offset: &str| Dimension {
        characteristic: id(of),
        shape: DimensionShape::Linear {
            from,
            to,
            offset: length(offset),
        },
    };
    let mut outline = rect(Layer::Cut, "0 mm", "0 mm", "286 mm", "171 mm").to_vec();
    outline.extend(rect(Layer::Hidden, "4 mm", "4 mm", "282 mm", "167 mm"));
    let mut sections = Vec::new();
    for edge in ["left", "right", "top", "bottom"] {
        let strokes = vec![
            line(
                Layer::Section,
                point("0 mm", "0 mm"),
                point("30 mm", "0 mm"),
            ),
            line(
                Layer::Section,
                point("30 mm", "0 mm"),
                point("30 mm", "0.8128 mm"),
            ),
            line(
                Layer::Section,
                point("30 mm", "0.8128 mm"),
                point("0.8128 mm", "0.8128 mm"),
            ),
            line(
                Layer::Section,
                point("0.8128 mm", "0.8128 mm"),
                point("0.8128 mm", "12.7 mm"),
            ),
            line(
                Layer::Section,
                point("0.8128 mm", "12.7 mm"),
                point("0 mm", "12.7 mm"),
            ),
            line(
                Layer::Section,
                point("0 mm", "12.7 mm"),
                point("0 mm", "0 mm"),
            ),
        ];
        sections.push(View {
            stage: formed,
            title: format!("section through the {edge} flange"),
            strokes,
            dimensions: vec![
                linear(
                    &format!("formed.height.{edge}"),
                    point("0 mm", "0 mm"),
                    point("0 mm", "12.7 mm"),
                    "5 mm",
                ),
                Dimension {
                    characteristic: id(&format!("formed.angle.{edge}")),
                    shape: DimensionShape::Angle {
                        vertex: point("0.8 mm", "0.8 mm"),
                        from: point("20 mm", "0.8 mm"),
                        to: point("0.8 mm", "12 mm"),
                    },
                },
            ],
        });
    }
    let mut characteristics = vec![
        characteristic(
            1,
            "width of the blank",
            Stage::Blank,
            "blank.width",
            "308.5 mm",
            ["308 mm", "309 mm"],
        ),
        characteristic(
            2,
            "height of the blank",
            Stage::Blank,
            "blank.height",
            "193.5 mm",
            ["193 mm", "194 mm"],
        ),
        characteristic(
            1,
            "width at the root of the flanges",
            formed,
            "formed.across.width",
            "286 mm",
            ["285.5 mm", "286.5 mm"],
        ),
        characteristic(
            2,
            "height at the root of the flanges",
            formed,
            "formed.across.height",
            "171 mm",
            ["170.5 mm", "171.5 mm"],
        ),
    ];
    for (index, edge) in ["left", "right", "top", "bottom"].iter().enumerate() {
        let number = 3 + 2 * u16::try_from(index).expect("four");
        characteristics.push(characteristic(
            number,
            &format!("height of the {edge} flange"),
            formed,
            &format!("formed.height.{edge}"),
            "1/2 in",
            ["15/32 in", "17/32 in"],
        ));
        characteristics.push(characteristic(
            number + 1,
            &format!("angle of the {edge} flange"),
            formed,
            &format!("formed.angle.{edge}"),
            "90 deg",
            ["89 deg", "91 deg"],
        ));
    }
    characteristics.push(characteristic(
        1,
        "finished height of the left flange",
        Stage::Trimmed,
        "trimmed.height.left",
        "3/8 in",
        ["11/32 in", "13/32 in"],
    ));
    let mut views = vec![
        View {
            stage: formed,
            title: "from outside".to_owned(),
            strokes: outline.clone(),
            dimensions: vec![
                linear(
                    "formed.across.width",
                    point("0 mm", "0 mm"),
                    point("286 mm", "0 mm"),
                    "-22 mm",
                ),
                linear(
                    "formed.across.height",
                    point("286 mm", "0 mm"),
                    point("286 mm", "171 mm"),
                    "-22 mm",
                ),
            ],
        },
        View {
            stage: Stage::Blank,
            title: "blank".to_owned(),
            strokes: outline,
            dimensions: vec![linear(
                "blank.width",
                point("0 mm", "0 mm"),
                point("286 mm", "0 mm"),
                "-22 mm",
            )],
        },
    ];
    views.extend(sections);
    PartPlan {
        part: PartId::new("B2").expect("a name"),
        title: title.to_owned(),
        quantity: 4,
        sheet: Sheet {
            alloy: "5052-H32".to_owned(),
            thickness: length("0.032 in"),
            expansion: None,
        },
        digest: "00".repeat(32),
        characteristics,
        views,
        warnings: Vec::new(),
        mirrored: None,
        fit: None,
        bends: Vec::new(),
    }
}
