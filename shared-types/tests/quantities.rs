//! Exact quantities: what is read, what is refused, and how it is shown.
#![allow(missing_docs)]

use proptest::prelude::*;
use shared_types::*;

fn pm(text: &str) -> i64 {
    match Quantity::parse(text) {
        Ok(Quantity::Length(length)) => length.pm(),
        other => panic!("{text}: {other:?}"),
    }
}

fn mas(text: &str) -> i64 {
    match Quantity::parse(text) {
        Ok(Quantity::Angle(angle)) => angle.mas(),
        other => panic!("{text}: {other:?}"),
    }
}

/// 1 in = 25.4 mm exactly: international yard and pound agreement, 1959 (NIST SP 811, from memory).
#[test]
fn lengths_are_read_exactly_in_every_spelling() {
    for (text, want) in [
        ("12.34 mm", 12_340_000_000),
        ("12.34mm", 12_340_000_000),
        ("-0.05 mm", -50_000_000),
        ("\u{2212}0.05 mm", -50_000_000),
        ("+.5 mm", 500_000_000),
        ("12. mm", 12_000_000_000),
        ("11 1/4 in", 285_750_000_000),
        ("11-1/4 in", 285_750_000_000),
        ("-1 1/2 in", -38_100_000_000),
        ("3/8\"", 9_525_000_000),
        ("1/128 in", 198_437_500),
        ("0.0005 in", 12_700_000),
        ("0.032 in", 812_800_000),
        ("1.2 cm", 12_000_000_000),
        ("0.286 m", 286_000_000_000),
        ("33 µm", 33_000_000),
        ("0.000000001 mm", 1),
        ("1000 m", LENGTH_MAX_PM),
    ] {
        assert_eq!(pm(text), want, "{text}");
    }
}

#[test]
fn angles_are_read_exactly_and_the_sign_belongs_to_the_whole() {
    for (text, want) in [
        ("90 deg", 324_000_000),
        ("90°", 324_000_000),
        ("0.01 deg", 36_000),
        ("1°30'", 5_400_000),
        ("1° 30′", 5_400_000),
        ("-0°15'00\"", -900_000),
        ("-0.25°", -900_000),
        ("43°10'12.5\"", 155_412_500),
        ("+0°0'0.001\"", 1),
    ] {
        assert_eq!(mas(text), want, "{text}");
    }
}

#[test]
fn what_is_not_exact_or_not_clear_is_refused_with_the_reason() {
    use QuantityError::*;
    for (text, want) in [
        ("", Empty),
        ("  ", Empty),
        ("12.7", NoUnit),
        ("mm", NotANumber),
        ("twelve", NotANumber),
        ("12.7 furlong", UnknownUnit),
        ("12,7 mm", NotANumber),
        ("1.2.3 mm", NotANumber),
        ("--5 mm", NotANumber),
        ("+-5 mm", NotANumber),
        ("1e3 mm", NotANumber),
        ("0x10 mm", NotANumber),
        (". mm", NotANumber),
        ("1/0 in", NotANumber),
        ("1/3 in", NotExact),
        ("1.5/2 in", NotANumber),
        ("0.0000000001 mm", NotExact),
        ("1000.001 m", OutOfRange),
        ("9999999999999999 mm", TooManyDigits),
        ("999999999999999 m", OutOfRange),
        ("1°60'", OutOfRange),
        ("1°30'60\"", OutOfRange),
        ("1.5°30'", NotANumber),
        ("1°-30'", NotANumber),
        ("1°30", NotANumber),
        ("4000 deg", OutOfRange),
        ("\u{0661} mm", NotANumber),
        ("NaN mm", NotANumber),
        ("inf mm", NotANumber),
        ("\0 mm", NotANumber),
    ] {
        assert_eq!(Quantity::parse(text), Err(want), "{text:?}");
    }
    assert_eq!(Length::parse("90 deg"), Err(WrongKind));
    assert_eq!(Angle::parse("90 mm"), Err(WrongKind));
    assert_eq!(Quantity::parse(&"1".repeat(200)), Err(TooLong));
}

#[test]
fn a_decimal_comma_is_read_where_the_dialect_says_so_and_nowhere_else() {
    let read = |digits, mark| Quantity::from_digits(digits, Unit::Millimetre, mark);
    assert_eq!(read("12,34", ','), Quantity::parse("12.34 mm"));
    assert_eq!(read("12.34", ','), Err(QuantityError::NotANumber));
    assert_eq!(read("12,34", '.'), Err(QuantityError::NotANumber));
}

