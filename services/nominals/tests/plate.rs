//! Plates and characteristics stated outright.

#![expect(
    clippy::unwrap_used,
    clippy::float_arithmetic,
    reason = "a test that cannot be set up has failed"
)]

use nominals::{BuildRules, part};
use proptest::prelude::*;
use shared_types::{
    CharacteristicId, DimensionShape, GaugeKind, Mistake, PartPlan, Quantity, Stage, Tolerance,
};

fn read(body: &str) -> Result<PartPlan, Vec<Mistake>> {
    let rules = BuildRules {
        general: "m".parse().unwrap(),
        allowance: "empirical".parse().unwrap(),
    };
    let text = format!(
        "part = 'H1'\ntitle = 'an invented plate'\nquantity = 1\n[sheet]\nalloy = '6061-O'\nthickness = '1 mm'\n{body}"
    );
    part("part.toml", &text, &rules)
}

#[track_caller]
fn plan(body: &str) -> PartPlan {
    read(body).unwrap_or_else(|mistakes| panic!("{mistakes:?}"))
}

fn told(body: &str) -> String {
    match read(body) {
        Ok(_) => "no mistake\n".to_owned(),
        Err(mistakes) => mistakes
            .iter()
            .map(|mistake| format!("{mistake}\n"))
            .collect(),
    }
}

#[track_caller]
fn check(plan: &PartPlan, expected: &[(&str, &str)]) {
    for (id, nominal) in expected {
        let found = plan.characteristic(&CharacteristicId::new(id).unwrap());
        let found = found.unwrap_or_else(|| panic!("{id} is missing")).nominal;
        assert_eq!(found, Quantity::parse(nominal).unwrap(), "{id}: {found}");
    }
    assert_eq!(plan.characteristics.len(), expected.len());
}

/// A gusset, invented: a trapezoid 90 wide at the bottom and 60 at the top, 40 high, one hole.
const GUSSET: &str = "[plate]\noutline = [['0 mm', '0 mm'], ['90 mm', '0 mm'], ['60 mm', '40 mm'], ['0 mm', '40 mm']]\n\
    [[plate.hole]]\ndiameter = '4 mm'\nx = '12 mm'\ny = '30 mm'\n";

#[test]
fn a_rectangular_plate_is_measured_as_a_panel_without_flanges_is() {
    let sizes = "width = '190 mm'\nheight = '180 mm'\n";
    let hole = |family: &str| {
        format!(
            "[[{family}.hole]]\nname = 'opening'\ndiameter = '150 mm'\nx = '95 mm'\ny = '90 mm'\n"
        )
    };
    let plate = plan(&format!("[plate]\n{sizes}{}", hole("plate")));
    let panel = plan(&format!(
        "[panel]\ngiven = 'outside'\n{sizes}{}",
        hole("panel")
    ));
    let what = |plan: &PartPlan| -> Vec<(CharacteristicId, Quantity)> {
        plan.characteristics
            .iter()
            .map(|c| (c.id.clone(), c.nominal))
            .collect()
    };
    assert_eq!(what(&plate), what(&panel));
}

#[test]
fn a_gusset_has_the_edges_and_corners_computed_by_hand() {
    // The sloping edge: √(30² + 40²) = 50; atan(40/30) = 53.1301° at corner 2, its rest at corner 3.
    check(
        &plan(GUSSET),
        &[
            ("blank.edge.1", "90 mm"),
            ("blank.edge.2", "50 mm"),
            ("blank.edge.3", "60 mm"),
            ("blank.edge.4", "40 mm"),
            ("blank.corner.1", "90 deg"),
            ("blank.corner.2", "53.1301 deg"),
            ("blank.corner.3", "126.8699 deg"),
            ("blank.corner.4", "90 deg"),
            ("blank.hole.1.diameter", "4 mm"),
            ("blank.hole.1.first", "8 mm"),   // 10 from the top edge
            ("blank.hole.1.second", "10 mm"), // 12 from the left edge
        ],
    );
}

