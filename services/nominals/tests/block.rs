//! Form blocks: size, edge radius and bevel.

#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot be set up has failed"
)]

use nominals::{BuildRules, part};
use proptest::prelude::*;
use shared_types::{CharacteristicId, Mistake, PartPlan, Quantity, Stage};

const B2: &str = include_str!("saltmarsh-b2.toml");

fn read(text: &str) -> Result<PartPlan, Vec<Mistake>> {
    let rules = BuildRules {
        general: "m".parse().unwrap(),
        allowance: "empirical".parse().unwrap(),
    };
    part("parts/B2.toml", text, &rules)
}

#[track_caller]
fn plan(text: &str) -> PartPlan {
    read(text).unwrap_or_else(|mistakes| panic!("{mistakes:?}"))
}

fn with(block: &str) -> String {
    format!("{B2}\n[panel.block]\n{block}\n")
}

#[track_caller]
fn nominal(plan: &PartPlan, id: &str) -> Quantity {
    let found = plan.characteristic(&CharacteristicId::new(id).unwrap());
    found.unwrap_or_else(|| panic!("{id} is missing")).nominal
}

#[test]
fn a_stated_springback_gives_the_bevel_and_the_face_computed_by_hand() {
    // Ai 93°, R 3.175: overhang 3.175 × tan 46.5° = 3.3457377; flat 286 − 2 × 3.9878 = 278.0244.
    let plan = plan(&with("springback = \"3 deg\""));
    for (id, expected) in [
        ("blocks.width", "284.7159 mm"),
        ("blocks.height", "169.7159 mm"),
        ("blocks.radius.left", "1/8 in"),
        ("blocks.angle.left", "87 deg"),
    ] {
        assert_eq!(
            nominal(&plan, id),
            Quantity::parse(expected).unwrap(),
            "{id}"
        );
    }
    assert_eq!(plan.stages().next(), Some(Stage::Blocks));
    assert!(plan.warnings.is_empty());
}

#[test]
fn without_springback_the_face_is_as_large_as_the_web_between_inside_mold_lines() {
    let plan = plan(&with("springback = \"0 deg\""));
    // 286 and 171 mm less twice the sheet of 0.8128 mm.
    assert_eq!(
        nominal(&plan, "blocks.width"),
        Quantity::parse("284.3744 mm").unwrap()
    );
    assert_eq!(
        nominal(&plan, "blocks.height"),
        Quantity::parse("169.3744 mm").unwrap()
    );
    assert_eq!(
        nominal(&plan, "blocks.angle.top"),
        Quantity::parse("90 deg").unwrap()
    );
}

#[test]
fn a_predicted_springback_is_the_published_cubics_and_lies_where_common_practice_has_it() {
    // 5052-H32, typical Y 28 and E 10 200 ksi, R 1/8 in, T 0.032 in: x = .125 × 28/(10 200 × .032) = .0107230;
    // Ri/Rf = 4x³ − 3x + 1 = .9678359; Rf = .1291541; Ks = 8.8125/9.0721308 = .9713815; Ai = 92.6515°.
    let predicted = plan(&with(""));
    let Quantity::Angle(bevel) = nominal(&predicted, "blocks.angle.left") else {
        panic!()
    };
    assert!(
        (bevel.mas() - 87_348_500 * 36 / 10).abs() < 1_800,
        "{bevel}"
    );
    assert!(
        predicted
            .warnings
            .iter()
            .any(|w| w.what.contains("2.7°") && w.source.contains("Gardiner 1957"))
    );
    // Common practice, no source: 2–4° for 3003-H14 and 5052-H32, 4–7° for 6061-T6, 5–10° for 2024-T3, at the
    // radii these tempers take. Twice the width of a range either way would say little: a degree is allowed.
    for (alloy, radius, least, most) in [
        ("5052-H32", "1/8 in", 1, 5),
        ("3003-H14", "1/8 in", 1, 5),
        ("6061-T6", "1/8 in", 3, 8),
        ("2024-T3", "3/16 in", 4, 11),
    ] {
        let text = with("").replace("5052-H32", alloy).replace(
            "1/8 in\"\n\n[panel.relief]",
            &format!("{radius}\"\n\n[panel.relief]"),
        );
        assert!(text.contains(&format!("radius = \"{radius}\"")));
        let Quantity::Angle(bevel) = nominal(&plan(&text), "blocks.angle.left") else {
            panic!()
        };
        let back = 90 * 3_600_000 - bevel.mas();
        assert!(
            (least * 3_600_000..=most * 3_600_000).contains(&back),
            "{alloy}: {bevel}"
        );
    }
    // Tabellenbuch Metall: R 4 T gives 0.96 for EN AW-6082, so that Ai = 90/0.96 = 93.75°.
    let table = with("")
        .replace("5052-H32", "EN AW-6082-T6")
        .replace("0.032 in", "1/32 in");
    assert_eq!(
        nominal(&plan(&table), "blocks.angle.left"),
        Quantity::parse("86.25 deg").unwrap()
    );
}

