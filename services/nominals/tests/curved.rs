//! Panels whose outline has arcs and rounded corners, and trapezoids in shorthand.

#![expect(
    clippy::unwrap_used,
    clippy::float_arithmetic,
    reason = "a test that cannot be set up has failed, and areas are computed with floats"
)]

use nominals::{BuildRules, part};
use proptest::prelude::*;
use shared_types::{
    CharacteristicId, Layer, Mistake, PartPlan, Quantity, Stage, Stroke, StrokeShape,
};

fn read(body: &str) -> Result<PartPlan, Vec<Mistake>> {
    let rules = BuildRules {
        general: "c".parse().unwrap(),
        allowance: "t/2".parse().unwrap(),
    };
    let text = format!(
        "part = 'H1'\ntitle = 'an invented hatch'\nquantity = 1\n[sheet]\nalloy = '5052-H32'\nthickness = '1 mm'\n{body}"
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
        let expected = Quantity::parse(expected).unwrap();
        assert!(
            found.same_kind(expected) && (found.raw() - expected.raw()).abs() <= 100_000,
            "{id}: {found}, expected {expected}"
        );
    }
}

/// A corner as `x y`, `x y r radius` or `x y via x y`, all in millimetres.
fn corner(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let place = |x: &str, y: &str| format!("['{x} mm', '{y} mm']");
    match words[..] {
        [x, y] => place(x, y),
        [x, y, "r", radius] => format!("{{ at = {}, radius = '{radius} mm' }}", place(x, y)),
        [x, y, "via", a, b] => format!("{{ at = {}, through = {} }}", place(x, y), place(a, b)),
        _ => panic!("{text}"),
    }
}

fn outline(corners: &[&str]) -> String {
    let corners: Vec<String> = corners.iter().map(|text| corner(text)).collect();
    format!(
        "[panel]\ngiven = 'outside'\noutline = [\n{}\n]\n",
        corners.join(",\n")
    )
}

fn flanged(corners: &[&str], edges: &[usize], rest: &str) -> String {
    format!(
        "{}[[panel.flange]]\nedges = {edges:?}\nformed = '15 mm'\nfinished = '10 mm'\nangle = '90 deg'\nradius = '3 mm'\n{rest}",
        outline(corners)
    )
}

const RELIEF: &str = "[panel.relief]\ndiameter = '3.2 mm'\n";

const ROUNDED: &[&str] = &["0 0 r 25", "200 0 r 25", "200 90 r 25", "0 90 r 25"];
const DISC: &[&str] = &["0 50 via 50 0", "100 50 via 50 100"];
const LENS: &[&str] = &["0 60 via 100 20", "200 60 via 100 100"];
const CROWN: &[&str] = &["0 0", "240 0", "240 90 via 120 130", "0 90"];
const NOTCH: &[&str] = &[
    "0 0",
    "200 0",
    "200 120",
    "150 120 via 100 70",
    "50 120",
    "0 120",
];
const ELL: &[&str] = &[
    "0 0 r 20",
    "150 0 r 20",
    "150 70 r 20",
    "70 70 r 20",
    "70 160 r 20",
    "0 160 r 20",
];

/// The area that strokes drawn one after the other enclose, in square millimetres.
fn area<'s>(strokes: impl Iterator<Item = &'s Stroke>) -> f64 {
    let mm = |length: shared_types::Length| length.pm() as f64 / 1e9;
    let doubled: f64 = strokes
        .map(|stroke| match stroke.shape {
            StrokeShape::Line { from, to } => mm(from.x) * mm(to.y) - mm(to.x) * mm(from.y),
            StrokeShape::Arc {
                centre,
                radius,
                start,
                sweep,
            } => {
                let radians =
                    |angle: shared_types::Angle| (angle.mas() as f64 / 3_600_000.0).to_radians();
                let (a, b) = (radians(start), radians(start) + radians(sweep));
                let r = mm(radius);
                r * (r * radians(sweep) + mm(centre.x) * (b.sin() - a.sin())
                    - mm(centre.y) * (b.cos() - a.cos()))
            }
            StrokeShape::Circle { .. } => panic!("no holes here"),
        })
        .sum();
    doubled.abs() / 2.0
}

