//! Slots, flanged holes, and holes on the legs of a section: nominals by hand, views, mistakes.

#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot be set up has failed"
)]

use std::collections::BTreeSet;

use nominals::{BuildRules, part};
use shared_types::{CharacteristicId, Mistake, PartPlan, Quantity};

fn read(text: &str) -> Result<PartPlan, Vec<Mistake>> {
    let rules = BuildRules {
        general: "c".parse().unwrap(),
        allowance: "empirical".parse().unwrap(),
    };
    part("part.toml", text, &rules)
}

#[track_caller]
fn plan(text: &str) -> PartPlan {
    let plan = read(text).unwrap_or_else(|mistakes| panic!("{mistakes:?}\n{text}"));
    // Whatever is measured of these families lies on a view of its stage, and nothing else does.
    let drawn: BTreeSet<(&str, _)> = plan
        .views
        .iter()
        .flat_map(|view| {
            view.dimensions
                .iter()
                .map(move |d| (d.characteristic.as_str(), view.stage))
        })
        .collect();
    let measured: BTreeSet<(&str, _)> = plan
        .characteristics
        .iter()
        .map(|c| (c.id.as_str(), c.stage))
        .collect();
    assert_eq!(drawn, measured);
    plan
}

#[track_caller]
fn check(plan: &PartPlan, expected: &[(&str, &str)]) {
    for (id, expected) in expected {
        let key = CharacteristicId::new(id).unwrap();
        let found = plan
            .characteristic(&key)
            .unwrap_or_else(|| panic!("{id} is missing"))
            .nominal;
        let expected = Quantity::parse(expected).unwrap();
        assert!(
            found.same_kind(expected) && (found.raw() - expected.raw()).abs() <= 100_000,
            "{id}: {found}, expected {expected}"
        );
    }
}

fn told(text: &str) -> String {
    let mistakes = read(text).unwrap_err();
    let lines: Vec<String> = mistakes.iter().map(ToString::to_string).collect();
    lines.join("\n")
}

const HEAD: &str = "part = 'T1'\ntitle = 'invented'\nquantity = 1\n[sheet]\nalloy = '5052-O'\nthickness = '0.032 in'\n";

fn plate(holes: &str) -> String {
    format!("{HEAD}[plate]\nwidth = '200 mm'\nheight = '120 mm'\n{holes}")
}

#[test]
fn a_slot_is_placed_to_its_near_side_however_it_lies() {
    let slot = |angle: &str| {
        plate(&format!(
            "[[plate.hole]]\nlength = '20 mm'\nwidth = '6 mm'\n{angle}x = '40 mm'\ny = '20 mm'\n"
        ))
    };
    // By hand: half of 20 mm along it, half of 6 mm across it; at 30° 7 mm cos 30° + 3 mm, 7 mm sin 30° + 3 mm.
    for (angle, x, y) in [
        ("", "30 mm", "17 mm"),
        ("angle = '90 deg'\n", "37 mm", "10 mm"),
        ("angle = '30 deg'\n", "30.937822 mm", "13.5 mm"),
        ("angle = '150 deg'\n", "30.937822 mm", "13.5 mm"),
    ] {
        let plan = plan(&slot(angle));
        check(
            &plan,
            &[
                ("blank.hole.1.length", "20 mm"),
                ("blank.hole.1.width", "6 mm"),
                ("blank.hole.1.x", x),
                ("blank.hole.1.y", y),
            ],
        );
        let slanted = plan
            .characteristics
            .iter()
            .any(|c| c.id.as_str() == "blank.hole.1.angle");
        assert_eq!(
            slanted,
            angle.contains("30") || angle.contains("150"),
            "{angle}"
        );
    }
}

#[test]
fn a_slot_on_an_outline_is_placed_square_to_its_edges() {
    // By hand: the slot lies at 45°, so that square to the sloping edge only its half width is less, and square
    // to the other 7 mm sin 45° + 3 mm; its middle is 20 mm above the bottom edge, and from the sloping edge
    // 100 − 40 − 20 = 40 mm along x, 40 mm / √2 square to it.
    let text = format!(
        "{HEAD}[plate]\noutline = [['0 mm', '0 mm'], ['100 mm', '0 mm'], ['0 mm', '100 mm']]\n\
         [[plate.hole]]\nlength = '20 mm'\nwidth = '6 mm'\nangle = '135 deg'\nx = '40 mm'\ny = '20 mm'\n"
    );
    check(
        &plan(&text),
        &[
            ("blank.hole.1.first", "12.0502525 mm"),
            ("blank.hole.1.second", "25.2842712 mm"),
        ],
    );
}