#[test]
fn each_bend_names_both_angles_its_springback_lies_between_and_whether_it_is_stated() {
    let check = |text: &str, stated: bool| {
        let plan = plan(text);
        assert_eq!(plan.bends.len(), 4);
        for bend in &plan.bends {
            let springback = bend.springback.as_ref().expect("worked over a block");
            assert_eq!(springback.stated, stated);
            // Both are measured as the angle between two faces: 180° less what the bend turns through.
            let measured = |id| plan.characteristic(id).expect("a characteristic").nominal;
            let between = |mas: i64| 180 * 3_600_000 - mas;
            let (angle, back) = (bend.angle.mas(), springback.back.mas());
            assert!(back > 0);
            assert_eq!(measured(&springback.formed).raw(), between(angle));
            assert_eq!(measured(&springback.block).raw(), between(angle + back));
        }
    };
    check(&with(""), false);
    check(&with("springback = \"3 deg\""), true);
    let bare = plan(B2);
    assert!(bare.bends.iter().all(|bend| bend.springback.is_none()));
}

#[test]
fn what_a_block_contradicts_is_told() {
    let cases = [
        with("").replace("5052-H32", "6061-T4"),
        with("springback = \"31 deg\""),
        with("springback = \"3\"\nheight = \"20 mm\""),
        "part = 'P'\ntitle = 'closed'\nquantity = 1\n[sheet]\nalloy = '6061-O'\nthickness = '1 mm'\n[panel]\n\
         given = 'outside'\nwidth = '40 mm'\nheight = '40 mm'\n[[panel.flange]]\nedges = ['left']\nformed = '20 mm'\n\
         angle = '145 deg'\nradius = '1 mm'\n[panel.block]\nspringback = '29 deg'\n"
            .to_owned(),
        "part = 'P'\ntitle = 'plain'\nquantity = 1\n[sheet]\nalloy = '6061-O'\nthickness = '1 mm'\n[panel]\n\
         given = 'outside'\nwidth = '40 mm'\nheight = '40 mm'\n[panel.block]\n"
            .to_owned(),
    ];
    let told: Vec<String> = cases
        .iter()
        .map(|text| {
            let mistakes = read(text).unwrap_err();
            mistakes
                .iter()
                .map(|mistake| format!("{mistake}\n"))
                .collect()
        })
        .collect();
    insta::assert_snapshot!(told.join("--\n"), @r#"
    parts/B2.toml:36: panel.block: left, right, bottom and top: there is no springback to predict for 6061-T4, 90° turned through (90° between flange and web), over a radius of 3.175 mm, expected springback = "3 deg" or the like, as a strip of the sheet bent over that radius shows it
    --
    parts/B2.toml:37: panel.block.springback: found 31°00'00", expected 0° to 30°, by which a flange opens when it is let go
    --
    parts/B2.toml:37: panel.block.springback: found "3", unit missing, expected deg, as in "90 deg"
    parts/B2.toml:38: panel.block.height: unknown key, expected one of springback
    --
    parts/B2.toml:16: panel.block.springback: left: the sheet would have to be turned through 145° and 29° more, which is past 170°, expected less
    --
    parts/B2.toml:11: panel.block: no edge has a flange, expected no form block
    "#);
}

proptest! {
    #[test]
    fn any_block_that_is_taken_is_drawn_and_its_face_grows_one_for_one_with_the_panel(
        tenths in 1..=1500_i64, back in 0..=20_i64, radius in 0..=8_i64, more in 1..50_i64,
    ) {
        let text = |width: i64| with(&format!("springback = \"{back} deg\""))
            .replace("286 mm", &format!("{width} mm"))
            .replace("angle = \"90 deg\"", &format!("angle = \"{}.{} deg\"", tenths / 10, tenths % 10))
            .replace("radius = \"1/8 in\"", &format!("radius = \"{radius} mm\""));
        let Ok(plan) = read(&text(286)) else { return Ok(()) };
        let blocks = plan.at(Stage::Blocks).count();
        let drawn: usize = plan.views.iter().filter(|v| v.stage == Stage::Blocks).map(|v| v.dimensions.len()).sum();
        prop_assert_eq!(blocks, drawn);
        let wider = read(&text(286 + more)).unwrap();
        let grown = nominal(&wider, "blocks.width").raw() - nominal(&plan, "blocks.width").raw();
        prop_assert!((grown - more * 1_000_000_000).abs() <= 200_000, "{grown}");
    }
}
