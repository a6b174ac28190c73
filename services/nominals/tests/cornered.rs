//! Panels with an outline of corners.

#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot be set up has failed"
)]

use nominals::{BuildRules, part};
use proptest::prelude::*;
use shared_types::{CharacteristicId, DimensionShape, Mistake, PartPlan, Quantity};

fn read(body: &str) -> Result<PartPlan, Vec<Mistake>> {
    let rules = BuildRules {
        general: "c".parse().unwrap(),
        allowance: "t/2".parse().unwrap(),
    };
    let text = format!(
        "part = 'B1'\ntitle = 'an invented bulkhead'\nquantity = 1\n[sheet]\nalloy = '6061-O'\nthickness = '1 mm'\n{body}"
    );
    part("part.toml", &text, &rules)
}

#[track_caller]
fn plan(body: &str) -> PartPlan {
    read(body).unwrap_or_else(|mistakes| panic!("{mistakes:?}\n{body}"))
}

fn nominal(plan: &PartPlan, id: &str) -> Option<Quantity> {
    plan.characteristic(&CharacteristicId::new(id).unwrap())
        .map(|c| c.nominal)
}

#[track_caller]
fn check(plan: &PartPlan, expected: &[(&str, &str)]) {
    for (id, expected) in expected {
        let found = nominal(plan, id).unwrap_or_else(|| panic!("{id} is missing"));
        assert_eq!(found, Quantity::parse(expected).unwrap(), "{id}: {found}");
    }
}

fn outline(given: &str, corners: &[[i64; 2]], edges: &[usize], rest: &str) -> String {
    let places: Vec<String> = corners
        .iter()
        .map(|[x, y]| format!("['{x} mm', '{y} mm']"))
        .collect();
    let mut text = format!(
        "[panel]\ngiven = '{given}'\noutline = [{}]\n",
        places.join(", ")
    );
    if given == "opening" {
        text.push_str("clearance = '0.5 mm'\n");
    }
    text.push_str(&format!(
        "[[panel.flange]]\nedges = {edges:?}\nformed = '15 mm'\nfinished = '10 mm'\nangle = '90 deg'\nradius = '3 mm'\n{rest}"
    ));
    text
}

const RELIEF: &str = "[panel.relief]\ndiameter = '3.2 mm'\n";
const TRAPEZOID: [[i64; 2]; 4] = [[0, 0], [190, 0], [160, 120], [30, 120]];

#[test]
fn a_rectangle_of_corners_measures_as_the_rectangular_panel() {
    let rest = format!(
        "{RELIEF}[panel.block]\nspringback = '3 deg'\n[[panel.hole]]\ndiameter = '20 mm'\nx = '60 mm'\ny = '40 mm'\n"
    );
    for given in ["outside", "inside", "opening"] {
        let corners = plan(
            &outline(
                given,
                &[[0, 0], [200, 0], [200, 90], [0, 90]],
                &[1, 2, 3, 4],
                &rest,
            )
            .replace("given", "diagonals = true\ngiven"),
        );
        let clearance = if given == "opening" {
            "clearance = '0.5 mm'\n"
        } else {
            ""
        };
        let sides = plan(&format!(
            "[panel]\ndiagonals = true\ngiven = '{given}'\n{clearance}width = '200 mm'\nheight = '90 mm'\n[[panel.flange]]\n\
             edges = ['bottom', 'right', 'top', 'left']\nformed = '15 mm'\nfinished = '10 mm'\nangle = '90 deg'\n\
             radius = '3 mm'\n{rest}"
        ));
        for (corner, side) in [
            ("blank.across.2-4", "blank.width"),
            ("blank.across.1-3", "blank.height"),
            ("blocks.across.2-4", "blocks.width"),
            ("blocks.across.1-3", "blocks.height"),
            ("blocks.radius.4", "blocks.radius.left"),
            ("blocks.angle.4", "blocks.angle.left"),
            ("formed.diagonal.1-3", "formed.diagonal.rising"),
            ("formed.diagonal.2-4", "formed.diagonal.falling"),
            ("blank.line.4", "blank.line.left"),
            ("blank.relief.1.before", "blank.relief.bottom-left.x"),
            ("formed.height.1", "formed.height.bottom"),
            ("formed.angle.3", "formed.angle.top"),
            ("formed.across.2-4.root", "formed.across.width.root"),
            ("formed.across.1-3.free", "formed.across.height.free"),
            ("trimmed.height.2", "trimmed.height.right"),
            ("trimmed.across.1-3.free", "trimmed.across.height.free"),
        ] {
            let (found, expected) = (nominal(&corners, corner), nominal(&sides, side));
            assert!(
                found.is_some() && found == expected,
                "{given}: {corner} {found:?}, {side} {expected:?}"
            );
        }
        // The nearer edge comes first: 40 mm from the bottom, 60 mm from the left. The rectangular panel
        // measures an opening from its mold lines, an outline from the plan's own corners.
        if given == "outside" {
            assert_eq!(
                nominal(&corners, "blank.hole.1.first"),
                nominal(&sides, "blank.hole.1.y")
            );
            assert_eq!(
                nominal(&corners, "blank.hole.1.second"),
                nominal(&sides, "blank.hole.1.x")
            );
        }
    }
}

