//! A panel's nominals, limits and views.

#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot be set up has failed"
)]

use nominals::{BuildRules, part};
use shared_types::{
    Angle, CharacteristicId, GaugeKind, Length, PartPlan, Place, Quantity, Stage, Tolerance,
};

/// The Saltmarsh float's second bulkhead, an invented part.
const B2: &str = include_str!("saltmarsh-b2.toml");

fn rules(general: &str, allowance: &str) -> BuildRules {
    BuildRules {
        general: general.parse().unwrap(),
        allowance: allowance.parse().unwrap(),
    }
}

#[track_caller]
fn plan(text: &str, rules: &BuildRules) -> PartPlan {
    part("part.toml", text, rules).unwrap_or_else(|mistakes| panic!("{mistakes:?}"))
}

#[track_caller]
fn check(plan: &PartPlan, expected: &[(&str, &str)]) {
    for (id, nominal) in expected {
        let found = plan.characteristic(&CharacteristicId::new(id).unwrap());
        let found = found.unwrap_or_else(|| panic!("{id} is missing")).nominal;
        assert_eq!(
            found,
            Quantity::parse(nominal).unwrap(),
            "{id}: {found}, expected {nominal}"
        );
    }
}

#[test]
fn a_square_panel_has_the_nominals_computed_by_hand() {
    // SB = R + T = 3.9878 mm. BA = (0.01743 × 3.175 + 0.0078 × 0.8128) × 90 = 5.55120810 mm.
    // Extent = BA + 12.7 − 3.9878 = 14.2634081 mm. Flats 286 and 171 less 7.9756 mm.
    check(
        &plan(B2, &rules("m", "empirical")),
        &[
            ("blank.width", "306.5512 mm"),
            ("blank.height", "191.5512 mm"),
            ("blank.line.left", "8.7122 mm"),
            ("blank.relief.diameter", "1/8 in"),
            ("blank.relief.top-left.x", "12.6759 mm"),
            ("blank.hole.1.diameter", "18 mm"),
            ("blank.hole.1.x", "144.2756 mm"),
            ("blank.hole.1.y", "41.2756 mm"),
            ("formed.height.left", "1/2 in"),
            ("formed.angle.left", "90 deg"),
            ("formed.across.width.root", "286 mm"),
            ("formed.across.height.free", "171 mm"),
            ("trimmed.height.top", "3/8 in"),
            ("trimmed.across.width.free", "286 mm"),
        ],
    );
}

/// One flange, bent by `angle`, on the left of a plate 100 × 50 mm of 1 mm; R 3 mm, h 20 mm.
fn one_flange(given: &str, angle: &str) -> String {
    format!(
        "part = 'K1'\ntitle = 'keelson angle'\nquantity = 2\n[sheet]\nalloy = '6061-O'\nthickness = '1 mm'\n\
         [panel]\ngiven = '{given}'\nwidth = '100 mm'\nheight = '50 mm'\n\
         [[panel.flange]]\nedges = ['left']\nformed = '20 mm'\nangle = '{angle}'\nradius = '3 mm'\n"
    )
}

#[test]
fn an_open_flange_has_the_nominals_computed_by_hand() {
    // K = tan 30° = 0.5773503; SB = 4 K = 2.3094011; offset of the mold lines = K × 1 mm;
    // Wo = 100.5773503; BA = 3.5 × π/3 = 3.6651914.
    check(
        &plan(&one_flange("inside", "60 deg"), &rules("m", "t/2")),
        &[
            ("blank.width", "119.6237 mm"), // Wo − SB + BA + 20 − SB
            ("blank.height", "50 mm"),
            ("blank.line.left", "17.6906 mm"),    // 20 − SB
            ("formed.height.left", "17.8205 mm"), // 20 sin 60° + 1 cos 60°
            ("formed.angle.left", "120 deg"),
            ("formed.across.width.root", "101.7321 mm"), // Wo + SB cos 60°
            ("formed.across.width.free", "110.5774 mm"), // Wo + 20 cos 60°
        ],
    );
}