#[test]
fn a_flanged_hole_is_cut_so_that_its_section_through_the_axis_keeps_its_length() {
    // By hand with the empirical rule: T 0.8128 mm, R 3.175 mm. At 90° SB 3.9878 mm, BA 5.5512081 mm, cut
    // 60 + 2 SB − 2 (BA + 8 − SB); at 45° SB 1.6518008 mm, BA 2.7756041 mm, tangent line 60 + 16 cos 45° + 2 SB.
    for (angle, cut, height) in [
        ("90", "48.8487838 mm", "8 mm"),
        ("45", "56.3697038 mm", "6.2315906 mm"),
    ] {
        let hole = format!(
            "diameter = '60 mm'\nx = '100 mm'\ny = '60 mm'\n[FAMILY.hole.flange]\nheight = '8 mm'\nangle = '{angle} deg'\n\
             radius = '1/8 in'\n"
        );
        let families = [
            plate(&format!(
                "[[plate.hole]]\n{}",
                hole.replace("FAMILY", "plate")
            )),
            format!(
                "{HEAD}[panel]\ngiven = 'outside'\nwidth = '200 mm'\nheight = '120 mm'\n[[panel.hole]]\n{}",
                hole.replace("FAMILY", "panel")
            ),
        ];
        for text in families {
            let plan = plan(&text);
            check(
                &plan,
                &[
                    ("blank.hole.1.diameter", cut),
                    ("formed.opening.hole.1", "60 mm"),
                    ("formed.height.hole.1", height),
                    (
                        "formed.angle.hole.1",
                        if angle == "90" { "90 deg" } else { "135 deg" },
                    ),
                ],
            );
            // 60 mm out of 48.85 mm is 23 % of stretch; out of 56.37 mm it is 6 %.
            let warned = plan
                .warnings
                .iter()
                .any(|w| w.what.contains("stretched by 23 %"));
            assert_eq!(warned, angle == "90");
        }
    }
}

