//! ISO 2768-1, as published.

use nominals::general::{GeneralTolerance, NoTolerance};
use shared_types::{Angle, Length};

#[test]
fn iso_2768_1_linear_tolerances_are_those_of_the_standard_at_both_ends_of_every_range() {
    // Table 1 of ISO 2768-1:1989, ± mm for f, m, c, v; "-" where it has none.
    let rows = [
        ("0.5 mm", "3 mm", ["0.05", "0.1", "0.2", "-"]),
        ("3.000001 mm", "6 mm", ["0.05", "0.1", "0.3", "0.5"]),
        ("6.000001 mm", "30 mm", ["0.1", "0.2", "0.5", "1"]),
        ("30.000001 mm", "120 mm", ["0.15", "0.3", "0.8", "1.5"]),
        ("120.000001 mm", "400 mm", ["0.2", "0.5", "1.2", "2.5"]),
        ("400.000001 mm", "1000 mm", ["0.3", "0.8", "2", "4"]),
        ("1000.000001 mm", "2000 mm", ["0.5", "1.2", "3", "6"]),
        ("2000.000001 mm", "4000 mm", ["-", "2", "4", "8"]),
    ];
    for (from, to, tolerances) in rows {
        for size in [from, to] {
            for (class, tolerance) in ["f", "m", "c", "v"].into_iter().zip(tolerances) {
                let class: GeneralTolerance = class.parse().unwrap();
                let expected = match tolerance {
                    "-" => Err(NoTolerance::NoValue),
                    mm => Ok(Length::parse(&format!("{mm} mm")).unwrap()),
                };
                assert_eq!(
                    class.linear(Length::parse(size).unwrap()),
                    expected,
                    "{class} at {size}"
                );
            }
        }
    }
    let medium = GeneralTolerance::Medium;
    let at = |size: &str| medium.linear(Length::parse(size).unwrap());
    assert_eq!(at("0.499999 mm"), Err(NoTolerance::BelowHalfMillimetre));
    assert_eq!(at("4000.000001 mm"), Err(NoTolerance::NoValue));
}

#[test]
fn iso_2768_1_angular_tolerances_go_by_the_shorter_leg() {
    // Table 3 of ISO 2768-1:1989.
    let rows = [
        ("1 mm", "10 mm", ["1°00'", "1°00'", "1°30'", "3°00'"]),
        (
            "10.000001 mm",
            "50 mm",
            ["0°30'", "0°30'", "1°00'", "2°00'"],
        ),
        (
            "50.000001 mm",
            "120 mm",
            ["0°20'", "0°20'", "0°30'", "1°00'"],
        ),
        (
            "120.000001 mm",
            "400 mm",
            ["0°10'", "0°10'", "0°15'", "0°30'"],
        ),
        (
            "400.000001 mm",
            "9000 mm",
            ["0°05'", "0°05'", "0°10'", "0°20'"],
        ),
    ];
    for (from, to, tolerances) in rows {
        for leg in [from, to] {
            for (class, tolerance) in ["f", "m", "c", "v"].into_iter().zip(tolerances) {
                let class: GeneralTolerance = class.parse().unwrap();
                let found = class.angular(Length::parse(leg).unwrap());
                assert_eq!(
                    found,
                    Angle::parse(tolerance).unwrap(),
                    "{class}, leg {leg}"
                );
            }
        }
    }
}

#[test]
fn iso_2768_1_radius_tolerances_are_those_of_the_standard_at_both_ends_of_every_range() {
    // Table 2 of ISO 2768-1:1989, external radii and chamfer heights, ± mm for f, m, c, v.
    let rows = [
        ("0.5 mm", "3 mm", ["0.2", "0.2", "0.4", "0.4"]),
        ("3.000001 mm", "6 mm", ["0.5", "0.5", "1", "1"]),
        ("6.000001 mm", "400 mm", ["1", "1", "2", "2"]),
    ];
    for (from, to, tolerances) in rows {
        for size in [from, to] {
            for (class, tolerance) in ["f", "m", "c", "v"].into_iter().zip(tolerances) {
                let class: GeneralTolerance = class.parse().unwrap();
                let expected = Length::parse(&format!("{tolerance} mm")).unwrap();
                let found = class.radius(Length::parse(size).unwrap());
                assert_eq!(found, Ok(expected), "{class} at {size}");
            }
        }
    }
    let below = GeneralTolerance::Medium.radius(Length::parse("0.499999 mm").unwrap());
    assert_eq!(below, Err(NoTolerance::BelowHalfMillimetre));
}