#[test]
fn a_length_shows_as_people_write_it() {
    use DisplayUnits::{In, InFractions, Mm};
    for (text, units, want) in [
        ("12.7 mm", Mm, "12.70 mm"),
        ("12.705 mm", Mm, "12.705 mm"),
        ("12.7054 mm", Mm, "12.705 mm"),
        ("12.7055 mm", Mm, "12.706 mm"),
        ("12.7045 mm", Mm, "12.704 mm"),
        ("-0.05 mm", Mm, "-0.05 mm"),
        ("286 mm", In, "11.2598 in"),
        ("1/2 in", In, "0.500 in"),
        ("11 1/4 in", InFractions, "11 1/4 in"),
        ("3/8 in", InFractions, "3/8 in"),
        ("1/128 in", InFractions, "0.0078 in"),
        ("2 in", InFractions, "2 in"),
        ("286 mm", InFractions, "11.2598 in"),
        ("90 deg", Mm, "90.0°"),
        ("89.95 deg", In, "89.95°"),
        ("1°30'", Mm, "1.5°"),
    ] {
        assert_eq!(
            show(Quantity::parse(text).unwrap(), units).to_string(),
            want,
            "{text}"
        );
    }
}

#[test]
fn an_excess_is_never_shown_as_nothing() {
    let excess = |a: &str, b: &str| {
        let [a, b] = [a, b].map(|t| Quantity::parse(t).unwrap());
        show_excess(a, b, DisplayUnits::Mm).map(|s| s.to_string())
    };
    assert_eq!(excess("14 mm", "13.2 mm").unwrap(), "0.80 mm");
    assert_eq!(excess("12.1 mm", "12.2 mm").unwrap(), "0.10 mm");
    assert_eq!(
        excess("13.200000001 mm", "13.2 mm").unwrap(),
        "0.000000001 mm"
    );
    assert_eq!(excess("13.2 mm", "13.2 mm").unwrap(), "0.00 mm");
    assert_eq!(excess("13.2 mm", "13.2 deg"), None);
}

#[test]
fn limits_hold_their_invariant_and_contain_both_ends() {
    let q = |t: &str| Some(Quantity::parse(t).unwrap());
    let limits = Limits::new(q("12.2 mm"), q("13.2 mm")).unwrap();
    for (value, place) in [
        ("12.199999999 mm", Place::Below),
        ("12.2 mm", Place::Within),
        ("13.2 mm", Place::Within),
        ("13.200000001 mm", Place::Above),
    ] {
        assert_eq!(
            limits.place(Quantity::parse(value).unwrap()),
            Some(place),
            "{value}"
        );
    }
    assert_eq!(limits.place(Quantity::parse("12.5 deg").unwrap()), None);
    assert_eq!(Limits::new(None, None), Err(LimitsError::None));
    assert_eq!(Limits::new(q("2 mm"), q("1 mm")), Err(LimitsError::Crossed));
    assert_eq!(
        Limits::new(q("1 mm"), q("2 deg")),
        Err(LimitsError::WrongKind)
    );
    // The same invariant on the way in from disk.
    for bad in [
        r#"{}"#,
        r#"{"lower":{"pm":2},"upper":{"pm":1}}"#,
        r#"{"lower":{"pm":2000000000000000}}"#,
    ] {
        assert!(serde_json::from_str::<Limits>(bad).is_err(), "{bad}");
    }
}

