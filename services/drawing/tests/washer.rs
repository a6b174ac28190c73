//! Which washer draws which line, against published sizes.
#![allow(missing_docs, clippy::unwrap_used)]

use drawing::washer::{PEN_USUAL, advice, washers};
use shared_types::{DisplayUnits, Length};

fn length(text: &str) -> Length {
    Length::parse(text).unwrap()
}

/// ISO 7089:2000 d1 and d2 (from memory; the same as a dealer's table of ISO 7089), and ANSI/ASME B18.21.1-2009
/// type A as in Machinery's Handbook, 31st edition, "Washers", table 1a.
#[test]
fn a_washer_draws_half_the_difference_of_its_diameters_and_half_the_pen() {
    for (name, hole, outside) in [
        ("M3", "3.2 mm", "7 mm"),
        ("M8", "8.4 mm", "16 mm"),
        ("M12", "13 mm", "24 mm"),
        ("M30", "31 mm", "56 mm"),
        ("1/4 in narrow", "0.281 in", "0.625 in"),
        ("3/8 in wide", "0.438 in", "1.000 in"),
        ("7/16 in wide", "0.500 in", "1.250 in"),
        ("1/2 in wide", "0.562 in", "1.375 in"),
    ] {
        for pen in ["0 mm", "0.7 mm", "1/16 in"] {
            let [hole, outside, pen] = [hole, outside, pen].map(length);
            let wanted = Length::from_pm((outside.pm() - hole.pm() + pen.pm()) / 2).unwrap();
            let first = washers(wanted, pen)[0];
            assert_eq!(
                (first.washer.hole, first.washer.outside),
                (hole, outside),
                "{name}"
            );
            assert_eq!(
                (first.washer.name, first.draws, first.off),
                (name, wanted, Length::ZERO)
            );
        }
    }
}

#[test]
fn the_nearest_washers_come_first_with_how_far_they_are_off() {
    let told = washers(length("3/8 in"), Length::ZERO);
    let names: Vec<&str> = told.iter().map(|one| one.washer.name).collect();
    assert_eq!(names, ["7/16 in wide", "M24", "1/2 in wide"]);
    assert_eq!(told[1].off, length("-0.025 mm"));
    assert!(
        told.windows(2)
            .all(|two| two[0].off.abs() <= two[1].off.abs())
    );
    for (wanted, pen, said) in [
        ("3/8 in", "0 mm", "7/16 in wide washer draws it"),
        (
            "3/8 in",
            "0.7 mm",
            "M24 washer draws 9.85 mm, 0.325 mm too far",
        ),
        ("3.8 mm", "0 mm", "M8 washer draws it"),
        (
            "3.9 mm",
            "0 mm",
            "M8 washer draws 3.80 mm, 0.10 mm too near",
        ),
        (
            "40 mm",
            "0.7 mm",
            "no washer within 0.50 mm (nearest: 3/4 in wide, 15.438 mm)",
        ),
    ] {
        let best = advice(length(wanted), length(pen), DisplayUnits::Mm);
        assert_eq!(best, said, "{wanted}, {pen}");
    }
    assert_eq!(PEN_USUAL, length("0.7 mm"));
}
