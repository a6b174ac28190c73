//! Every mistake in a part file, at its line, with what was found and what was expected.

#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot be set up has failed"
)]

use nominals::{BuildRules, part};

const B2: &str = include_str!("saltmarsh-b2.toml");

/// The mistakes in B2 after each `(what, instead)` was replaced once; an empty `what` is put at the end.
fn told(changes: &[(&str, &str)]) -> String {
    told_by("empirical", changes)
}

fn told_by(allowance: &str, changes: &[(&str, &str)]) -> String {
    let mut text = B2.to_owned();
    for (what, instead) in changes {
        if what.is_empty() {
            text.push_str(instead);
        } else {
            assert!(text.contains(what), "{what:?} is not in the file");
            text = text.replacen(what, instead, 1);
        }
    }
    let rules = BuildRules {
        general: "f".parse().unwrap(),
        allowance: allowance.parse().unwrap(),
    };
    match part("parts/B2.toml", &text, &rules) {
        Ok(_) => "no mistake\n".to_owned(),
        Err(mistakes) => mistakes
            .iter()
            .map(|mistake| format!("{mistake}\n"))
            .collect(),
    }
}

#[test]
fn the_unchanged_file_has_none() {
    assert_eq!(told(&[]), "no mistake\n");
}

#[test]
fn slips_of_the_pen_all_over_the_file_are_told_at_once() {
    let told = told(&[
        ("quantity = 4", "quantity = \"four\"\nhand = \"pair\""),
        ("thickness = \"0.032 in\"", "thickness = \"0.032\""),
        ("given = \"outside\"", "given = \"outsid\""),
        ("\"left\", \"right\"", "\"left\", \"rigth\""),
        ("radius = \"1/8 in\"", "raduis = \"1/8 in\""),
        ("x = \"143 mm\"", "x = 143"),
        ("minus = \"1/32 in\"", "minus = \"-1/32 in\""),
    ]);
    insta::assert_snapshot!(told, @r#"
    parts/B2.toml:4: quantity: found the text "four", expected a whole number from 1 to 9999
    parts/B2.toml:5: hand: unknown key, did you mean "hands"?
    parts/B2.toml:9: sheet.thickness: found "0.032", unit missing, expected one of mm, cm, m, µm, in
    parts/B2.toml:12: panel.given: found "outsid", expected "outside", "inside" or "opening"; did you mean "outside"?
    parts/B2.toml:16: panel.flange.radius: missing, expected a length with its unit such as "12.7 mm"
    parts/B2.toml:17: panel.flange.edges: found "rigth", expected "left", "right", "bottom" or "top"; did you mean "right"?
    parts/B2.toml:21: panel.flange.raduis: unknown key, did you mean "radius"?
    parts/B2.toml:29: panel.hole.x: found the number 143, expected a length with its unit in quotes such as "12.7 mm"
    parts/B2.toml:35: tolerance.minus: found -0.79375 mm, expected no sign: the key says the direction
    "#);
}

#[test]
fn contradictions_of_geometry_are_told_with_the_bound_that_would_do() {
    let cases: &[&[(&str, &str)]] = &[
        &[
            ("formed = \"1/2 in\"", "formed = \"3.9 mm\""),
            ("finished = \"3/8 in\"", "finished = \"3.8 mm\""),
        ],
        &[("finished = \"3/8 in\"", "finished = \"3/4 in\"")],
        &[("angle = \"90 deg\"", "angle = \"0 deg\"")],
        &[("angle = \"90 deg\"", "angle = \"171 deg\"")],
        &[("width = \"286 mm\"", "width = \"7 mm\"")],
        &[("[panel.relief]\ndiameter = \"1/8 in\"\n", "")],
        &[(
            "edges = [\"left\", \"right\", \"top\", \"bottom\"]",
            "edges = [\"left\", \"right\"]",
        )],
        &[("diameter = \"1/8 in\"", "diameter = \"30 mm\"")],
        &[("x = \"143 mm\"", "x = \"12 mm\"")],
        &[(
            "",
            "[[panel.hole]]\ndiameter = \"2 mm\"\nx = \"150 mm\"\ny = \"45 mm\"\n",
        )],
        &[(
            "",
            "[[panel.hole]]\ndiameter = \"2 mm\"\nx = \"5.5 mm\"\ny = \"5.5 mm\"\n",
        )],
        &[(
            "",
            "[[panel.flange]]\nedges = [\"top\"]\nformed = \"20 mm\"\nangle = \"90 deg\"\nradius = \"1 mm\"\n",
        )],
        &[("angle = \"90 deg\"", "angle = \"120 deg\"")],
        &[
            ("finished = \"3/8 in\"\n", ""),
            ("angle = \"90 deg\"", "angle = \"150 deg\""),
            ("formed = \"1/2 in\"", "formed = \"120 mm\""),
        ],
    ];
    let told: Vec<String> = cases.iter().map(|changes| told(changes)).collect();
    insta::assert_snapshot!(told.join("--\n"), @r#"
    parts/B2.toml:17: panel.flange.formed: found 3.9 mm, which ends within the bend, expected more than its setback of 3.988 mm
    parts/B2.toml:18: panel.flange.finished: found 3.8 mm, which ends within the bend, expected more than its setback of 3.988 mm
    --
    parts/B2.toml:18: panel.flange.finished: found 19.05 mm, expected less than the height as formed, 12.7 mm
    --
    parts/B2.toml:19: panel.flange.angle: found 0°00'00", expected the bend angle turned through: above 0°, at most 170°, which is 180° less the angle between flange and web (a flange square to the web has 90° of both)
    --
    parts/B2.toml:19: panel.flange.angle: found 171°00'00", expected the bend angle turned through: above 0°, at most 170°, which is 180° less the angle between flange and web (a flange square to the web has 90° of both)
    --
    parts/B2.toml:12: panel.width: the bends leave a flat web of -0.976 mm, expected more than 0 mm: a larger width, or smaller radii
    --
    parts/B2.toml:10: panel.relief: missing, expected [panel.relief] with a diameter: flanges meet at the bottom-left corner
    --
    parts/B2.toml:23: panel.relief: no two flanged edges meet, expected no relief holes
    --
    parts/B2.toml:23: panel.relief.diameter: the holes break through the left edge of the blank, expected less than 28.527 mm
    --
    parts/B2.toml:25: panel.hole: along the width the hole leaves the flat web, expected its centre above 12.988 mm and below 273.012 mm
    --
    parts/B2.toml:35: panel.hole: it runs into lightening hole 1, expected metal between them
    --
    parts/B2.toml:35: panel.hole: it runs into the relief hole at the bottom-left corner, expected metal between them
    --
    parts/B2.toml:36: panel.flange.edges: found "top" a second time, expected each edge at most once
    --
    parts/B2.toml:17: panel.flange.formed: the left and bottom flanges lean inward and run into each other at the bottom-left corner, expected lower flanges or a smaller bend angle
    --
    parts/B2.toml:17: panel.flange.formed: the bottom and top flanges lean inward over the whole height, expected lower flanges
    parts/B2.toml:17: panel.flange.formed: the left and bottom flanges lean inward and run into each other at the bottom-left corner, expected lower flanges or a smaller bend angle
    "#);
}

#[test]
fn what_belongs_to_another_choice_is_told() {
    let cases: &[&[(&str, &str)]] = &[
        &[("given = \"outside\"", "given = \"opening\"")],
        &[(
            "given = \"outside\"",
            "given = \"outside\"\nclearance = \"0.5 mm\"",
        )],
        &[(
            "given = \"outside\"",
            "given = \"opening\"\nclearance = \"143 mm\"",
        )],
    ];
    let told: Vec<String> = cases.iter().map(|changes| told(changes)).collect();
    insta::assert_snapshot!(told.join("--\n"), @r#"
    parts/B2.toml:10: panel.clearance: missing, expected a length with its unit such as "12.7 mm"
    --
    parts/B2.toml:12: panel.clearance: found 0.5 mm, expected no clearance: it belongs to given = "opening" only
    --
    parts/B2.toml:13: panel.width: found 286 mm, expected more than twice the clearance of 143 mm
    parts/B2.toml:14: panel.height: found 171 mm, expected more than twice the clearance of 143 mm
    "#);
}

#[test]
fn tolerances_that_match_nothing_or_the_wrong_kind_or_are_needed_are_told() {
    let cases: &[&[(&str, &str)]] = &[
        &[("of = \"formed.height.*\"", "of = \"formed.hieght.*\"")],
        &[("of = \"formed.height.*\"", "of = \"formed.*\"")],
        &[("minus = \"1/32 in\"", "minus = \"1 deg\"")],
        &[(
            "",
            "[[tolerance]]\nof = \"formed.height.*\"\nplus = \"1 mm\"\nminus = \"1 mm\"\n",
        )],
        &[(
            "",
            "[[panel.hole]]\ndiameter = \"0.3 mm\"\nx = \"50 mm\"\ny = \"50 mm\"\n",
        )],
        &[("width = \"286 mm\"", "width = \"2100 mm\"")],
    ];
    let told: Vec<String> = cases.iter().map(|changes| told(changes)).collect();
    insta::assert_snapshot!(told.join("--\n"), @r#"
    parts/B2.toml:32: tolerance.of: found "formed.hieght.*", which names nothing of this part, expected one characteristic such as "blank.width" or the beginning of several such as "formed.height.*"; did you mean "formed.height.*"?
    --
    parts/B2.toml:32: tolerance.of: found "formed.*" with plus and minus as lengths, but formed.angle.left is an angle; name fewer, or state its tolerance in its own [[tolerance]]
    --
    parts/B2.toml:34: tolerance.minus: found an angle, expected a length, as plus is one
    --
    parts/B2.toml:36: tolerance.of: found "formed.height.*" a second time, expected one tolerance for it
    --
    parts/B2.toml:35: blank.hole.2.diameter: its nominal is 0.3 mm, and below 0.5 mm there is no general tolerance; state one: [[tolerance]] of = "blank.hole.2.diameter", with plus and minus
    --
    parts/B2.toml:12: blank.width: its nominal is 2120.5512 mm, and ISO 2768-1 f has no tolerance for that size; state one: [[tolerance]] of = "blank.width", with plus and minus
    parts/B2.toml:15: formed.across.width.free: its nominal is 2100 mm, and ISO 2768-1 f has no tolerance for that size; state one: [[tolerance]] of = "formed.across.width.free", with plus and minus
    parts/B2.toml:15: formed.across.width.root: its nominal is 2100 mm, and ISO 2768-1 f has no tolerance for that size; state one: [[tolerance]] of = "formed.across.width.root", with plus and minus
    parts/B2.toml:15: trimmed.across.width.free: its nominal is 2100 mm, and ISO 2768-1 f has no tolerance for that size; state one: [[tolerance]] of = "trimmed.across.width.free", with plus and minus
    "#);
}

#[test]
fn a_sharp_bend_without_a_value_in_din_6935_is_told() {
    let told = told_by(
        "din-6935",
        &[("radius = \"1/8 in\"", "radius = \"0.01 mm\"")],
    );
    insta::assert_snapshot!(told, @r#"
    parts/B2.toml:15: panel.flange.radius: din-6935 has no bend allowance for a radius of 0.01 mm on sheet of 0.813 mm, expected a larger radius or another rule for the build
    "#);
}