#[test]
fn names_are_checked_where_they_are_made() {
    for good in ["B2", "caliper-1", "formed.height.left", "a_b"] {
        assert_eq!(PartId::new(good).unwrap().to_string(), good);
    }
    for bad in [
        "",
        "-x",
        ".x",
        "a b",
        "a/b",
        "a+b",
        "a#",
        "é",
        &"x".repeat(65),
    ] {
        assert!(GaugeId::new(bad).is_err(), "{bad}");
        assert!(
            serde_json::from_value::<GaugeId>(serde_json::json!(bad)).is_err(),
            "{bad}"
        );
    }
    for (text, number, hand, spoken) in [
        ("B2/3", 3, None, "B2/3"),
        ("B2/3L", 3, Some(Hand::Left), "B2/3 left"),
        ("B2/12R", 12, Some(Hand::Right), "B2/12 right"),
        (
            "L/4294967295R",
            u32::MAX,
            Some(Hand::Right),
            "L/4294967295 right",
        ),
    ] {
        let piece: PieceId = text.parse().unwrap();
        assert_eq!((piece.number(), piece.hand()), (number, hand), "{text}");
        assert_eq!(piece.to_string(), text);
        assert_eq!(piece.spoken(), spoken);
        assert_eq!(serde_json::json!(piece), serde_json::json!(text));
        assert_eq!(
            serde_json::from_value::<PieceId>(serde_json::json!(text)).unwrap(),
            piece
        );
    }
    let mut sorted = ["B2/10", "B2/2R", "B2/2", "B10/1", "B2/2L", "B2/1R"]
        .map(|t| t.parse::<PieceId>().unwrap());
    sorted.sort();
    assert_eq!(
        sorted.map(|piece| piece.to_string()),
        ["B10/1", "B2/1R", "B2/2", "B2/2L", "B2/2R", "B2/10"]
    );
    for bad in [
        "B2",
        "B2/",
        "B2/0",
        "B2/03",
        "B2/+3",
        "B2/-3",
        "/3",
        "B2/3/4",
        "B2/4294967296",
        "B2/L",
        "B2/0L",
        "B2/3l",
        "B2/3LL",
        "B2/3LR",
        "B2/L3",
        "B2/3 L",
    ] {
        assert!(bad.parse::<PieceId>().is_err(), "{bad}");
    }
}

#[test]
fn instrument_bytes_become_printable_and_nothing_is_lost() {
    assert_eq!(printable(b"+12.70 mm"), "+12.70 mm");
    assert_eq!(
        printable(b"\x1b[2J\r\n\\\xff"),
        "\\x1b[2J\\x0d\\x0a\\\\\\xff"
    );
}

proptest! {
    #[test]
    fn parse_and_display_are_inverse_for_lengths(pm in -LENGTH_MAX_PM..=LENGTH_MAX_PM) {
        let length = Length::from_pm(pm).unwrap();
        prop_assert_eq!(Length::parse(&length.to_string()), Ok(length));
        if let Some(inches) = length.exact_inches() {
            prop_assert_eq!(Length::parse(&format!("{inches} in")), Ok(length));
        }
    }

    #[test]
    fn parse_and_display_are_inverse_for_inch_fractions(parts in -1_000_000_i64..1_000_000) {
        let length = Length::from_pm(parts * PM_PER_INCH / 128).unwrap();
        let fraction = length.inch_fraction().unwrap();
        prop_assert_eq!(Length::parse(&fraction.to_string()), Ok(length));
        prop_assert!(fraction.under == 1 || fraction.over % 2 == 1);
    }

    #[test]
    fn parse_and_display_are_inverse_for_angles(mas in -ANGLE_MAX_MAS..=ANGLE_MAX_MAS) {
        let angle = Angle::from_mas(mas).unwrap();
        prop_assert_eq!(Angle::parse(&angle.to_string()), Ok(angle));
    }

    #[test]
    fn order_is_that_of_the_numbers_written(a in -99_999_999_i64..99_999_999, b in -99_999_999_i64..99_999_999) {
        let read = |n: i64| {
            let sign = if n < 0 { "-" } else { "" };
            Length::parse(&format!("{sign}{}.{:04} in", n.abs() / 10_000, n.abs() % 10_000)).unwrap()
        };
        prop_assert_eq!(read(a).cmp(&read(b)), a.cmp(&b));
    }

    #[test]
    fn rounding_for_show_is_within_half_a_place_and_exact_where_it_can_be(pm in -LENGTH_MAX_PM..=LENGTH_MAX_PM, places in 0_u32..9) {
        let length = Length::from_pm(pm).unwrap();
        let text = length.rounded(Unit::Millimetre, places);
        let shown = Length::parse(&format!("{text} mm")).map(Length::pm).unwrap_or(LENGTH_MAX_PM);
        let step = PM_PER_MM / 10_i64.pow(places);
        prop_assert!((shown - pm).abs() * 2 <= step);
        if pm % step == 0 { prop_assert_eq!(shown, pm); }
    }

    #[test]
    fn no_text_panics(text in "\\PC{0,70}", mark in prop_oneof![Just('.'), Just(',')]) {
        let _parsed = Quantity::parse(&text).is_ok();
        let _parsed = Number::parse(&text, mark).is_ok();
        let _parsed = text.parse::<PieceId>().is_ok();
    }

    #[test]
    fn no_text_near_a_quantity_panics(text in "[-+−0-9./° '\"′″,a-z]{0,40}") {
        let _parsed = Quantity::parse(&text).is_ok();
        let _parsed = Quantity::from_digits(&text, Unit::Inch, ',').is_ok();
    }
}
