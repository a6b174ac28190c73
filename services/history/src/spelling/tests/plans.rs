//! What the fixture's longest lines say: revisions of invented parts, and gauges with all that is stated of them.

use shared_types::{
    Angle, Bend, BendWay, Characteristic, Day, Derived, Dimension, DimensionShape, DisplayUnits,
    Faces, FirstArticle, Fit, FitSource, Follows, GaugeKind, GaugeSetup, Layer, Length,
    LimitOfError, Limits, Mirrored, PartPlan, Point, Quantity, Reference, Setup, Sheet, Springback,
    Stage, Stroke, StrokeShape, Tolerance, Trust, View, Warning,
};

pub(in super::super) fn id<T: std::str::FromStr>(text: &str) -> T {
    text.parse().ok().expect("a name")
}

pub(super) fn mm(text: &str) -> Length {
    Length::parse(text).unwrap()
}

fn point(x: &str, y: &str) -> Point {
    Point { x: mm(x), y: mm(y) }
}

fn degrees(text: &str) -> Angle {
    Angle::parse(text).unwrap()
}

pub(in super::super) fn saltmarsh_plan() -> PartPlan {
    let height = Characteristic {
        id: id("formed.height.left"),
        number: 1,
        name: "height of the left flange".into(),
        stage: Stage::Formed,
        gauge: GaugeKind::Caliper,
        nominal: Quantity::Length(mm("1/2 in")),
        limits: Limits::new(
            Some(Quantity::Length(mm("12.5 mm"))),
            Some(Quantity::Length(mm("12.9 mm"))),
        )
        .unwrap(),
        tolerance: Tolerance::General("ISO 2768-1 m".into()),
        rule: "as given".into(),
        how: "outside jaws, from the \"web\" to the edge".into(),
        if_small: "the flange cannot grow: ask".into(),
        if_large: "trim".into(),
        derived: None,
        follows: None,
        decision: None,
    };
    let angle = Characteristic {
        id: id("formed.angle.left"),
        number: 2,
        gauge: GaugeKind::AngleGauge,
        nominal: Quantity::Angle(degrees("90 deg")),
        limits: Limits::new(None, Some(Quantity::Angle(degrees("90°30'")))).unwrap(),
        tolerance: Tolerance::Stated,
        ..height.clone()
    };
    let shapes = [
        StrokeShape::Line {
            from: point("0 mm", "0 mm"),
            to: point("286 mm", "-1 mm"),
        },
        StrokeShape::Circle {
            centre: point("5 mm", "5 mm"),
            radius: mm("1/16 in"),
        },
        StrokeShape::Arc {
            centre: point("0 mm", "0 mm"),
            radius: mm("3 mm"),
            start: degrees("0 deg"),
            sweep: degrees("-90 deg"),
        },
    ];
    let layers = [Layer::Cut, Layer::Bend, Layer::Section];
    let dimensions = [
        DimensionShape::Linear {
            from: point("0 mm", "0 mm"),
            to: point("286 mm", "0 mm"),
            offset: mm("-10 mm"),
        },
        DimensionShape::Diameter {
            centre: point("5 mm", "5 mm"),
            radius: mm("1/16 in"),
        },
        DimensionShape::Angle {
            vertex: point("0 mm", "0 mm"),
            from: point("1 mm", "0 mm"),
            to: point("0 mm", "1 mm"),
        },
    ];
    PartPlan {
        part: id("B2"),
        title: "Float bulkhead, bay 2 – µ".into(),
        quantity: 4,
        sheet: Sheet {
            alloy: "5052-H32".into(),
            thickness: mm("0.032 in"),
            expansion: None,
        },
        digest: "0f".repeat(32),
        characteristics: vec![height, angle],
        views: vec![View {
            stage: Stage::Formed,
            title: "from outside".into(),
            strokes: layers
                .into_iter()
                .zip(shapes)
                .map(|(layer, shape)| Stroke { layer, shape })
                .collect(),
            dimensions: dimensions
                .into_iter()
                .map(|shape| Dimension {
                    characteristic: id("formed.height.left"),
                    shape,
                })
                .collect(),
        }],
        warnings: vec![Warning {
            what: "radius below the usual minimum".into(),
            source: "common practice, no source".into(),
        }],
        mirrored: None,
        fit: None,
        bends: vec![],
    }
}