fn blank_strokes(plan: &PartPlan, layer: Layer) -> Vec<Stroke> {
    let blank = plan
        .views
        .iter()
        .find(|view| view.stage == Stage::Blank)
        .unwrap();
    let of_layer = blank.strokes.iter().filter(|stroke| stroke.layer == layer);
    of_layer.copied().collect()
}

#[test]
fn flat_webs_and_blanks_have_the_areas_a_geometry_library_gives() {
    // shapely 2.2.0: the outline buffered by −4 mm (SB = R + T) with mitred corners; the blank of an outline without
    // corners is that web buffered by 3.5 × π/2 + 15 − 4 mm. Arcs there are 2 000 chords, which it thins
    // out as it moves them: a millionth is allowed.
    let cases: [(&str, &[&str], f64, Option<f64>); 6] = [
        ("rounded", ROUNDED, 15_365.435, Some(24_666.502)),
        ("disc", DISC, 6_647.608, Some(12_270.975)),
        ("ell", ELL, 14_232.916, Some(24_052.278)),
        ("lens", LENS, 9_293.347, None),
        ("crown", CROWN, 25_488.752, None),
        ("notch", NOTCH, 17_355.164, None),
    ];
    for (name, corners, web, blank) in cases {
        let edges: Vec<usize> = (1..=corners.len()).collect();
        let relief = if blank.is_some() { "" } else { RELIEF };
        let plan = plan(&flanged(corners, &edges, relief));
        // Of each edge the tangent line on the web comes first.
        let found = area(blank_strokes(&plan, Layer::Bend).iter().step_by(2));
        assert!(
            (found / web - 1.0).abs() < 1e-6,
            "{name}: web {found}, expected {web}"
        );
        if let Some(blank) = blank {
            let found = area(blank_strokes(&plan, Layer::Cut).iter());
            assert!(
                (found / blank - 1.0).abs() < 1e-6,
                "{name}: blank {found}, expected {blank}"
            );
        }
    }
}

#[test]
fn arcs_have_the_nominals_computed_by_hand() {
    // SB 4, extent 3.5 × π/2 + 15 − 4 = 16.4977871.
    check(
        &plan(&flanged(ROUNDED, &[1, 2, 3, 4], "")),
        &[
            ("blank.across.2-4", "224.9956 mm"), // 192 + 2 × 16.4977871
            ("blank.across.1-3", "114.9956 mm"),
            ("blank.radius.r2", "37.4978 mm"), // 25 − 4 + 16.4977871
            ("formed.across.2-4.root", "200 mm"),
            ("blank.corner.3", "90 deg"),
            ("formed.height.r1", "15 mm"),
            ("trimmed.height.r4", "10 mm"),
        ],
    );
    // Chord 240, rise 40: R = (120² + 40²)/80 = 200, centre 30 below the top's middle: (120, −70). The web's arc has
    // R 196, its ends at x = 4: y = −70 + √(196² − 116²) = 87.9873; half its sweep asin(116/196) = 36.2872°; the rim's
    // R is 212.4978.
    let crown = plan(&flanged(CROWN, &[1, 2, 3, 4], RELIEF));
    check(
        &crown,
        &[
            ("blank.across.1-3", "154.9956 mm"), // 130 − 8 + 2 × 16.4977871
            ("blank.chord.3", "251.5279 mm"),    // 2 × 212.4978 × 116/196
            ("blank.rise.3", "41.2123 mm"),      // 212.4978 (1 − 157.9873/196)
            ("blank.edge.2", "83.9873 mm"),      // 87.9873 − 4
            ("formed.across.1-3.free", "130 mm"),
        ],
    );
    // No angle can be laid between an edge and an arc.
    assert_eq!(nominal(&crown, "blank.corner.3"), None);
    let notch = plan(&flanged(NOTCH, &[4], ""));
    check(
        &notch,
        &[
            // 2 × (50 + 4 − 16.4977871): the web stands back from the arc, its flange reaches into the opening.
            ("blank.chord.4", "75.0044 mm"),
            ("blank.across.1-5", "120 mm"),
        ],
    );
    // A disc is measured across, and its rim of 100 − 8 + 2 × 16.4977871 by a template.
    check(
        &plan(&flanged(DISC, &[1, 2], "")),
        &[
            ("blank.across.1-2", "124.9956 mm"),
            ("blank.radius.1", "62.4978 mm"),
        ],
    );
}

