//! Guidance on forming, each with its source and only where there is something to say; and diagonals.

#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot be set up has failed"
)]

use nominals::{BuildRules, part};
use shared_types::{CharacteristicId, DimensionShape, PartPlan, Quantity, Stage};

const B2: &str = include_str!("saltmarsh-b2.toml");

fn read(text: &str) -> Result<PartPlan, String> {
    let rules = BuildRules {
        general: "m".parse().unwrap(),
        allowance: "empirical".parse().unwrap(),
    };
    part("part.toml", text, &rules).map_err(|mistakes| {
        mistakes
            .iter()
            .map(|mistake| format!("{mistake}\n"))
            .collect()
    })
}

fn warned(text: &str) -> String {
    let plan = read(text).unwrap_or_else(|told| panic!("{told}"));
    plan.warnings
        .iter()
        .map(|w| format!("{} ({})\n", w.what, w.source))
        .collect()
}

/// B2 with each `(what, instead)` replaced once; an empty `what` is put at the end.
fn b2(changes: &[(&str, &str)]) -> String {
    let mut text = B2.to_owned();
    for (what, instead) in changes {
        if what.is_empty() {
            text.push_str(instead);
        } else {
            assert!(text.contains(what), "{what:?} is not in the file");
            text = text.replacen(what, instead, 1);
        }
    }
    text
}

const RIVETS: &str = "[[panel.hole]]\ndiameter = '3/32 in'\nfastener = true\nx = '30 mm'\ny = '20 mm'\n\
    [[panel.hole]]\ndiameter = '3/32 in'\nfastener = true\nx = '37 mm'\ny = '20 mm'\n";

#[test]
fn a_sound_plan_is_not_warned_of() {
    assert_eq!(warned(B2), "");
    // 7.5 mm apart is more than three diameters of 2.38125 mm; a twin at 7 mm is not.
    assert_eq!(
        warned(&b2(&[("", &RIVETS.replace("37 mm", "37.5 mm"))])),
        ""
    );
    assert_ne!(warned(&b2(&[("", RIVETS)])), "");
}