#[test]
fn a_flange_turned_past_square_leans_inward() {
    // K = tan 60° = 1.7320508; SB = 6.9282032; BA = 3.5 × 2π/3 = 7.3303829.
    check(
        &plan(&one_flange("outside", "120 deg"), &rules("m", "t/2")),
        &[
            ("blank.width", "113.474 mm"),        // 100 − 2 SB + BA + 20
            ("formed.height.left", "17.3205 mm"), // 20 sin 120°; the inner edge stands lower
            ("formed.angle.left", "60 deg"),
            ("formed.across.width.root", "96.5359 mm"), // 100 − SB / 2
            ("formed.across.width.free", "90 mm"),
        ],
    );
}

#[test]
fn an_opening_loses_its_clearance_on_both_sides() {
    let text =
        one_flange("opening", "90 deg").replace("height =", "clearance = '0.5 mm'\nheight =");
    let plan = plan(&text, &rules("m", "t/2"));
    check(
        &plan,
        &[
            ("formed.across.width.root", "99 mm"),
            ("blank.height", "49 mm"),
        ],
    );
}

#[test]
fn every_characteristic_is_drawn_in_a_view_of_its_stage_and_nothing_else_is() {
    for text in [
        B2.to_owned(),
        one_flange("inside", "60 deg"),
        one_flange("outside", "135 deg"),
    ] {
        let plan = plan(&text, &rules("m", "empirical"));
        for characteristic in &plan.characteristics {
            let drawn = plan.views.iter().any(|view| {
                view.stage == characteristic.stage
                    && view
                        .dimensions
                        .iter()
                        .any(|d| d.characteristic == characteristic.id)
            });
            assert!(
                drawn,
                "{} is in no view of stage {}",
                characteristic.id, characteristic.stage
            );
        }
        for dimension in plan.views.iter().flat_map(|view| &view.dimensions) {
            assert!(
                plan.characteristic(&dimension.characteristic).is_some(),
                "{dimension:?}"
            );
        }
    }
}

#[test]
fn a_dimension_is_drawn_as_long_as_its_nominal() {
    let plan = plan(B2, &rules("m", "empirical"));
    for dimension in plan.views.iter().flat_map(|view| &view.dimensions) {
        let nominal = plan
            .characteristic(&dimension.characteristic)
            .unwrap()
            .nominal;
        let drawn = match dimension.shape {
            shared_types::DimensionShape::Linear { from, to, .. } => {
                let (dx, dy) = (from.x.pm() - to.x.pm(), from.y.pm() - to.y.pm());
                assert!(dx == 0 || dy == 0, "{}: askew", dimension.characteristic);
                (dx + dy).abs()
            }
            shared_types::DimensionShape::Diameter { radius, .. } => radius.pm() * 2,
            shared_types::DimensionShape::Angle { .. } => continue,
        };
        // Each end is rounded to 0.1 µm by itself.
        assert!(
            (drawn - nominal.raw()).abs() <= 300_000,
            "{}: {drawn}",
            dimension.characteristic
        );
    }
}

#[test]
fn numbers_run_from_one_within_each_stage_and_stages_come_in_order() {
    let plan = plan(B2, &rules("m", "empirical"));
    let stages: Vec<Stage> = plan.stages().collect();
    assert_eq!(stages, [Stage::Blank, Stage::Formed, Stage::Trimmed]);
    for stage in stages {
        let numbers: Vec<u16> = plan.at(stage).map(|c| c.number).collect();
        assert!(
            numbers
                .iter()
                .copied()
                .eq(1..=u16::try_from(numbers.len()).unwrap())
        );
    }
    assert!(
        plan.characteristics
            .is_sorted_by_key(|c| (c.stage, c.number))
    );
    assert!(plan.digest.is_empty());
}

