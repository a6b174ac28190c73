//! The walker tells every mistake at once, each at its line.

use nominals::general::GeneralTolerance;
use nominals::{AllowanceRule, form};

/// Walks a little configuration and gives the mistakes as text, or `ok`.
fn mistakes(text: &str) -> String {
    let read = form::read("oddleg.toml", text, |root| {
        root.only(&["build", "units", "pieces", "loud", "gauge", "bench"]);
        let build = root.need("build").text();
        let units = root.may("units").word(&[("mm", 1), ("in", 2)]);
        let pieces = root.may("pieces").integer(1..=500);
        let loud = root.may("loud").boolean();
        for (_, gauge) in root.may("gauge").named_tables() {
            gauge.only(&["reach", "tilt", "kinds"]);
            let _reach = gauge.need("reach").length();
            let _tilt = gauge.may("tilt").angle();
            let _kinds = gauge
                .may("kinds")
                .words(&[("caliper", 1), ("angle-gauge", 2)]);
        }
        for bench in root.may("bench").tables() {
            bench.only(&["title"]);
            let _title = bench.need("title").text();
        }
        Some((build?, units, pieces, loud))
    });
    match read {
        Ok(_) => "ok".to_owned(),
        Err(mistakes) => mistakes
            .iter()
            .map(|mistake| format!("{mistake}\n"))
            .collect(),
    }
}

#[test]
fn a_text_without_mistakes_is_read() {
    let text = "build = 'Saltmarsh'\nunits = 'mm'\npieces = 0x10\nloud = true\n\
        [gauge.caliper-1]\nreach = '150 mm'\ntilt = '1°30'''\n";
    // TOML's single quotes cannot hold the minute sign twice, so the angle is written as it must be.
    let text = text.replace("'1°30'''", "\"1°30'\"");
    assert_eq!(mistakes(&text), "ok");
}

#[test]
fn all_mistakes_are_told_at_once_with_their_lines() {
    let text = r#"units = "inch"
pieces = 0
loud = "yes"
biuld = "Saltmarsh"

[gauge.caliper-1]
reach = 150
tilt = "90"
kinds = [
  "caliper",
  "calliper",
]

[gauge.caliper-2]
reach = "150 furlong"
colour = "blue"

[[bench]]
title = ""
[[bench]]
"#;
    insta::assert_snapshot!(mistakes(text), @r#"
    oddleg.toml:1: build: missing, expected a text in quotes
    oddleg.toml:1: units: found "inch", expected "mm" or "in"
    oddleg.toml:2: pieces: found the number 0, expected a whole number from 1 to 500
    oddleg.toml:3: loud: found the text "yes", expected true or false
    oddleg.toml:4: biuld: unknown key, did you mean "build"?
    oddleg.toml:7: gauge.caliper-1.reach: found the number 150, expected a length with its unit in quotes such as "12.7 mm"
    oddleg.toml:8: gauge.caliper-1.tilt: found "90", unit missing, expected deg, as in "90 deg"
    oddleg.toml:11: gauge.caliper-1.kinds: found "calliper", expected "caliper" or "angle-gauge"; did you mean "caliper"?
    oddleg.toml:15: gauge.caliper-2.reach: found "150 furlong", unknown unit, expected one of mm, cm, m, µm, in
    oddleg.toml:16: gauge.caliper-2.colour: unknown key, expected one of reach, tilt, kinds
    oddleg.toml:19: bench.title: found an empty text, expected something
    oddleg.toml:20: bench.title: missing, expected a text in quotes
    "#);
}

#[test]
fn a_dimension_without_quotes_is_told_as_such_and_hides_nothing_else() {
    let text = "build = \"B\"\n[gauge.a]\nreach = 150 mm # long\ntilt = 5\n";
    insta::assert_snapshot!(mistakes(text), @r#"
    oddleg.toml:3: reach: found 150 mm without quotes, expected reach = "150 mm"
    oddleg.toml:4: gauge.a.tilt: found the number 5, expected an angle with its unit in quotes such as "90 deg"
    "#);
}

#[test]
fn a_text_that_is_not_toml_is_told_at_its_line() {
    let cases = [
        "build = \"B\"\n]]\nloud = 3\n",
        "build = \"B\nloud = 3\n",
        "build = \"B\"\nbuild = \"C\"\n",
        "gauge = 3\n",
        "gauge.a = 3\nbench = [1]\nbuild=\"x\"",
        "a.b = 1\n",
    ];
    let told: Vec<String> = cases.into_iter().map(mistakes).collect();
    insta::assert_snapshot!(told.join("--\n"), @r#"
    oddleg.toml:2: this is not TOML: missing table open, expected `[`
    oddleg.toml:3: loud: found the number 3, expected true or false
    --
    oddleg.toml:1: this is not TOML: invalid basic string, expected `"`
    oddleg.toml:2: loud: found the number 3, expected true or false
    --
    oddleg.toml:2: this is not TOML: duplicate key
    --
    oddleg.toml:1: build: missing, expected a text in quotes
    oddleg.toml:1: gauge: found the number 3, expected a table [gauge]
    --
    oddleg.toml:1: gauge.a: found the number 3, expected a table [gauge.a]
    oddleg.toml:2: bench: found the number 1, expected a table [bench]
    --
    oddleg.toml:1: a: unknown key, expected one of build, units, pieces, loud, gauge, bench
    oddleg.toml:1: build: missing, expected a text in quotes
    "#);
}

#[test]
fn another_file_picked_by_mistake_is_refused_by_its_size() {
    let text = "#".repeat(form::FORM_BYTES_MAX + 1);
    assert!(mistakes(&text).contains("probably another file"));
}

#[test]
fn a_text_checked_by_its_own_type_says_once_what_was_found() {
    let read = form::read(
        "oddleg.toml",
        "general = \"n\"\nallowance = \"k 1.5\"\n",
        |root| {
            let general = root
                .need("general")
                .parsed::<GeneralTolerance>("a general tolerance");
            let allowance = root
                .need("allowance")
                .parsed::<AllowanceRule>("a bend-allowance rule");
            Some((general?, allowance?))
        },
    );
    let told: Vec<String> = read.unwrap_err().iter().map(ToString::to_string).collect();
    insta::assert_snapshot!(told.join("\n"), @r#"
    oddleg.toml:1: general: found "n", expected "ISO 2768-1 f", "ISO 2768-1 m", "ISO 2768-1 c" or "ISO 2768-1 v"
    oddleg.toml:2: allowance: found the k-factor "1.5", expected a decimal above 0 and at most 1, to six places
    "#);
}

#[test]
fn rules_are_read_as_they_are_written() {
    for text in [
        "empirical",
        "din-6935",
        "k 0.5",
        "k 0.44",
        "k 1",
        "k 0.000001",
    ] {
        assert_eq!(text.parse::<AllowanceRule>().unwrap().to_string(), text);
    }
    assert_eq!("t/2".parse::<AllowanceRule>(), "k 0.5".parse());
    for text in [
        "",
        "k",
        "k 0",
        "k 1.01",
        "k -0.4",
        "k 0.0000001",
        "Empirical",
    ] {
        assert!(text.parse::<AllowanceRule>().is_err(), "{text:?} was taken");
    }
    assert_eq!(
        "m".parse::<GeneralTolerance>().unwrap().to_string(),
        "ISO 2768-1 m"
    );
}