#[test]
fn at_a_reentrant_corner_the_gap_is_measured() {
    let ell = plan(
        "[plate]\noutline = [['0 mm', '0 mm'], ['60 mm', '0 mm'], ['60 mm', '20 mm'], ['40 mm', '20 mm'], ['30 mm', '50 mm'], ['0 mm', '50 mm']]\n",
    );
    let corner = |number: u8| {
        let id = CharacteristicId::new(&format!("blank.corner.{number}")).unwrap();
        ell.characteristic(&id).unwrap()
    };
    // Between the way back (to the right) and the way on (up and left): 180° − atan(30/10) = 108.4349°.
    assert_eq!(corner(4).nominal, Quantity::parse("108.4349 deg").unwrap());
    assert!(corner(4).name.contains("gap") && !corner(3).name.contains("gap"));
}

#[test]
fn what_a_plate_contradicts_is_told_at_once() {
    let cases = [
        "[plate]\noutline = [['0 mm', '0 mm'], ['4 mm', '4 mm'], ['4 mm', '0 mm'], ['0 mm', '4 mm']]\n",
        "[plate]\noutline = [['0 mm', '0 mm'], ['4 mm', '0 mm'], ['8 mm', '0 mm'], ['8 mm', '8 mm'], ['8 mm', '8 mm']]\n",
        "[plate]\nwidth = '4 mm'\noutline = [['0 mm', '0 mm'], ['4 mm'], ['8', '0 mm'], [3, '-8 mm']]\n",
        "[plate]\noutline = [['0 mm', '0 mm'], ['4 mm', '-1 mm']]\n",
        "[plate]\nwidth = '40 mm'\nheight = '40 mm'\n[[plate.hole]]\ndiameter = '4 mm'\nx = '1.5 mm'\ny = '20 mm'\n\
         [[plate.hole]]\ndiameter = '4 mm'\nx = '50 mm'\ny = '20 mm'\n\
         [[plate.hole]]\ndiameter = '4 mm'\nx = '5 mm'\ny = '21 mm'\n",
        "[panel]\n[plate]\nwidth = '4 mm'\nheight = '4 mm'\n",
        "",
    ];
    let told: Vec<String> = cases.into_iter().map(told).collect();
    insta::assert_snapshot!(told.join("--\n"), @r#"
    part.toml:8: plate.outline: the edge from corner 3 meets the edge from corner 1, expected an outline that does not cross or touch itself
    --
    part.toml:8: plate.outline: corner 5 lies where the one before it lies, expected it once (the outline closes by itself)
    --
    part.toml:8: plate.width: found it beside outline, expected either width and height or an outline
    part.toml:9: plate.outline: found "8", unit missing, expected one of mm, cm, m, µm, in
    part.toml:9: plate.outline: found a list of 1, expected two lengths, x and y
    part.toml:9: plate.outline: found the number 3, expected a length with its unit in quotes such as "12.7 mm"
    --
    part.toml:8: plate.outline: found -1 mm, expected 0 mm to 10000 mm: measure from an origin left of and below the part
    --
    part.toml:10: plate.hole: the centre of hole 1 lies 1.5 mm from the left edge, so that it breaks through, expected more than its radius of 2 mm
    part.toml:14: plate.hole: the centre of hole 2 lies outside the outline, expected it inside
    part.toml:18: plate.hole: hole 3 runs into hole 1, expected metal between them
    --
    part.toml:7: panel.given: missing, expected "outside", "inside" or "opening"
    part.toml:7: panel.height: missing, expected a length with its unit such as "12.7 mm"
    part.toml:7: panel.width: missing, expected a length with its unit such as "12.7 mm"
    part.toml:8: plate: found [plate] beside [panel], expected one family for each part
    --
    part.toml:1: nothing says what the part is, expected one of [panel], [plate] and [section], or characteristics stated outright in [[characteristic]]
    "#);
}

const JOGGLE: &str = "[[characteristic]]\nid = 'joggle.depth'\nname = 'depth of the joggle'\nstage = 'formed'\n\
    nominal = '0.8 mm'\nlower = '0.8 mm'\nupper = '1 mm'\nhow = 'Depth rod from the web into the joggle.'\n";

#[test]
fn a_characteristic_stated_outright_stands_alone_or_beside_a_family() {
    let alone = plan(JOGGLE);
    check(&alone, &[("formed.joggle.depth", "0.8 mm")]);
    let joggle = &alone.characteristics[0];
    assert_eq!(
        (joggle.stage, joggle.gauge),
        (Stage::Formed, GaugeKind::Caliper)
    );
    assert_eq!(
        joggle.limits.upper(),
        Some(Quantity::parse("1 mm").unwrap())
    );
    assert_eq!(joggle.tolerance, Tolerance::Stated);
    let beside = plan(&format!(
        "{JOGGLE}[plate]\nwidth = '40 mm'\nheight = '30 mm'\n"
    ));
    check(
        &beside,
        &[
            ("blank.width", "40 mm"),
            ("blank.height", "30 mm"),
            ("formed.joggle.depth", "0.8 mm"),
        ],
    );
}

#[test]
fn limits_stated_outright_may_be_one_sided_or_deviations_or_general() {
    let with = |limits: &str| {
        let text = JOGGLE.replace("lower = '0.8 mm'\nupper = '1 mm'\n", limits);
        let plan = plan(&text);
        let limits = plan.characteristics[0].limits;
        let tolerance = plan.characteristics[0].tolerance.to_string();
        [limits.lower(), limits.upper()]
            .map(|limit| limit.map_or_else(|| "none".to_owned(), |limit| limit.to_string()))
            .join(" ")
            + " "
            + &tolerance
    };
    let stated = "stated in the part file";
    assert_eq!(with("lower = '0.5 mm'\n"), format!("0.5 mm none {stated}"));
    assert_eq!(with("upper = '0.8 mm'\n"), format!("none 0.8 mm {stated}"));
    assert_eq!(
        with("plus = '0.2 mm'\nminus = '0 mm'\n"),
        format!("0.8 mm 1 mm {stated}")
    );
    assert_eq!(with(""), "0.7 mm 0.9 mm ISO 2768-1 m");
}

#[test]
fn what_is_wrong_with_characteristics_stated_outright_is_told_at_once() {
    let replaced = |what: &str, with: &str| {
        assert!(JOGGLE.contains(what), "{what}");
        JOGGLE.replace(what, with)
    };
    let cases = [
        replaced("lower = '0.8 mm'", "lower = '0.9 mm'"),
        replaced("lower = '0.8 mm'", "plus = '0.9 mm'"),
        replaced("lower = '0.8 mm'\nupper = '1 mm'", "plus = '0.9 mm'"),
        replaced("lower = '0.8 mm'", "lower = '1 deg'"),
        replaced(
            "nominal = '0.8 mm'\nlower = '0.8 mm'\nupper = '1 mm'",
            "nominal = '45 deg'",
        ),
        replaced("id = 'joggle.depth'", "id = 'formed.joggle'"),
        replaced(
            "id = 'joggle.depth'",
            "id = 'joggle depth'\nkind = 'length'",
        ),
        replaced("stage = 'formed'", "stage = 'forming'"),
        format!("{JOGGLE}{JOGGLE}"),
        format!(
            "{JOGGLE}[[tolerance]]\nof = 'formed.joggle.depth'\nplus = '1 mm'\nminus = '1 mm'\n"
        ),
    ];
    let told: Vec<String> = cases.iter().map(|body| told(body)).collect();
    insta::assert_snapshot!(told.join("--\n"), @r#"
    part.toml:12: characteristic.lower: the nominal 0.8 mm lies outside its limits, expected it within them
    --
    part.toml:12: characteristic.plus: found it beside lower or upper, expected one way of stating limits
    --
    part.toml:12: characteristic.plus: found it without minus, expected both
    --
    part.toml:12: characteristic.lower: found an angle, expected a length, as the nominal is one
    --
    part.toml:11: characteristic.nominal: found an angle without limits, expected limits, or leg, the length of its shorter leg, by which general tolerances of angles go
    --
    part.toml:8: characteristic.id: found "formed.joggle", expected it without a stage: "formed." is put before it
    --
    part.toml:8: characteristic.id: found "joggle depth", expected only letters, digits, '.', '-' and '_', beginning with a letter or digit
    part.toml:9: characteristic.kind: unknown key, expected one of id, name, stage, nominal, lower, upper, plus, minus, leg, how, source, if_small, if_large
    --
    part.toml:10: characteristic.stage: found "forming", expected "blocks", "blank", "formed", "trimmed" or "fit-up"
    --
    part.toml:15: formed.joggle.depth: found a second time, expected each id once
    --
    part.toml:16: tolerance.of: found "formed.joggle.depth", which states its limits itself, expected them in one place
    "#);
}

proptest! {
    /// A star about a middle never crosses itself: corners by rising angle, at any distance.
    #[test]
    fn any_simple_outline_is_measured_and_drawn_alike_either_way_round(
        radii in prop::collection::vec(20..100_i64, 3..12),
    ) {
        let count = i32::try_from(radii.len()).unwrap();
        let corners: Vec<[i64; 2]> = radii.iter().zip(0..count).map(|(radius, at)| {
            let angle = f64::from(at) / f64::from(count) * std::f64::consts::TAU;
            let on = |part: f64| (part * 10.0 * i32::try_from(*radius).map(f64::from).unwrap()).round();
            #[expect(clippy::cast_possible_truncation, reason = "at most a thousand")]
            let [x, y] = [on(angle.cos()) as i64, on(angle.sin()) as i64];
            [x + 1000, y + 1000]
        }).collect();
        let text = |corners: &[[i64; 2]]| {
            let places: Vec<String> = corners.iter()
                .map(|[x, y]| format!("['{}.{} mm', '{}.{} mm']", x / 10, x % 10, y / 10, y % 10))
                .collect();
            format!("[plate]\noutline = [{}]\n", places.join(", "))
        };
        let Ok(plain) = read(&text(&corners)) else { return Ok(()) };
        let back: Vec<[i64; 2]> = corners.iter().rev().copied().collect();
        let back = plan(&text(&back));
        let sorted = |plan: &PartPlan| {
            let mut all: Vec<i64> = plan.characteristics.iter().map(|c| c.nominal.raw()).collect();
            all.sort_unstable();
            all
        };
        prop_assert_eq!(sorted(&plain), sorted(&back));
        // The corners of an outline of n, a gap counting as what it leaves of a turn, make (n − 2) half turns.
        let inside: i64 = plain.characteristics.iter().filter_map(|c| match c.nominal {
            Quantity::Angle(angle) if c.name.starts_with("gap") => Some(360 * 3_600_000 - angle.mas()),
            Quantity::Angle(angle) => Some(angle.mas()),
            Quantity::Length(_) => None,
        }).sum();
        let half_turns = i64::from(count - 2) * 180 * 3_600_000;
        prop_assert!((inside - half_turns).abs() <= 180 * i64::from(count), "{}", inside - half_turns);
        for view in &plain.views {
            prop_assert_eq!(view.dimensions.len(), plain.characteristics.len());
            for dimension in &view.dimensions {
                if let DimensionShape::Angle { vertex, from, to } = dimension.shape {
                    let way = |p: shared_types::Point| [p.x.pm() - vertex.x.pm(), p.y.pm() - vertex.y.pm()];
                    let ([ax, ay], [bx, by]) = (way(from), way(to));
                    let cross = i128::from(ax) * i128::from(by) - i128::from(ay) * i128::from(bx);
                    prop_assert!(cross > 0, "{} goes the wrong way round", dimension.characteristic);
                }
            }
        }
    }
}

/// Five holes of 2.5 mm along the bottom of a plate, 15 mm apart.
const ROW: &str = "[[plate.rivets]]\ndiameter = '2.5 mm'\nfrom = ['12 mm', '10 mm']\nto = ['72 mm', '10 mm']\ncount = 5\n";

#[test]
fn a_row_of_rivets_is_placed_at_both_ends_and_spaced_by_what_stands_between() {
    let plate = format!("[plate]\nwidth = '90 mm'\nheight = '40 mm'\n{ROW}");
    check(
        &plan(&plate),
        &[
            ("blank.width", "90 mm"),
            ("blank.height", "40 mm"),
            ("blank.rivets.1.diameter", "2.5 mm"),
            ("blank.rivets.1.between", "12.5 mm"),
            ("blank.rivets.1.first.x", "10.75 mm"),
            ("blank.rivets.1.first.y", "8.75 mm"),
            ("blank.rivets.1.last.x", "70.75 mm"),
            ("blank.rivets.1.last.y", "8.75 mm"),
        ],
    );
    let plan = plan(&plate);
    let view = &plan.views[0];
    let circles = view
        .strokes
        .iter()
        .filter(|stroke| matches!(stroke.shape, shared_types::StrokeShape::Circle { .. }));
    assert_eq!(circles.count(), 5);
    assert_eq!(view.dimensions.len(), plan.characteristics.len());
    assert!(plan.warnings.is_empty(), "{:?}", plan.warnings);
}

#[test]
fn a_row_too_near_the_edge_or_too_close_is_warned_of_once() {
    // AC 43.13-1B 4-57: 2 D = 5 mm from the edge, 3 D = 7.5 mm apart.
    let plate = |row: &str| format!("[plate]\nwidth = '90 mm'\nheight = '40 mm'\n{row}");
    let near = plan(&plate(&ROW.replace("'10 mm'", "'4.9 mm'")));
    assert_eq!(near.warnings.len(), 1, "{:?}", near.warnings);
    let close = plan(&plate(&ROW.replace("72 mm", "40 mm")));
    assert_eq!(close.warnings.len(), 1, "{:?}", close.warnings);
    assert!(close.warnings[0].what.contains("7 mm apart"));
    assert!(
        plan(&plate(&ROW.replace("72 mm", "42 mm")))
            .warnings
            .is_empty()
    );
}

#[test]
fn what_is_wrong_with_a_row_is_told_once() {
    let plate = |row: &str| {
        told(&format!(
            "[plate]\nwidth = '90 mm'\nheight = '40 mm'\n{row}"
        ))
    };
    let cases = [
        ROW.replace("'10 mm'", "'1 mm'"),
        ROW.replace("72 mm", "14 mm"),
        ROW.replace("count = 5", "count = 1"),
        ROW.replace("['72 mm', '10 mm']", "['72 mm']"),
        ROW.replace("72 mm", "12 mm"),
        ROW.replace("['72 mm', '10 mm']", "'72 mm'\npitch = '3 mm'"),
    ];
    let told: Vec<String> = cases.iter().map(|row| plate(row)).collect();
    insta::assert_snapshot!(told.join("--\n"), @r#"
    part.toml:10: plate.rivets: the centre of the first hole of rivets 1 lies 1 mm from the bottom edge, so that it breaks through, expected more than its radius of 1.25 mm
    --
    part.toml:10: plate.rivets: hole 2 of rivets 1 runs into the first hole of rivets 1, expected metal between them
    --
    part.toml:14: plate.rivets.count: found the number 1, expected a whole number from 2 to 100
    --
    part.toml:13: plate.rivets.to: found a list of 1, expected two lengths, x and y
    --
    part.toml:13: plate.rivets.to: found the place that the row begins at, expected another
    --
    part.toml:13: plate.rivets.to: found the text "72 mm", expected two lengths, x and y, in brackets
    part.toml:14: plate.rivets.pitch: unknown key, expected one of diameter, from, to, count
    "#);
}

#[test]
fn rows_of_rivets_stand_alike_on_every_family_that_takes_holes() {
    let row = |family: &str| ROW.replace("plate", family);
    let outline =
        "outline = [['0 mm', '0 mm'], ['90 mm', '0 mm'], ['90 mm', '40 mm'], ['0 mm', '40 mm']]\n";
    let bodies = [
        format!(
            "[panel]\ngiven = 'outside'\nwidth = '90 mm'\nheight = '40 mm'\n{}",
            row("panel")
        ),
        format!("[panel]\ngiven = 'outside'\n{outline}{}", row("panel")),
        format!("[plate]\n{outline}{}", row("plate")),
    ];
    for body in bodies {
        let plan = plan(&body);
        let nominals: Vec<Quantity> = plan
            .characteristics
            .iter()
            .filter(|c| c.id.as_str().starts_with("blank.rivets.1"))
            .map(|c| c.nominal)
            .collect();
        assert_eq!(nominals.len(), 6, "{body}");
        for expected in ["12.5 mm", "10.75 mm", "8.75 mm"] {
            assert!(
                nominals.contains(&Quantity::parse(expected).unwrap()),
                "{expected} {body}"
            );
        }
        assert_eq!(plan.views[0].dimensions.len(), plan.characteristics.len());
    }
}