#[test]
fn a_trapezoid_has_the_nominals_computed_by_hand() {
    // SB 4, BA 3.5 × π/2 = 5.4977871, extent 5.4977871 + 15 − 4 = 16.4977871. Sides 30 in 120:
    // √(30² + 120²)/120 = 1.0307764; the flat begins 4 × (0.25 + 1.0307764) = 5.1231056 in from corner 1.
    check(
        &plan(&outline("outside", &TRAPEZOID, &[1, 2, 4], RELIEF)),
        &[
            ("blank.edge.1", "179.7538 mm"),     // 190 − 2 × 5.1231056
            ("blank.edge.2", "119.5701 mm"),     // (120 − 4) × 1.0307764
            ("blank.across.1-3", "132.4978 mm"), // 120 − 4 + 16.4977871
            ("blank.corner.1", "75.9638 deg"),   // atan(120/30)
            ("blank.corner.3", "104.0362 deg"),
            ("blank.line.2", "11 mm"),
            ("blank.relief.1.after", "14.8978 mm"),
            ("formed.across.1-3.root", "120 mm"),
            ("formed.corner.2", "75.9638 deg"),
            ("trimmed.height.4", "10 mm"),
        ],
    );
}

#[test]
fn what_an_outline_with_flanges_contradicts_is_told() {
    let ell = [[0, 0], [100, 0], [100, 40], [50, 40], [50, 90], [0, 90]];
    let cases = [
        outline("outside", &TRAPEZOID, &[1, 2, 5], RELIEF),
        outline("outside", &TRAPEZOID, &[1, 2], ""),
        outline("outside", &TRAPEZOID, &[1, 3], RELIEF),
        outline("outside", &ell, &[4], ""),
        outline("outside", &[[0, 0], [100, 0], [50, 7]], &[1, 2, 3], RELIEF),
        outline("outside", &TRAPEZOID, &[1, 2], RELIEF)
            .replace("90 deg", "150 deg")
            .replace("finished = '10 mm'\n", "")
            .replace("15 mm", "40 mm"),
        outline("outside", &TRAPEZOID, &[1, 2], RELIEF).replace("3.2 mm", "34 mm"),
        outline(
            "outside",
            &TRAPEZOID,
            &[1],
            "[[panel.hole]]\ndiameter = '8 mm'\nx = '90 mm'\ny = '6 mm'\n",
        ),
        // The tips of a C, 20 mm apart.
        outline(
            "outside",
            &[
                [0, 0],
                [100, 0],
                [100, 40],
                [80, 40],
                [80, 20],
                [20, 20],
                [20, 80],
                [80, 80],
                [80, 60],
                [100, 60],
                [100, 100],
                [0, 100],
            ],
            &[3, 9],
            "",
        ),
        // Diagonals without corners to measure from.
        outline("outside", &TRAPEZOID, &[1, 2], RELIEF).replace("given", "diagonals = true\ngiven"),
        "[panel]\ngiven = 'outside'\ndiagonals = true\noutline = [['0 mm', '0 mm'], ['9 mm', '0 mm'], ['0 mm', '9 mm']]\n"
            .to_owned(),
        // A flat panel needs no block.
        "[panel]\ngiven = 'outside'\noutline = [['0 mm', '0 mm'], ['9 mm', '0 mm'], ['0 mm', '9 mm']]\n[panel.block]\n"
            .to_owned(),
    ];
    let told: Vec<String> = cases
        .iter()
        .map(|body| match read(body) {
            Ok(_) => "no mistake\n".to_owned(),
            Err(mistakes) => mistakes
                .iter()
                .map(|mistake| format!("{mistake}\n"))
                .collect(),
        })
        .collect();
    insta::assert_snapshot!(told.join("--\n"), @r#"
    part.toml:11: panel.flange.edges: found the number 5, expected a whole number from 1 to 4
    --
    part.toml:7: panel.relief: missing, expected [panel.relief] with a diameter: flanges meet at corner 2
    --
    part.toml:17: panel.relief: no two flanged edges meet, expected no relief holes
    --
    part.toml:9: panel.outline: the flange on edge 4–5 ends at corner 4, round which the metal goes, and would run into it, expected no flange beside such a corner, or the corner rounded
    --
    part.toml:9: panel.outline: the bends leave no flat web along edge 1–2, expected a longer edge or smaller bend radii
    part.toml:9: panel.outline: the bends leave no flat web along edge 2–3, expected a longer edge or smaller bend radii
    part.toml:9: panel.outline: the bends leave no flat web along edge 3–1, expected a longer edge or smaller bend radii
    --
    part.toml:12: panel.flange.formed: the flange on edge 1–2 leans inward by 20.213 mm past its bend, where the flange on edge 2–3 may stand, expected a lower flange, a smaller bend angle or a plain neighbour
    part.toml:12: panel.flange.formed: the flange on edge 2–3 leans inward by 20.213 mm past its bend, where the flange on edge 1–2 may stand, expected a lower flange, a smaller bend angle or a plain neighbour
    --
    part.toml:17: panel.relief.diameter: the hole at corner 2 breaks through edge 1–2 of the blank, expected a smaller one
    --
    part.toml:16: panel.hole: the centre of hole 1 lies 2 mm from edge 1–2, so that it breaks through, expected more than its radius of 4 mm
    --
    part.toml:7: panel.flange: on the blank, edge 3–4 and edge 9–10 run into each other with their flanges, expected lower flanges
    --
    part.toml:7: panel.diagonals: found 2 flanged edges of 4, expected all or none, so that every diagonal has corners to measure from
    --
    part.toml:7: panel.diagonals: found 3 corners, expected four or more
    --
    part.toml:10: panel.block: no edge has a flange, expected no form block
    "#);
}

proptest! {
    #[test]
    fn any_outline_is_measured_and_drawn_alike_either_way_round_and_at_the_length_it_is(
        radii in prop::collection::vec(40..100_i64, 3..9),
        flanged in prop::collection::vec(any::<bool>(), 9),
        degrees in 20..=110_i64,
    ) {
        let count = radii.len();
        // Corners by rising angle about a middle, in eighths of a turn or finer, never cross.
        let ways = [[100, 0], [77, 64], [17, 98], [-50, 87], [-94, 34], [-94, -34], [-50, -87], [17, -98], [77, -64]];
        let corners: Vec<[i64; 2]> = radii.iter().enumerate().map(|(at, radius)| {
            let [x, y] = ways[at * ways.len() / count];
            [x * radius / 100 + 200, y * radius / 100 + 200]
        }).collect();
        let edges: Vec<usize> = (1..=count).filter(|edge| flanged[edge - 1]).collect();
        prop_assume!(!edges.is_empty());
        let meet = edges.iter().any(|edge| edges.contains(&(edge % count + 1)));
        let body = |corners: &[[i64; 2]], edges: &[usize]| {
            outline("outside", corners, edges, if meet { RELIEF } else { "" })
                .replace("90 deg", &format!("{degrees} deg"))
        };
        let Ok(plain) = read(&body(&corners, &edges)) else { return Ok(()) };
        // The last corner first: edge k becomes edge n − k, the last stays.
        let back: Vec<[i64; 2]> = corners.iter().rev().copied().collect();
        let mirrored: Vec<usize> = edges.iter().map(|edge| if *edge == count { count } else { count - edge }).collect();
        let back = plan(&body(&back, &mirrored));
        let sorted = |plan: &PartPlan| {
            let mut all: Vec<i64> = plan.characteristics.iter().map(|c| c.nominal.raw()).collect();
            all.sort_unstable();
            all
        };
        let (a, b) = (sorted(&plain), sorted(&back));
        prop_assert_eq!(a.len(), b.len());
        for (a, b) in a.into_iter().zip(b) {
            prop_assert!((a - b).abs() <= 100_000, "{a} {b}");
        }
        let mut drawn = 0;
        for view in &plain.views {
            for dimension in &view.dimensions {
                drawn += 1;
                let nominal = nominal(&plain, dimension.characteristic.as_str());
                prop_assert!(nominal.is_some(), "{} is drawn and not measured", dimension.characteristic);
                if let DimensionShape::Linear { from, to, .. } = dimension.shape {
                    let square = |a: i64, b: i64| i128::from(a - b) * i128::from(a - b);
                    let long = square(from.x.pm(), to.x.pm()) + square(from.y.pm(), to.y.pm());
                    let (near, grain) = (i128::from(nominal.unwrap().raw()), 400_000);
                    prop_assert!((near - grain).pow(2) <= long && long <= (near + grain).pow(2), "{}", dimension.characteristic);
                }
            }
        }
        prop_assert_eq!(drawn, plain.characteristics.len());
    }
}

#[test]
fn the_flat_web_is_the_outline_moved_in_as_a_geometry_library_moves_it() {
    // Edge lengths of the outline buffered by −4 mm (SB = R + T) with mitred corners, by shapely 2.2.0.
    let cases: [(&[[i64; 2]], &[&str]); 3] = [
        (&TRAPEZOID, &["115.447", "115.447", "123.7538", "179.7538"]),
        (
            &[[10, 0], [150, 20], [180, 110], [90, 170], [0, 90]],
            &["84.3576", "89.341", "102.0241", "115.2594", "134.8223"],
        ),
        (
            &[[0, 0], [120, 0], [40, 90]],
            &["86.1263", "104.9376", "105.3013"],
        ),
    ];
    for (corners, expected) in cases {
        let edges: Vec<usize> = (1..=corners.len()).collect();
        let plan = plan(&outline("outside", corners, &edges, RELIEF));
        let mut lengths: Vec<i64> = plan
            .characteristics
            .iter()
            .filter(|c| c.id.as_str().starts_with("blank.edge."))
            .map(|c| c.nominal.raw())
            .collect();
        lengths.sort_unstable();
        let expected: Vec<i64> = expected
            .iter()
            .map(|mm| Quantity::parse(&format!("{mm} mm")).unwrap().raw())
            .collect();
        assert_eq!(lengths, expected);
    }
}

#[test]
fn rows_run_from_the_corner_where_their_edge_begins_and_only_along_straight_edges() {
    let row = "[[panel.flange.rivets]]\ndiameter = '2.4 mm'\nedge_distance = '4 mm'\nfirst = '8 mm'\npitch = '20 mm'\ncount = 5\n";
    let text = outline("outside", &TRAPEZOID, &[1], row);
    let straight = plan(&text);
    check(
        &straight,
        &[
            ("trimmed.edge-distance.1", "2.8 mm"), // 4 − 1.2
            ("trimmed.end-distance.1", "6.8 mm"),  // 8 − 1.2
            ("trimmed.pitch.1", "77.6 mm"),        // 4 × 20 − 2.4
        ],
    );
    let rounded = outline("outside", &TRAPEZOID, &[1, 2], row).replace(
        "['190 mm', '0 mm']",
        "{ at = ['190 mm', '0 mm'], radius = '20 mm' }",
    );
    let told: Vec<String> = read(&rounded)
        .unwrap_err()
        .iter()
        .map(ToString::to_string)
        .collect();
    insta::assert_snapshot!(told.join("\n"), @"part.toml:10: panel.flange.rivets: found a row on the flange on edge 1–2, rounded corner 2, edge 2–3, which is curved or does not end at a sharp corner both ways, expected rows only in straight flanges with two ends: give the others a [[panel.flange]] of their own");
}
