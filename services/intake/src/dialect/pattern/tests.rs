use proptest::prelude::*;
use shared_types::{Decoded, Garbled, GaugeKind, Unit};

use super::{Element, Field, Pattern, PatternError};
use crate::dialect::cursor::Cursor;
use crate::{Dialect, Form};

fn dialect(pattern: &str, good: &str) -> Dialect {
    let form = Form::Pattern {
        pattern: Pattern::new(pattern, '.').unwrap(),
        good: good.to_owned(),
    };
    Dialect {
        form,
        ..Dialect::line(Unit::Millimetre, '.', None)
    }
}

fn said(dialect: &Dialect, line: &str) -> String {
    match dialect.decode(line.as_bytes()) {
        Decoded::Reading(r) => format!("{} {}", r.digits, r.unit.sign()),
        Decoded::Garbled(why) => format!("{why:?}"),
        other => panic!("{other:?} is not told by a dialect"),
    }
}

#[test]
fn a_pattern_takes_its_lines_and_no_others() {
    type Lines = &'static [(&'static str, &'static str)];
    let cases: &[(&str, Lines)] = &[
        (
            "{channel:2}{status}{value} {unit}",
            &[
                ("07A+12.34 mm", "12.34 mm"),
                ("07OK-.05 in", "-.05 in"),
                ("07E+12.34 mm", "Device"),
                ("07A+12.34 kg", "Unit"),
                ("07A+12.34  mm", "Grammar"),
                ("07A+12.34 ", "Grammar"),
                ("07A++12.34 mm", "Grammar"),
                ("07A+12.34.5 mm", "Grammar"),
                ("07A+12. mm", "Grammar"),
                ("7A+12.34 mm", "Grammar"),
            ],
        ),
        (
            "#{value:9};{skip}",
            &[
                ("#+   12.34;b3", "12.34 mm"),
                ("#    12.34;b3", "12.34 mm"),
                ("#    12.34;", "Grammar"),
                ("#   12 .34;b", "Grammar"),
                ("#         ;b", "Grammar"),
            ],
        ),
        (
            "{degrees}d{minutes}m{seconds}s",
            &[
                ("-0d15m00s", "-0.25 °"),
                ("43d12m36s", "43.21 °"),
                ("43d60m00s", "Range"),
                ("43d-1m00s", "Grammar"),
                ("43d100m00s", "Grammar"),
            ],
        ),
        ("{{{value}}}", &[("{1.5}", "1.5 mm"), ("1.5", "Grammar")]),
        ("{value}°", &[("45.5°", "45.5 mm"), ("45.5", "Grammar")]),
        (
            "{spaces}{value}{spaces}",
            &[("  1.5 ", "1.5 mm"), ("1.5", "1.5 mm"), ("1 .5", "Grammar")],
        ),
    ];
    for (pattern, lines) in cases {
        let dialect = dialect(pattern, "A OK");
        for (line, expected) in *lines {
            assert_eq!(&said(&dialect, line), expected, "{pattern} {line:?}");
        }
    }
}

#[test]
fn a_channel_in_a_pattern_tells_gauges_apart() {
    let ours = Dialect {
        channel: Some("7".into()),
        kind: Some(GaugeKind::Caliper),
        ..dialect("{channel}:{value}", "A")
    };
    assert_eq!(said(&ours, "7:1.5"), "1.5 mm");
    assert_eq!(said(&ours, "8:1.5"), format!("{:?}", Garbled::Channel));
}

#[test]
fn a_pattern_that_cannot_be_used_says_why() {
    let cases = [
        ("", "no {value}, expected it or {degrees} and {minutes}"),
        ("{skip}", "no {value}"),
        ("{unit}", "no {value}"),
        ("{value} {value}", "the field {value} twice"),
        ("{value", "a brace without its partner"),
        ("value}", "a brace without its partner"),
        ("{number}", "a field {number}, expected value, unit"),
        ("{value:0}", "a field {value:0}"),
        ("{value:999}", "a field {value:999}"),
        ("{value}\t", "the character '\\t', expected printable"),
        ("{degrees}", "parts of an angle that do not make one"),
        ("{minutes} {degrees}", "parts of an angle"),
        ("{degrees} {minutes} {value}", "parts of an angle"),
        (
            "{channel}{value}",
            "{channel} followed by {value}: a line could be split in two ways, as '0' may belong to either; put a text between them or give {channel} a width such as {channel:2}",
        ),
        ("{value}{skip}", "{value} followed by {skip}"),
        ("{value}5", "{value} followed by '5'"),
        ("{value}.", "{value} followed by '.'"),
        ("{status}{unit} {value}", "{status} followed by {unit}"),
        ("{skip}{spaces};{value}", "{skip} followed by ';'"),
        ("{value}{spaces}{skip}", "{value} followed by {skip}"),
    ];
    for (pattern, expected) in cases {
        let error = Pattern::new(pattern, '.').unwrap_err().to_string();
        assert!(error.contains(expected), "{pattern}: {error}");
    }
    let long = "x".repeat(201);
    assert!(matches!(
        Pattern::new(&long, '.'),
        Err(PatternError::Long { found: 201, .. })
    ));
}