/// A revision with what was added to the format later.
pub(super) fn bent_plan() -> PartPlan {
    PartPlan {
        characteristics: vec![],
        views: vec![],
        warnings: vec![],
        bends: vec![
            Bend {
                line: id("blank.line.left"),
                angle: degrees("90 deg"),
                radius: mm("1/8 in"),
                allowance: mm("5.551 mm"),
                way: BendWay::Down,
                trim: Some(mm("1/8 in")),
                springback: None,
            },
            Bend {
                line: id("blank.line.right"),
                angle: degrees("30 deg"),
                radius: mm("0 mm"),
                allowance: mm("1 mm"),
                way: BendWay::Up,
                trim: None,
                springback: None,
            },
        ],
        ..saltmarsh_plan()
    }
}

/// The bent part with its bends worked over a form block: one springback predicted, the other stated.
pub(super) fn blocked_plan() -> PartPlan {
    let mut plan = bent_plan();
    for (bend, (edge, back, stated)) in plan
        .bends
        .iter_mut()
        .zip([("left", "2.6516 deg", false), ("right", "3 deg", true)])
    {
        bend.springback = Some(Springback {
            block: id(&format!("blocks.angle.{edge}")),
            formed: id(&format!("formed.angle.{edge}")),
            back: degrees(back),
            stated,
        });
    }
    plan
}

/// The same part, made in pairs, fitted to a skin, with a mean, a difference and a gap.
pub(in super::super) fn paired_plan() -> PartPlan {
    let mut plan = saltmarsh_plan();
    let height = plan.characteristics[0].clone();
    plan.characteristics[0].follows = Some(Follows {
        characteristic: id("formed.opening.width"),
        planned: Quantity::Length(mm("286 mm")),
    });
    let computed = |name: &str, derived| Characteristic {
        id: id(name),
        derived: Some(derived),
        ..height.clone()
    };
    plan.characteristics.extend([
        computed(
            "formed.diagonal.difference",
            Derived::Difference {
                of: [id("formed.diagonal.rise"), id("formed.diagonal.fall")],
                absolute: true,
            },
        ),
        computed(
            "formed.taper.left",
            Derived::Difference {
                of: [id("formed.width.left"), id("formed.width.left.far")],
                absolute: false,
            },
        ),
        computed(
            "formed.height.left.mean",
            Derived::Mean {
                of: id("formed.height.left"),
                readings: 3,
            },
        ),
    ]);
    plan.mirrored = Some(Mirrored {
        words: plan
            .characteristics
            .iter()
            .map(|c| shared_types::Words {
                name: c.name.replace("left", "right"),
                how: c.how.clone(),
                if_small: c.if_small.clone(),
                if_large: c.if_large.clone(),
            })
            .collect(),
        views: plan.views.clone(),
    });
    plan.fit = Some(Fit {
        into: id("S2"),
        clearance: mm("0.5 mm"),
        source: FitSource::Measured,
        first_article_mates: None,
    });
    plan
}

/// Gauges with all that can be stated of them.
pub(super) fn trusted_setup() -> Setup {
    let gauge = |name: &str, kind, trust| GaugeSetup {
        id: id(name),
        title: name.into(),
        bench: id("bench-1"),
        kind: Some(kind),
        serial_number: "S 17".into(),
        trust,
    };
    let caliper = Trust {
        resolution: Some(Quantity::Length(mm("0.01 mm"))),
        limit_of_error: Some(LimitOfError::Din862),
        calibrated_until: Day::new(2027, 3, 31),
        check_every_days: Some(7),
        references: vec![
            Reference {
                name: "gauge block 25".into(),
                value: Quantity::Length(mm("25 mm")),
                faces: Faces::Outside,
            },
            Reference {
                name: "ring 50".into(),
                value: Quantity::Length(mm("50 mm")),
                faces: Faces::Inside,
            },
        ],
        silent_after_s: Some(60),
        uncertainty: Vec::new(),
        typed_from: Vec::new(),
        expansion: None,
    };
    let angle = Trust {
        limit_of_error: Some(LimitOfError::Stated(Quantity::Angle(degrees("0.2 deg")))),
        ..Trust::default()
    };
    Setup {
        build: "Saltmarsh".into(),
        units: DisplayUnits::Mm,
        first_article: FirstArticle::default(),
        benches: vec![(id("bench-1"), "By the window".into())],
        gauges: vec![
            gauge("caliper-1", GaugeKind::Caliper, caliper),
            gauge("angle-1", GaugeKind::AngleGauge, angle),
        ],
        decision: shared_types::Rule::Plain,
        climate: shared_types::Climate::default(),
    }
}