#[test]
fn a_hole_on_a_leg_is_placed_on_the_flat_strip() {
    // By hand: legs 20, 50, 20 mm over the outside at 90°; flat of leg 1 is 20 − SB, so that leg 2's mold line
    // lies at 20 − SB + BA − SB in the strip, 17.5756081 mm; 15 mm on less 2 mm of radius.
    let text = format!(
        "{HEAD}[section]\ngiven = 'outside'\nlength = '300 mm'\nlegs = ['20 mm', '50 mm', '20 mm']\n\
         [[section.bend]]\nturn = 'up'\nangle = '90 deg'\nradius = '1/8 in'\n\
         [[section.bend]]\nturn = 'up'\nangle = '90 deg'\nradius = '1/8 in'\n\
         [[section.hole]]\nleg = 2\ndiameter = '4 mm'\nx = '15 mm'\ny = '30 mm'\n\
         [[section.rivets]]\nleg = 1\ndiameter = '3/32 in'\nfrom = ['6 mm', '10 mm']\nto = ['6 mm', '290 mm']\ncount = 8\n"
    );
    check(
        &plan(&text),
        &[
            ("blank.hole.1.x", "30.5756081 mm"),
            ("blank.hole.1.y", "28 mm"),
            ("blank.rivets.1.first.x", "4.809375 mm"),
            ("blank.rivets.1.between", "37.61875 mm"),
        ],
    );
    let wrong = text
        .replace("leg = 2", "leg = 4")
        .replace("leg = 1", "leg = 1\nname = 'x'");
    insta::assert_snapshot!(told(&wrong), @r#"
    part.toml:20: section.hole.leg: found the number 4, expected a whole number from 1 to 3
    part.toml:26: section.rivets.name: unknown key, expected one of diameter, from, to, count, leg
    "#);
    let wrong = text
        .replace("x = '15 mm'", "x = '5 mm'")
        .replace("'290 mm'", "'299 mm'")
        .replace("['6 mm', '10", "['15 mm', '10");
    insta::assert_snapshot!(told(&wrong), @r#"
    part.toml:19: section.hole: the centre of hole 1 lies 1.012 mm from the tangent line of bend 1, so that it breaks through, expected more than its radius of 2 mm
    part.toml:24: section.rivets: the centre of the first hole of rivets 1 lies 1.012 mm from the tangent line of bend 1, so that it breaks through, expected more than its radius of 1.191 mm
    "#);
}

#[test]
fn a_section_is_trimmed_to_what_its_part_keeps() {
    let text = format!(
        "{HEAD}[section]\ngiven = 'outside'\nlength = '300 mm'\nlegs = ['20 mm', '50 mm', '20 mm']\n\
         [[section.bend]]\nturn = 'up'\nangle = '90 deg'\nradius = '1/8 in'\n\
         [[section.bend]]\nturn = 'down'\nangle = '90 deg'\nradius = '1/8 in'\n\
         [section.finished]\nfirst = '15 mm'\nlast = '16 mm'\nlength = '296 mm'\n"
    );
    check(
        &plan(&text),
        &[
            ("formed.leg.1", "20 mm"),
            ("trimmed.leg.1", "15 mm"),
            ("trimmed.leg.3", "16 mm"),
            ("trimmed.length", "296 mm"),
            // A zee: both legs less the thickness that both count.
            ("trimmed.overall.square", "30.1872 mm"),
            ("blank.length", "300 mm"),
        ],
    );
    let wrong = text
        .replace("'15 mm'", "'20 mm'")
        .replace("'16 mm'", "'3 mm'")
        .replace("'296 mm'", "'296'");
    insta::assert_snapshot!(told(&wrong), @r#"
    part.toml:20: section.finished.first: found 20 mm, expected less than as laid out, 20 mm
    part.toml:22: section.finished.length: found "296", unit missing, expected one of mm, cm, m, µm, in
    "#);
    let wrong = text.replace("'16 mm'", "'3 mm'");
    insta::assert_snapshot!(told(&wrong), @"part.toml:21: section.finished: leg 3 of 3 mm ends within its bends, expected more than 3.988 mm");
}

#[test]
fn what_is_wrong_with_a_slot_or_a_flanged_hole_is_told_at_its_line() {
    let wrong = plate(
        "[[plate.hole]]\nlength = '6 mm'\nwidth = '6 mm'\nangle = '180 deg'\nx = '40 mm'\ny = '20 mm'\n\
         [[plate.hole]]\nlength = '6 mm'\ndiameter = '3 mm'\nx = '40 mm'\ny = '20 mm'\n\
         [[plate.hole]]\ndiameter = '12 mm'\nx = '60 mm'\ny = '60 mm'\n[plate.hole.flange]\nheight = '9 mm'\nangle = '95 deg'\nradius = '1/8 in'\n\
         [[plate.hole]]\ndiameter = '12 mm'\nx = '60 mm'\ny = '60 mm'\n[plate.hole.flange]\nheight = '9 mm'\nangle = '90 deg'\nradius = '1/8 in'\n\
         [[plate.hole]]\ndiameter = '12 mm'\nx = '60 mm'\ny = '60 mm'\n[plate.hole.flange]\nheight = '3 mm'\nangle = '90 deg'\nradius = '1/8 in'\n",
    );
    insta::assert_snapshot!(told(&wrong), @r#"
    part.toml:11: plate.hole.length: found 6 mm, expected more than its width of 6 mm: it runs over both round ends
    part.toml:13: plate.hole.angle: found 180°00'00", expected 0° or more and less than 180°, from the x axis
    part.toml:18: plate.hole.diameter: found it beside length, expected either a diameter or a slot's length and width
    part.toml:27: plate.hole.flange.angle: found 95°, expected at most 90°: a hole's flange turned past square cannot be worked over a die
    part.toml:34: plate.hole.flange.height: found 9 mm, for which an opening of 12 mm has too little metal: the hole in the blank would be -1.151 mm, expected a lower flange or a larger opening
    part.toml:42: plate.hole.flange.height: found 3 mm, which ends within the bend, expected more than its setback of 3.988 mm
    "#);
    // Each touches what it runs into: the slots by their round ends, the flanged hole by its bend alone.
    let wrong = plate(
        "[[plate.hole]]\nlength = '40 mm'\nwidth = '6 mm'\nangle = '45 deg'\nx = '18 mm'\ny = '60 mm'\n\
         [[plate.hole]]\nlength = '40 mm'\nwidth = '6 mm'\nx = '16 mm'\ny = '90 mm'\n\
         [[plate.hole]]\nlength = '30 mm'\nwidth = '6 mm'\nangle = '90 deg'\nx = '30 mm'\ny = '80 mm'\n\
         [[plate.hole]]\ndiameter = '60 mm'\nx = '166.1 mm'\ny = '60 mm'\n[plate.hole.flange]\nheight = '8 mm'\nangle = '90 deg'\nradius = '1/8 in'\n",
    );
    insta::assert_snapshot!(told(&wrong), @r#"
    part.toml:16: plate.hole: the centre line of hole 2 lies outside the outline, expected it inside
    part.toml:21: plate.hole: hole 3 runs into hole 1, expected metal between them
    part.toml:21: plate.hole: hole 3 runs into hole 2, expected metal between them
    part.toml:27: plate.hole: the centre of hole 4 lies 33.9 mm from the right edge, so that it breaks through, expected more than half the breadth of its bend of 33.988 mm
    "#);
    let clear = plate(
        "[[plate.hole]]\nlength = '40 mm'\nwidth = '6 mm'\nangle = '45 deg'\nx = '18 mm'\ny = '60 mm'\n\
         [[plate.hole]]\ndiameter = '60 mm'\nx = '166 mm'\ny = '60 mm'\n[plate.hole.flange]\nheight = '8 mm'\nangle = '90 deg'\nradius = '1/8 in'\n",
    );
    assert!(read(&clear).is_ok());
}