#[test]
fn a_trapezoid_in_shorthand_measures_as_its_corners() {
    let flange = |edges: &str| {
        format!(
            "[[panel.flange]]\nedges = {edges}\nformed = '15 mm'\nangle = '90 deg'\nradius = '3 mm'\n{RELIEF}\
             [[panel.hole]]\ndiameter = '20 mm'\nx = '90 mm'\ny = '50 mm'\n"
        )
    };
    let corners = plan(&format!(
        "{}{}",
        outline(&["0 0", "190 0", "160 120", "30 120"]),
        flange("[1, 2, 4]")
    ));
    for offset in ["", ", offset = '30 mm'"] {
        let short = plan(&format!(
            "[panel]\ngiven = 'outside'\ntrapezoid = {{ bottom = '190 mm', top = '130 mm', height = '120 mm'{offset} }}\n{}",
            flange("['bottom', 'right', 'left']")
        ));
        let values = |plan: &PartPlan| -> Vec<i64> {
            plan.characteristics
                .iter()
                .map(|c| c.nominal.raw())
                .collect()
        };
        assert_eq!(values(&short), values(&corners));
        assert!(nominal(&short, "formed.height.bottom").is_some());
        assert!(nominal(&short, "blank.relief.bottom-right.before").is_some());
    }
}