#[test]
fn each_warning_says_what_to_change_and_where_it_is_from() {
    let cases: &[&[(&str, &str)]] = &[
        // AC 43.13-1B 4-57: three diameters of 3/32 in are 7.14375 mm.
        &[("", RIVETS)],
        &[(
            "radius = \"1/8 in\"",
            "radius = \"1/8 in\"\nfastener = \"3/32 in\"",
        )],
        &[(
            "radius = \"1/8 in\"",
            "radius = \"1/32 in\"\nfastener = \"1/8 in\"",
        )],
        &[("thickness = \"0.032 in\"", "thickness = \"0.035 in\"")],
        &[(
            "thickness = \"0.032 in\"",
            "thickness = \"0.032 in\"\ngrain = \"height\"",
        )],
        &[
            ("formed = \"1/2 in\"", "formed = \"6 mm\""),
            ("finished = \"3/8 in\"", "finished = \"5 mm\""),
        ],
        &[(
            "",
            "[[panel.hole]]\ndiameter = '2 mm'\nx = '6.1 mm'\ny = '20 mm'\n",
        )],
    ];
    let told: Vec<String> = cases.iter().map(|changes| warned(&b2(changes))).collect();
    insta::assert_snapshot!(told.join("--\n"), @r#"
    hole 3 and hole 2: 7 mm apart from centre to centre, below 7.144 mm, three diameters; space them wider (AC 43.13-1B, paragraph 4-57, single row)
    --
    left, right, top and bottom flanges: 5.537 mm flat beyond the bend, below 7.144 mm for fasteners of 2.381 mm: two diameters from their centres to the free edge, and one to the bend for half a head; make the flange higher or the fasteners thinner (AC 43.13-1B, paragraph 4-57, single row (edge distance); width of a head, twice the diameter, from memory)
    --
    left, right, top and bottom flanges: the inside bend radius of 0.794 mm is below 0.813 mm, the published minimum for 5052-H32 of 0.813 mm; bend it over a larger radius or use a softer temper (Aluminum Design Manual 2005, part VII, table 3-1 (90° cold bends))
    left, right, top and bottom flanges: 7.918 mm flat beyond the bend, below 9.525 mm for fasteners of 3.175 mm: two diameters from their centres to the free edge, and one to the bend for half a head; make the flange higher or the fasteners thinner (AC 43.13-1B, paragraph 4-57, single row (edge distance); width of a head, twice the diameter, from memory)
    fasteners of 3.175 mm in sheet of 0.813 mm: thicker than three times the sheet; use thinner ones, unless the other sheet of the joint is thicker (NAVEDTRA 14018, rivet diameter)
    --
    sheet: 0.889 mm is not a usual thickness of aluminium sheet, the nearest in inches is 0.032 in; check what the plan means, and measure the sheet (sheet sizes of aluminium handbooks; metric sizes by common practice, no source)
    --
    bends at left and right: the bend line runs along the grain of the sheet, where it cracks sooner; turn the part on the sheet, or give these bends a larger radius (FAA-H-8083-31, chapter 4: bend lines preferably across the grain)
    --
    left, right, top and bottom flanges: 2.012 mm flat beyond the bend, below 2.438 mm, three times the sheet, which leaves little to form it by; lay it out higher and trim it, or bend it over a smaller radius (common practice, no source)
    --
    hole 2: its side lies 1.112 mm from a bend tangent line, below 1.626 mm, twice the sheet, and the bend will draw it out of round; drill it after forming, or move it (common practice, no source)
    "#);
}

#[test]
fn of_a_row_beside_a_bend_only_the_nearest_hole_is_told() {
    let row = "[[panel.rivets]]\ndiameter = '2 mm'\nfrom = ['6.2 mm', '20 mm']\nto = ['6.1 mm', '60 mm']\ncount = 3\n";
    let told = warned(&b2(&[("", row)]));
    assert_eq!(told.lines().count(), 1, "{told}");
    assert!(
        told.starts_with("the last hole of rivets 1: its side lies 1.112 mm from a bend"),
        "{told}"
    );
}

#[test]
fn edge_distance_of_a_plate_is_two_diameters_from_the_centre() {
    let plate = |x: &str| {
        format!(
            "part = 'G1'\ntitle = 'plate'\nquantity = 1\n[sheet]\nalloy = '6061-T4'\nthickness = '1 mm'\n[plate]\n\
             width = '40 mm'\nheight = '40 mm'\n[[plate.hole]]\ndiameter = '3 mm'\nfastener = true\nx = '{x}'\ny = '20 mm'\n"
        )
    };
    // AC 43.13-1B 4-57: at least 2 D from the centre.
    assert_eq!(warned(&plate("6 mm")), "");
    assert!(warned(&plate("5.99 mm")).contains("4-57"));
    assert_eq!(
        warned(&plate("5.99 mm").replace("fastener = true\n", "")),
        ""
    );
}

#[test]
fn bends_of_a_section_along_the_grain_and_short_end_legs_are_warned_of() {
    let section = |grain: &str, leg: &str| {
        format!(
            "part = 'K2'\ntitle = 'angle'\nquantity = 1\n[sheet]\nalloy = '6061-O'\nthickness = '1 mm'\ngrain = '{grain}'\n\
             [section]\ngiven = 'outside'\nlength = '90 mm'\nlegs = ['20 mm', '{leg}']\n[[section.bend]]\nturn = 'up'\n\
             angle = '90 deg'\nradius = '2 mm'\n"
        )
    };
    // R + 4 T = 6 mm.
    assert_eq!(warned(&section("width", "6 mm")), "");
    assert!(warned(&section("width", "5.9 mm")).starts_with("leg 2"));
    assert!(warned(&section("length", "6 mm")).contains("along the grain"));
}

#[test]
fn diagonals_run_from_relief_hole_to_relief_hole_and_lie_on_the_drawing() {
    let text = b2(&[(
        "height = \"171 mm\"",
        "height = \"171 mm\"\ndiagonals = true",
    )]);
    let plan = read(&text).unwrap();
    let id = CharacteristicId::new("formed.diagonal.rising").unwrap();
    // Flats 278.0244 and 163.0244: √ = 322.2957058, less a relief hole of 3.175.
    let rising = plan.characteristic(&id).unwrap();
    assert_eq!(rising.nominal, Quantity::parse("319.1207 mm").unwrap());
    let drawn = plan.views.iter().flat_map(|view| &view.dimensions);
    let shape = drawn
        .into_iter()
        .find(|d| d.characteristic == id)
        .unwrap()
        .shape;
    let DimensionShape::Linear { from, to, .. } = shape else {
        panic!()
    };
    let square = |a: i64, b: i64| i128::from(a - b) * i128::from(a - b);
    let long = square(from.x.pm(), to.x.pm()) + square(from.y.pm(), to.y.pm());
    let nominal = i128::from(rising.nominal.raw());
    let grain = 400_000;
    assert!((nominal - grain).pow(2) < long && long < (nominal + grain).pow(2));
    // Everything else keeps its id and number.
    let plain = read(B2).unwrap();
    for c in &plain.characteristics {
        let same = plan.characteristic(&c.id).unwrap();
        assert_eq!(
            (same.number, same.nominal),
            (c.number, c.nominal),
            "{}",
            c.id
        );
    }
    assert_eq!(plan.characteristics.len(), plain.characteristics.len() + 3);
}

#[test]
fn a_flat_panel_or_plate_has_its_diagonals_from_corner_to_corner_and_a_channel_none() {
    let text = |family: &str| {
        format!(
            "part = 'H1'\ntitle = 'plate'\nquantity = 1\n[sheet]\nalloy = '6061-T4'\nthickness = '1 mm'\n[{family}]\n\
             width = '40 mm'\nheight = '30 mm'\ndiagonals = true\n"
        )
    };
    for text in [text("plate"), text("panel") + "given = 'outside'\n"] {
        let plan = read(&text).unwrap();
        let mut measured = plan.characteristics.iter().filter(|c| c.derived.is_none());
        let last = measured.next_back().unwrap();
        assert_eq!(
            (last.id.as_str(), last.stage),
            ("blank.diagonal.falling", Stage::Blank)
        );
        assert_eq!(last.nominal, Quantity::parse("50 mm").unwrap());
        assert!(
            plan.views[0]
                .dimensions
                .iter()
                .any(|d| d.characteristic == last.id)
        );
    }
    let channel = b2(&[
        (
            "\"left\", \"right\", \"top\", \"bottom\"",
            "\"left\", \"right\"",
        ),
        ("[panel.relief]\ndiameter = \"1/8 in\"\n", ""),
        (
            "height = \"171 mm\"",
            "height = \"171 mm\"\ndiagonals = true",
        ),
    ]);
    assert!(
        read(&channel)
            .unwrap_err()
            .contains("panel.diagonals: found 2 flanged edges")
    );
}

#[test]
fn every_minimum_radius_of_the_aluminum_design_manual_is_warned_of_below_and_not_at_it() {
    // Aluminum Design Manual 2005, part VII, table 3-1: multiples of T for 90° cold bends at 1/64, 1/32, 1/16, 1/8, 3/16
    // and 1/4 in; in halves.
    let columns = [1, 2, 4, 8, 12, 16];
    let rows = [
        ("2024-O", [0, 0, 0, 1, 2, 2]),
        ("2024-T3", [5, 6, 8, 10, 10, 12]),
        ("3003-O", [0, 0, 0, 0, 1, 2]),
        ("3003-H14", [0, 0, 0, 2, 2, 3]),
        ("5052-O", [0, 0, 0, 1, 2, 2]),
        ("5052-H32", [0, 0, 2, 3, 3, 3]),
        ("5052-H34", [0, 2, 3, 4, 4, 5]),
        ("6061-O", [0, 0, 0, 2, 2, 2]),
        ("6061-T4", [0, 0, 2, 3, 5, 6]),
        ("6061-T6", [2, 2, 3, 5, 6, 7]),
    ];
    let told = |alloy: &str, column: i64, radius: &str| {
        let text = format!(
            "part = 'L'\ntitle = 'bracket'\nquantity = 1\n[sheet]\nalloy = '{alloy}'\nthickness = '{column}/64 in'\n[panel]\n\
             given = 'outside'\nwidth = '9 in'\nheight = '9 in'\n[[panel.flange]]\nedges = ['left']\nformed = '5 in'\n\
             angle = '90 deg'\nradius = '{radius}'\n"
        );
        warned(&text).contains("Aluminum Design Manual")
    };
    for (alloy, halves) in rows {
        for (column, half_t) in columns.into_iter().zip(halves) {
            // Half of column/64 in, in 128ths.
            let least = half_t * column;
            assert!(
                !told(alloy, column, &format!("{least}/128 in")),
                "{alloy} {column}/64"
            );
            if least > 0 {
                let below = shared_types::Length::parse(&format!("{least}/128 in"))
                    .unwrap()
                    .pm()
                    - 1_000;
                let below = shared_types::Length::from_pm(below).unwrap();
                assert!(
                    told(alloy, column, &below.to_string()),
                    "{alloy} {column}/64"
                );
            }
        }
    }
}

#[test]
fn relief_holes_below_those_of_faa_h_8083_31_are_warned_of() {
    // FAA-H-8083-31 chapter 4: at least 1/8 in up to 0.064 in thick, 3/16 in for 0.072 to 0.128 in.
    for (thickness, hole, below) in [
        ("0.064 in", "1/8 in", false),
        ("0.064 in", "0.124 in", true),
        ("0.072 in", "3/16 in", false),
        ("0.072 in", "1/8 in", true),
        ("0.128 in", "3/16 in", false),
        ("0.128 in", "0.187 in", true),
    ] {
        let text = b2(&[
            ("0.032 in", thickness),
            ("diameter = \"1/8 in\"", &format!("diameter = \"{hole}\"")),
            ("1/2 in", "1 in"),
        ]);
        assert_eq!(
            warned(&text).contains("relief holes"),
            below,
            "{thickness} {hole}"
        );
    }
}