#[test]
fn limits_come_from_the_general_tolerance_until_one_is_stated_and_the_last_stated_wins() {
    let text = format!(
        "{B2}\n[[tolerance]]\nof = 'formed.height.left'\nplus = '0.25 mm'\nminus = '0 mm'\n\
         [[tolerance]]\nof = 'formed.angle.*'\nplus = '2 deg'\nminus = '1°30′'\n"
    );
    let plan = plan(&text, &rules("c", "empirical"));
    let limits = |id: &str| {
        let c = plan
            .characteristic(&CharacteristicId::new(id).unwrap())
            .unwrap();
        let written = |limit: Option<Quantity>| limit.unwrap().to_string();
        (
            written(c.limits.lower()),
            written(c.limits.upper()),
            c.tolerance.to_string(),
        )
    };
    let stated = Tolerance::Stated.to_string();
    let row =
        |lower: &str, upper: &str, by: &str| (lower.to_owned(), upper.to_owned(), by.to_owned());
    assert_eq!(
        limits("formed.height.left"),
        row("12.7 mm", "12.95 mm", &stated)
    );
    assert_eq!(
        limits("formed.height.right"),
        row("11.90625 mm", "13.49375 mm", &stated)
    );
    assert_eq!(
        limits("formed.angle.top"),
        row("88°30'00\"", "92°00'00\"", &stated)
    );
    assert_eq!(
        limits("trimmed.height.top"),
        row("9.025 mm", "10.025 mm", "ISO 2768-1 c")
    );
}

#[test]
fn every_nominal_lies_within_its_limits_and_every_text_is_there() {
    let plan = plan(B2, &rules("f", "din-6935"));
    for c in &plan.characteristics {
        assert_eq!(c.limits.place(c.nominal), Some(Place::Within), "{}", c.id);
        assert_eq!(
            c.gauge == GaugeKind::AngleGauge,
            matches!(c.nominal, Quantity::Angle(_))
        );
        for text in [&c.name, &c.rule, &c.how, &c.if_small, &c.if_large] {
            assert!(!text.is_empty(), "{}", c.id);
        }
        for advice in [&c.if_small, &c.if_large] {
            assert!(
                advice.ends_with('.') && advice.starts_with(char::is_uppercase),
                "{advice}"
            );
        }
    }
}

#[test]
fn the_bend_angle_is_told_apart_from_the_angle_the_gauge_reads() {
    let plan = plan(&one_flange("outside", "60 deg"), &rules("m", "t/2"));
    let angle = plan
        .characteristics
        .iter()
        .find(|c| c.id.as_str() == "formed.angle.left")
        .unwrap();
    assert_eq!(
        angle.nominal,
        Quantity::Angle(Angle::parse("120 deg").unwrap())
    );
    for text in [&angle.how, &angle.rule] {
        assert!(text.contains("60°") && text.contains("120°"), "{text}");
    }
}

#[test]
fn a_radius_below_the_published_minimum_and_a_small_relief_hole_are_warned_of() {
    assert!(plan(B2, &rules("m", "empirical")).warnings.is_empty());
    // Aluminum Design Manual 2005, part VII, table 3-1: 2024-T3 of 1/32 in wants 3 T, 0.032 in lies in the
    // column of 1/16 in and wants 4 T = 0.128 in, more than the 1/8 in of this part.
    let hard = B2.replace("5052-H32", "2024-T3").replace(
        "[panel.relief]\ndiameter = \"1/8 in\"",
        "[panel.relief]\ndiameter = \"3 mm\"",
    );
    let warnings = plan(&hard, &rules("m", "empirical")).warnings;
    assert_eq!(warnings.len(), 2, "{warnings:?}");
    assert!(warnings[0].what.contains("3.251 mm") && warnings[0].source.contains("table 3-1"));
    assert!(warnings[1].what.contains("3.175 mm") && warnings[1].source.contains("FAA-H-8083-31"));
}

#[test]
fn the_same_text_gives_the_same_plan_and_another_thickness_another() {
    let rules = rules("m", "empirical");
    assert_eq!(plan(B2, &rules), plan(B2, &rules));
    let thicker = B2.replace("0.032 in", "0.040 in");
    assert_ne!(
        plan(B2, &rules).characteristics,
        plan(&thicker, &rules).characteristics
    );
    assert_eq!(
        plan(&thicker, &rules).sheet.thickness,
        Length::parse("0.040 in").unwrap()
    );
}

/// B2 with rows in all flanges.
fn riveted(rows: &str) -> String {
    B2.replacen(
        "radius = \"1/8 in\"\n",
        &format!("radius = \"1/8 in\"\n{rows}"),
        1,
    )
}

const ROW: &str = "[[panel.flange.rivets]]\ndiameter = \"2.4 mm\"\nedge_distance = \"4 mm\"\nfirst = \"8 mm\"\n\
                   pitch = \"20 mm\"\ncount = 8\n";