#[test]
fn curved_flanges_are_warned_of_with_their_strain() {
    let told = |body: &str| -> String {
        let plan = plan(body);
        plan.warnings
            .iter()
            .map(|w| format!("{}\n", w.what))
            .collect()
    };
    // Shrink h/(R + h): 15/(200 + 15) = 7.0 %, h θ = 15 × 2 asin(120/200) = 19.3 mm, 2 mm a flute; stretch h/(R − h):
    // 15/(50 − 15) = 42.9 %; at 45° (1 − cos 45°) of that.
    let cases = [
        flanged(CROWN, &[3], ""),
        flanged(NOTCH, &[4], ""),
        flanged(NOTCH, &[4], "")
            .replace("90 deg", "30 deg")
            .replace("finished = '10 mm'\n", ""),
        flanged(ROUNDED, &[1, 2], ""),
    ];
    let told: Vec<String> = cases.iter().map(|body| told(body)).collect();
    insta::assert_snapshot!(told.join("--\n"), @r#"
    flange on edge 3–4: its bend line bows outward at a radius of 200 mm, and its free edge is to shrink by 7.0 % (h/(R + h)), 19.767 mm over the whole arc; that takes about 10 flutes of 12 mm width and 3 mm depth at the free edge, each 11 mm long from there to the bend, spread over the 263.559 mm of the arc; work it from the centre to the ends
    --
    flange on edge 4–5: its bend line bows inward at a radius of 50 mm, and its free edge is stretched by 42.9 % (h/(R − h)), more than the 12 % by which 5052-H32 typically lengthens before it breaks; it will split: lower the flange, or cut it into tabs; work it from the ends to the centre
    --
    flange on edge 4–5: its bend line bows inward at a radius of 50 mm, and its free edge is stretched by 5.7 % (h (1 − cos A)/(R − h), A 30° turned through), within the 12 % by which 5052-H32 typically lengthens before it breaks; file and smooth its edge first, so that no nick starts a crack; work it from the ends to the centre
    --
    flange on rounded corner 2: its bend line bows outward at a radius of 25 mm, and its free edge is to shrink by 37.5 % (h/(R + h)), 23.562 mm over the whole arc; that takes about 12 flutes of 12 mm width and 3 mm depth at the free edge, each 11 mm long from there to the bend, for which the 39.27 mm of the arc have no room: lower the flange, notch it, or give the arc a larger radius; work it from the centre to the ends
    "#);
}

#[test]
fn what_an_outline_with_arcs_contradicts_is_told() {
    let trapezoid = |keys: &str| format!("[panel]\ngiven = 'outside'\ntrapezoid = {{ {keys} }}\n");
    let cases = [
        // The arc begins back along the edge before it; it dips through the bottom edge.
        outline(&["0 0", "100 0", "100 50 via 50 0.001", "0 50"]),
        outline(&["0 10", "100 10", "100 50 via 50 5", "0 50"]),
        // Two arcs through each other; two that bow alike are a crescent, and no mistake.
        outline(&["0 0 via 50 40", "100 0", "100 50 via 50 10", "0 50"]),
        outline(&["0 50 via 50 90", "100 50 via 50 100"]),
        // In line, or no corner at all.
        outline(&["0 0 via 50 0", "100 0", "100 50"]),
        outline(&["0 0", "50 0 r 5", "100 0", "100 50"]),
        outline(&["0 0", "0 0 via 5 5", "100 50"]),
        outline(&["0 0", "100 0"]),
        // Roundings that find no room, or no straight edge.
        outline(&["0 0 r 30", "100 0 r 30", "100 50 r 30", "0 50 r 10"]),
        outline(&["0 0", "100 0 r 5", "100 50 via 50 70", "0 50 r 5"]),
        // Bends that leave nothing of an arc, and a flange past its centre.
        flanged(
            &["0 0 r 3", "100 0 r 3", "100 50 r 3", "0 50 r 3"],
            &[1, 2, 3, 4],
            "",
        ),
        flanged(NOTCH, &[4], "").replace("15 mm", "60 mm"),
        // One rounding, two bends.
        format!(
            "{}[[panel.flange]]\nedges = [1]\nformed = '15 mm'\nangle = '90 deg'\nradius = '2 mm'\n",
            flanged(DISC, &[2], "")
        ),
        outline(&["0 0", "100 0 r 5", "100 50"]).replace("radius", "raduis"),
        outline(&["0 0", "100 0 r 5", "100 50"]).replace("'5 mm'", "'5'"),
        outline(&["0 0", "100 0", "100 50"]) + "width = '3 mm'\ntrapezoid = { bottom = '3 mm' }\n",
        trapezoid("bottom = '190 mm', top = '0 mm', hight = '120 mm', offset = '1 deg'"),
        format!(
            "{}[[panel.flange]]\nedges = ['bottom', 'front']\nformed = '15 mm'\nangle = '90 deg'\nradius = '2 mm'\n",
            trapezoid("bottom = '190 mm', top = '100 mm', height = '120 mm'")
        ),
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
    part.toml:12: panel.outline: the outline turns right back on itself where edge 3–4 begins, expected some width between its edges
    --
    part.toml:12: panel.outline: edge 3–4 meets edge 1–2, expected an outline that does not cross or touch itself
    --
    part.toml:12: panel.outline: edge 3–4 meets edge 1–2, expected an outline that does not cross or touch itself
    --
    no mistake
    --
    part.toml:10: panel.outline: through: found 50 mm, 0 mm, which lies in line with corners 1 and 2, expected a place beside that line, which the arc goes through
    --
    part.toml:11: panel.outline: corner 2 lies in line with its neighbours, expected only places where the outline turns
    --
    part.toml:11: panel.outline: corner 2 lies where the one before it lies, expected it once (the outline closes by itself)
    --
    part.toml:9: panel.outline: found 2 corners, expected three or more
    --
    part.toml:11: panel.outline: radius: rounding takes 60 mm of edge 2–3, which is 50 mm long, expected smaller radii, so that some of the edge is left
    --
    part.toml:13: panel.outline: radius: corner 4 lies beside an arc, expected a rounding only between straight edges (an arc of its own is an edge with through)
    --
    part.toml:10: panel.outline: the bends leave no flat web along rounded corner 1, expected a larger radius or smaller bend radii
    part.toml:11: panel.outline: the bends leave no flat web along rounded corner 2, expected a larger radius or smaller bend radii
    part.toml:12: panel.outline: the bends leave no flat web along rounded corner 3, expected a larger radius or smaller bend radii
    part.toml:13: panel.outline: the bends leave no flat web along rounded corner 4, expected a larger radius or smaller bend radii
    --
    part.toml:19: panel.flange.formed: on the blank, the flange on edge 4–5 reaches 61.498 mm inward past the centre of its arc, which has a radius of 54 mm there, expected a lower flange
    --
    part.toml:13: panel.flange: edge 1–2 runs on into edge 2–1 without a corner, expected one angle, radius and direction for the flanges on both
    part.toml:19: panel.flange: edge 2–1 runs on into edge 1–2 without a corner, expected one angle, radius and direction for the flanges on both
    --
    part.toml:11: panel.outline.raduis: unknown key, did you mean "radius"?
    --
    part.toml:11: panel.outline.radius: found "5", unit missing, expected one of mm, cm, m, µm, in
    --
    part.toml:14: panel.width: found it beside outline, expected one of width and height, an outline, and a trapezoid
    part.toml:15: panel.trapezoid: found it beside outline, expected one of width and height, an outline, and a trapezoid
    --
    part.toml:9: panel.trapezoid.height: missing, expected a length with its unit such as "12.7 mm"
    part.toml:9: panel.trapezoid.hight: unknown key, did you mean "height"?
    part.toml:9: panel.trapezoid.offset: found the angle "1 deg", expected a length with its unit such as "12.7 mm"
    part.toml:9: panel.trapezoid.top: found 0 mm, expected a length above 0 mm, at most 10000 mm
    --
    part.toml:11: panel.flange.edges: found "front", expected "bottom", "right", "top" or "left"
    "#);
}

proptest! {
    #[test]
    fn a_rounding_that_shrinks_to_nothing_leaves_the_sharp_corner(
        radius in 1..1000_i32, width in 60..300_i64, height in 60..300_i64,
    ) {
        // Plain corners: a flange cannot follow a rounding smaller than its bend.
        let text = |radius: &str| {
            let corners = [[0, 0], [width, 0], [width, height], [0, height]];
            let corners: Vec<String> = corners.iter().map(|[x, y]| format!("{x} {y}{radius}")).collect();
            outline(&corners.iter().map(String::as_str).collect::<Vec<_>>())
        };
        let small = format!(" r 0.{radius:03}");
        let state = "[[tolerance]]\nof = 'blank.radius.*'\nplus = '1 mm'\nminus = '1 mm'\n";
        let (sharp, round) = (plan(&text("")), plan(&(text(&small) + state)));
        for id in ["blank.across.1-3", "blank.across.2-4", "blank.corner.1", "blank.corner.3"] {
            prop_assert_eq!(nominal(&sharp, id), nominal(&round, id), "{}", id);
        }
        let (sharp, round) = [&sharp, &round].map(|plan| area(blank_strokes(plan, Layer::Cut).iter())).into();
        // Each of four roundings takes (1 − π/4) r² away.
        let (sharp, round): (f64, f64) = (sharp, round);
        let r = f64::from(radius) / 1000.0;
        let taken = (4.0 - std::f64::consts::PI) * r * r;
        prop_assert!((sharp - round - taken).abs() < 1e-4, "{sharp} {round} {taken}");
    }
}
