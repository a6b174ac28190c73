use proptest::prelude::*;
use shared_types::{Decoded, Garbled, GaugeKind, Quantity, Reading, Unit};

use super::Dialect;
use crate::FRAME_BYTES_MAX;

fn said(dialect: &Dialect, frame: &[u8]) -> String {
    match dialect.decode(frame) {
        Decoded::Reading(r) => format!("{} {} = {}", r.digits, r.unit.sign(), r.value),
        Decoded::Garbled(why) => format!("{why:?}"),
        other => panic!("{other:?} is not told by a dialect"),
    }
}

/// The line shapes are those collected from manuals in our notes (a spaced sign with a comma before
/// the unit, bare numbers, decimal commas); the values are invented.
#[test]
fn a_caliper_line_is_matched_whole_or_not_at_all() {
    let cases: &[(&str, &str)] = &[
        ("+  12.340, MM", "12.340 mm = 12.34 mm"),
        ("12.34", "12.34 mm = 12.34 mm"),
        ("  +00012.34  ", "00012.34 mm = 12.34 mm"),
        ("-0.05", "-0.05 mm = -0.05 mm"),
        ("-.05mm", "-.05 mm = -0.05 mm"),
        ("0.4995 in", "0.4995 in = 12.6873 mm"),
        ("0.5INCH", "0.5 in = 12.7 mm"),
        ("0.5,in", "0.5 in = 12.7 mm"),
        // A cut-off line, two numbers, noise before, after and within.
        ("+12.", "Grammar"),
        ("12.3 12.4", "Grammar"),
        ("12.3 mm 7", "Grammar"),
        ("x12.3", "Grammar"),
        ("1 2.3", "Grammar"),
        ("12.3,", "Grammar"),
        ("12,34", "Grammar"),
        ("12.3,,mm", "Grammar"),
        ("+-12.3", "Grammar"),
        ("++12.3", "Grammar"),
        ("1e3", "Grammar"),
        ("", "Grammar"),
        ("   ", "Grammar"),
        ("mm", "Grammar"),
        (".", "Grammar"),
        ("1/4 in", "Grammar"),
        ("12.3 kg", "Unit"),
        ("12.3 um", "Unit"),
        ("90 deg", "Unit"),
        ("43°10'", "Unit"),
        ("1234567890123456", "Range"),
        ("9999999.9", "Range"),
        ("0.0000000001", "Range"),
    ];
    let caliper = Dialect::line(Unit::Millimetre, '.', Some(GaugeKind::Caliper));
    for (frame, expected) in cases {
        assert_eq!(&said(&caliper, frame.as_bytes()), expected, "{frame:?}");
    }
    for frame in [
        &b"12.3\x00"[..],
        b"12\t3",
        b"\xff12.3",
        b"12.3\xc2",
        b"12.3\r",
    ] {
        assert_eq!(said(&caliper, frame), "Grammar", "{frame:?}");
    }
    let long = "1".repeat(FRAME_BYTES_MAX + 1);
    assert_eq!(said(&caliper, long.as_bytes()), "Oversize");
}

#[test]
fn a_decimal_comma_is_a_mark_only_where_the_dialect_says_so() {
    let comma = Dialect::line(Unit::Millimetre, ',', None);
    assert_eq!(said(&comma, b"12,34"), "12.34 mm = 12.34 mm");
    assert_eq!(said(&comma, b"+12,340, MM"), "12.340 mm = 12.34 mm");
    assert_eq!(said(&comma, b"12.34"), "Grammar");
    assert_eq!(said(&comma, b"12,"), "Grammar");
}

/// 43°10' is 43 1/6 degrees, whose decimals have no end; 43°12' is 43.2 (worked out by hand).
#[test]
fn degrees_minutes_and_seconds_stay_exact() {
    let cases: &[(&[u8], &str)] = &[
        (b"90", "90 \u{b0} = 90\u{b0}00'00\""),
        (b"90.5 DEG", "90.5 \u{b0} = 90\u{b0}30'00\""),
        (b"+45.25\xb0", "45.25 \u{b0} = 45\u{b0}15'00\""),
        ("45.25 °".as_bytes(), "45.25 \u{b0} = 45\u{b0}15'00\""),
        ("43°12'".as_bytes(), "43.2 \u{b0} = 43\u{b0}12'00\""),
        ("43°10'".as_bytes(), "43\u{b0}10' \u{b0} = 43\u{b0}10'00\""),
        ("-0°15'00\"".as_bytes(), "-0.25 \u{b0} = -0\u{b0}15'00\""),
        ("-0°00'00\"".as_bytes(), "-0 \u{b0} = 0\u{b0}00'00\""),
        ("+ 1° 30' 36\"".as_bytes(), "1.51 \u{b0} = 1\u{b0}30'36\""),
        (
            b"1\xb030'00.5\"",
            "1\u{b0}30'00.5\" \u{b0} = 1\u{b0}30'00.5\"",
        ),
        ("1°60'".as_bytes(), "Range"),
        ("1°30".as_bytes(), "Grammar"),
        ("1.5°30'".as_bytes(), "Grammar"),
        ("1°30'5".as_bytes(), "Grammar"),
        ("°30'".as_bytes(), "Grammar"),
        ("1°-30'".as_bytes(), "Grammar"),
        (b"12.3 mm", "Unit"),
        (b"4000", "Range"),
    ];
    let gauge = Dialect::line(Unit::Degree, '.', Some(GaugeKind::AngleGauge));
    for (frame, expected) in cases {
        let shown = String::from_utf8_lossy(frame);
        assert_eq!(&said(&gauge, frame), expected, "{shown}");
    }
}