#[test]
fn rows_in_flanges_have_the_nominals_computed_by_hand() {
    let text = riveted(&format!(
        "{ROW}{}",
        ROW.replace("\"8 mm\"", "\"18 mm\"").replace("8\n", "2\n")
    ));
    let plan = plan(&text, &rules("m", "empirical"));
    check(
        &plan,
        &[
            ("trimmed.rivet-diameter.left", "2.4 mm"),
            ("trimmed.edge-distance.left", "2.8 mm"), // 4 − 2.4 / 2, whatever the height
            ("trimmed.end-distance.left", "6.8 mm"),  // 8 − 1.2
            ("trimmed.pitch.top", "137.6 mm"),        // 7 × 20 − 2.4
            ("trimmed.end-distance.top.2", "16.8 mm"),
            ("trimmed.pitch.top.2", "17.6 mm"),
        ],
    );
    // Drawn as long as they are: from edge or end to the near side, and over the metal between.
    let mut drawn = 0;
    for dimension in plan.views.iter().flat_map(|view| &view.dimensions) {
        let id = dimension.characteristic.as_str();
        let ours = ["edge-distance", "end-distance", "pitch"]
            .iter()
            .any(|kind| id.contains(kind));
        if let (true, shared_types::DimensionShape::Linear { from, to, .. }) =
            (ours, dimension.shape)
        {
            let apart = (from.x.pm() - to.x.pm()).abs() + (from.y.pm() - to.y.pm()).abs();
            let nominal = plan
                .characteristic(&dimension.characteristic)
                .unwrap()
                .nominal;
            assert_eq!(
                Quantity::Length(Length::from_pm(apart).unwrap()),
                nominal,
                "{id}"
            );
            drawn += 1;
        }
    }
    // Three of each of two rows on four edges.
    assert_eq!(drawn, 24);
    // Untrimmed flanges have their final height as formed.
    let formed = text.replace("finished = \"3/8 in\"\n", "");
    check(
        &self::plan(&formed, &rules("m", "empirical")),
        &[("formed.edge-distance.right", "2.8 mm")],
    );
}

/// Where the first hole of a view's only row stands from the middle of the flange, to the left or the right.
fn first_stands(plan: &PartPlan, views: &[shared_types::View], edge: &str) -> &'static str {
    let id = CharacteristicId::new(&format!("formed.end-distance.{edge}")).unwrap();
    let mut drawn = views.iter().flat_map(|view| &view.dimensions);
    let dimension = drawn.find(|d| d.characteristic == id).unwrap();
    assert!(plan.characteristic(&id).is_some());
    let shared_types::DimensionShape::Linear { from, to, .. } = dimension.shape else {
        panic!("{dimension:?}");
    };
    if from.x < to.x { "left" } else { "right" }
}

#[test]
fn a_flange_is_seen_on_its_outer_face_whichever_way_and_hand_it_is() {
    // A plate with its outside face toward the eye, flanges away from it: one who stands at its bottom edge and looks
    // at that flange, its free edge up, has the plan's left end on the right. At the top it is the other way round.
    let up = riveted(ROW).replace("finished = \"3/8 in\"\n", "");
    let up = up.replace("quantity = 4", "quantity = 4\nhands = \"pair\"");
    let down = up.replace(
        "radius = \"1/8 in\"\n",
        "radius = \"1/8 in\"\ndirection = \"down\"\n",
    );
    for (text, expected) in [
        (up, ["right", "left", "right", "left"]),
        (down, ["left", "right", "left", "right"]),
    ] {
        let plan = plan(&text, &rules("m", "empirical"));
        let edges = ["bottom", "top", "right", "left"];
        assert_eq!(
            edges.map(|edge| first_stands(&plan, &plan.views, edge)),
            expected
        );
        let mirrored = plan.mirrored.as_ref().unwrap();
        for (edge, expected) in edges.into_iter().zip(expected) {
            assert_ne!(
                first_stands(&plan, &mirrored.views, edge),
                expected,
                "{edge}"
            );
        }
        let place = plan
            .characteristics
            .iter()
            .position(|c| c.id.as_str() == "formed.end-distance.top")
            .unwrap();
        assert!(plan.characteristics[place].name.starts_with("left end to"));
        assert!(mirrored.words[place].name.starts_with("right end to"));
    }
}