/// Splits a line in every way its elements allow, by trying all lengths: how many ways there are.
/// Independent of the matcher: it asks of each piece of text only whether the element may be that.
fn ways(elements: &[Element], line: &[u8], mark: u8) -> usize {
    let Some((first, rest)) = elements.split_first() else {
        return usize::from(line.is_empty());
    };
    (0..=line.len())
        .filter(|&length| may_be(first, &line[..length], mark))
        .map(|length| ways(rest, &line[length..], mark))
        .sum()
}

fn may_be(element: &Element, text: &[u8], mark: u8) -> bool {
    match element {
        Element::Exactly(byte) => text == [*byte],
        Element::Degree => text == [0xb0] || text == "°".as_bytes(),
        Element::Field(field, Some(width)) => {
            text.len() == *width && text.iter().all(|&byte| field.wide().has(byte))
        }
        Element::Field(Field::Spaces, None) => text.iter().all(|&byte| byte == b' '),
        Element::Field(field @ (Field::Value | Field::Degrees), None) => {
            let body = text
                .strip_prefix(b"+")
                .or(text.strip_prefix(b"-"))
                .unwrap_or(text);
            let marks = body.iter().filter(|&&byte| byte == mark).count();
            let allowed = if *field == Field::Value { 1 } else { 0 };
            marks <= allowed
                && body.last().is_some_and(u8::is_ascii_digit)
                && body
                    .iter()
                    .all(|&byte| byte.is_ascii_digit() || byte == mark)
        }
        Element::Field(field, None) => {
            !text.is_empty() && text.iter().all(|&byte| field.inner(mark).has(byte))
        }
    }
}

fn piece() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => prop::sample::select(vec!["{value}", "{unit}", "{channel}", "{status}", "{skip}", "{spaces}"])
            .prop_map(str::to_owned),
        2 => (prop::sample::select(vec!["value", "unit", "channel", "status", "skip"]), 1..4_usize)
            .prop_map(|(name, width)| format!("{{{name}:{width}}}")),
        3 => prop::sample::select(vec![" ", ";", ":", "A", "=", "°", "1", "."]).prop_map(str::to_owned),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4096, max_global_rejects: 1 << 20, ..ProptestConfig::default() })]

    #[test]
    fn no_line_can_be_split_in_two_ways_by_a_pattern_that_is_taken(
        pieces in prop::collection::vec(piece(), 1..7),
        line in prop::collection::vec(prop::sample::select(&b"+-15..  ;:AmB=\xb0"[..]), 0..14),
    ) {
        if let Ok(pattern) = Pattern::new(&pieces.concat(), '.') {
            let ways = ways(&pattern.elements, &line, b'.');
            prop_assert!(ways <= 1, "{} {:?} in {} ways", pattern.text, line, ways);
            // A line that splits is heard, and one that is heard splits.
            let mut found = super::Found::default();
            let mut at = Cursor(&line[..]);
            let matched = pattern.elements.iter().all(|e| pattern.take(e, &mut at, &mut found).is_ok()) && at.is_done();
            if matched {
                prop_assert_eq!(ways, 1, "{} {:?}", pattern.text, line);
            }
        }
    }
}

/// The twin: patterns that are refused do have lines that split in two ways, so the property can fail.
#[test]
fn a_pattern_refused_as_ambiguous_has_a_line_that_splits_in_two_ways() {
    let cases: [(&[Element], &str); 3] = [
        (
            &[
                Element::Field(Field::Channel, None),
                Element::Field(Field::Value, None),
            ],
            "123",
        ),
        (
            &[
                Element::Field(Field::Skip, None),
                Element::Exactly(b';'),
                Element::Field(Field::Skip, None),
            ],
            "a;b;c",
        ),
        (
            &[
                Element::Field(Field::Status, None),
                Element::Field(Field::Unit, None),
            ],
            "AmB",
        ),
    ];
    for (elements, line) in cases {
        let text: String = elements.iter().map(ToString::to_string).collect();
        let text = text.replace("';'", ";");
        assert!(
            Pattern::new(&format!("{text} {{value}}"), '.').is_err(),
            "{text}"
        );
        assert!(ways(elements, line.as_bytes(), b'.') > 1, "{text} {line}");
    }
}

/// Time is bounded by the line's length, whatever the pattern: each byte is asked about a fixed number
/// of times. Counted, not timed.
#[test]
fn the_longest_line_costs_no_more_than_a_fixed_number_of_looks_a_byte() {
    let pattern = Pattern::new("{skip} {skip} {skip} {skip} {value}", '.').unwrap();
    let hostile = "a".repeat(crate::FRAME_BYTES_MAX);
    let mut at = Cursor(hostile.as_bytes());
    let mut found = super::Found::default();
    let mut taken = 0;
    for element in &pattern.elements {
        let before = at.0.len();
        if pattern.take(element, &mut at, &mut found).is_err() {
            break;
        }
        taken += before - at.0.len();
    }
    // Nothing is ever given back: what was taken once is not looked at again.
    assert_eq!(taken, hostile.len());
}