#[test]
fn the_digits_of_a_reading_give_its_value_again_unless_they_have_no_end() {
    let gauge = Dialect::line(Unit::Degree, '.', None);
    let read = |text: &str| match gauge.decode(text.as_bytes()) {
        Decoded::Reading(reading) => reading,
        other => panic!("{text}: {other:?}"),
    };
    let finite = read("43°12'36\"");
    assert_eq!(Reading::new(&finite.digits, Unit::Degree).unwrap(), finite);
    let endless = read("43°10'");
    assert_eq!(endless.in_unit(Unit::Millimetre), None);
    assert_eq!(Quantity::parse(&endless.digits).unwrap(), endless.value);
}

/// Reads back what a line may say from the line itself, in another way than the grammar does: by
/// taking away what is allowed around the digits.
fn digits_left(frame: &[u8]) -> String {
    let text: String = frame
        .iter()
        .map(|&b| char::from(b).to_ascii_lowercase())
        .collect();
    let text = text.trim_matches(' ');
    let text = ["mm", "inch", "in", "deg", "\u{c2}\u{b0}", "\u{b0}"]
        .iter()
        .find_map(|unit| text.strip_suffix(unit))
        .map_or(text, |number| {
            let number = number.trim_end_matches(' ');
            number.strip_suffix(',').unwrap_or(number)
        })
        .trim_matches(' ');
    match text.strip_prefix('-') {
        Some(rest) => format!("-{}", rest.trim_start_matches(' ')),
        None => text
            .strip_prefix('+')
            .unwrap_or(text)
            .trim_start_matches(' ')
            .to_owned(),
    }
}

fn noise() -> impl Strategy<Value = Vec<u8>> {
    let likely = proptest::sample::select(&b"0123456789+-.,  mMiInNdeg'\"\xb0\xc2"[..]);
    proptest::collection::vec(prop_oneof![9 => likely, 1 => any::<u8>()], 0..20)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4096))]

    #[test]
    fn noise_is_a_reading_only_where_nothing_but_the_digits_is_left_of_it(frame in noise()) {
        let any = Dialect::line(Unit::Millimetre, '.', None);
        if let Decoded::Reading(reading) = any.decode(&frame)
            && !frame.contains(&b'\'')
        {
            prop_assert_eq!(&reading.digits, &digits_left(&frame));
            prop_assert!(reading.digits.trim_start_matches('-').bytes().all(|b| b.is_ascii_digit() || b == b'.'));
            prop_assert_eq!(Reading::new(&reading.digits, reading.unit).unwrap(), reading);
        }
    }

    #[test]
    fn a_line_of_the_grammar_is_read_and_one_foreign_byte_anywhere_spoils_it(
        sign in "(\\+ ?|- ?)?", digits in "[0-9]{1,4}(\\.[0-9]{1,4})?", unit in "(,? ?(mm|MM|in|INCH))?",
        at in any::<proptest::sample::Index>(), foreign in proptest::sample::select(&b"x#/:;\t\0\x7f\xff"[..]),
    ) {
        let caliper = Dialect::line(Unit::Millimetre, '.', Some(GaugeKind::Caliper));
        let mut frame = format!("{sign}{digits}{unit}").into_bytes();
        let decoded = caliper.decode(&frame);
        let negative = if sign.starts_with('-') { "-" } else { "" };
        prop_assert!(matches!(&decoded, Decoded::Reading(r) if r.digits == format!("{negative}{digits}")), "{:?}", decoded);
        frame.insert(at.index(frame.len() + 1), foreign);
        prop_assert!(matches!(caliper.decode(&frame), Decoded::Garbled(Garbled::Grammar | Garbled::Unit)));
    }
}
