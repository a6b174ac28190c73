//! Every form by name: what it takes, and that it takes nothing else. The shapes of the lines are
//! those printed in instrument manuals; where a value was printed there, that is said.

use proptest::prelude::*;
use shared_types::{Decoded, Garbled, GaugeKind, Unit};

use super::{BitOrder, Dialect, DigitOrder, Form, Pattern};

fn caliper(form: Form) -> Dialect {
    Dialect {
        form,
        ..Dialect::line(Unit::Millimetre, '.', Some(GaugeKind::Caliper))
    }
}

fn angle_gauge(form: Form) -> Dialect {
    Dialect {
        form,
        ..Dialect::line(Unit::Degree, '.', Some(GaugeKind::AngleGauge))
    }
}

fn said(dialect: &Dialect, frame: &[u8]) -> String {
    match dialect.decode(frame) {
        Decoded::Reading(r) => format!("{} {} = {}", r.digits, r.unit.sign(), r.value),
        Decoded::Garbled(why) => format!("{why:?}"),
        other => panic!("{other:?} is not told by a dialect"),
    }
}

fn check(dialect: &Dialect, cases: &[(&str, &str)]) {
    for (frame, expected) in cases {
        assert_eq!(&said(dialect, frame.as_bytes()), expected, "{frame:?}");
    }
}

#[test]
fn a_line_names_its_channel_and_a_multiplexers_status_must_be_good() {
    let multiplexer = caliper(Form::Multiplexer { good: "A".into() });
    assert_eq!(multiplexer.channel(b"01A+00012.34"), Some(&b"01"[..]));
    check(
        &multiplexer,
        &[
            ("01A+00012.34", "00012.34 mm = 12.34 mm"),
            ("01A-00000.05", "-00000.05 mm = -0.05 mm"),
            ("01B+00012.34", "Device"),
            ("911", "Device"),
            ("91", "Grammar"),
            ("9112", "Grammar"),
            ("1A+00012.34", "Grammar"),
            ("01a+00012.34", "Grammar"),
            ("01A+00012.", "Grammar"),
            ("01A+00012.34 mm", "Grammar"),
            ("01A", "Grammar"),
        ],
    );
    let delimited = caliper(Form::Delimited { separator: b';' });
    assert_eq!(delimited.channel(b"1;+12.34;mm"), Some(&b"1"[..]));
    check(
        &delimited,
        &[
            ("1;+12.34;mm", "12.34 mm = 12.34 mm"),
            ("1;0.5;in", "0.5 in = 12.7 mm"),
            ("1;+12.34;", "Grammar"),
            ("1;+12.34", "Grammar"),
            (";+12.34;mm", "Grammar"),
            ("1;+12.34;kg", "Unit"),
            ("1;+12.34;mm;", "Grammar"),
            ("1;12,34;mm", "Grammar"),
        ],
    );
    let numbered = caliper(Form::Numbered);
    assert_eq!(numbered.channel(b"5.637 MM 2 7"), Some(&b"2"[..]));
    check(
        &numbered,
        &[
            ("5.637 MM 2 7", "5.637 mm = 5.637 mm"),
            ("-0.05 IN 12 100", "-0.05 in = -1.27 mm"),
            ("5.637 MM 2", "Grammar"),
            ("5.637 MM 2 7 7", "Grammar"),
            ("5.637 MM 2 x", "Grammar"),
            ("5.637 MM 2 1000", "Grammar"),
            ("5.637 KG 2 7", "Unit"),
        ],
    );
    let axis = caliper(Form::Axis);
    assert_eq!(axis.channel(b"Y=-00.084"), Some(&b"Y"[..]));
    check(
        &axis,
        &[
            ("X=+00.430", "00.430 mm = 0.43 mm"),
            ("Y=-00.084", "-00.084 mm = -0.084 mm"),
            ("X=", "Grammar"),
            ("x=1", "Grammar"),
            ("X=+00.430 Y=-00.084", "Grammar"),
        ],
    );
}

#[test]
fn a_channel_that_is_not_ours_is_never_our_reading() {
    let ours = Dialect {
        channel: Some("02".into()),
        ..caliper(Form::Multiplexer { good: "A".into() })
    };
    check(
        &ours,
        &[
            ("02A+00012.34", "00012.34 mm = 12.34 mm"),
            ("01A+00012.34", "Channel"),
        ],
    );
}

#[test]
fn letters_of_another_mode_are_no_reading() {
    let lettered = angle_gauge(Form::Lettered {
        letters: "APD".into(),
    });
    check(
        &lettered,
        &[
            ("APD+043.10", "043.10 \u{b0} = 43\u{b0}06'00\""),
            ("APD-0\u{b0}15'00\"", "-0.25 \u{b0} = -0\u{b0}15'00\""),
            ("APM+043.10", "Grammar"),
            ("+043.10", "Grammar"),
            ("APDX+043.10", "Grammar"),
        ],
    );
}

/// 43°12' is 43.2° and 0°15' a quarter degree (60' = 1°, worked out by hand).
#[test]
fn an_angle_has_one_sign_for_the_whole_and_minutes_and_seconds_below_60() {
    check(
        &angle_gauge(Form::Dms),
        &[
            ("43\u{b0}12'", "43.2 \u{b0} = 43\u{b0}12'00\""),
            ("43 12 00", "43.2 \u{b0} = 43\u{b0}12'00\""),
            ("43:12:00", "43.2 \u{b0} = 43\u{b0}12'00\""),
            ("+43:12", "43.2 \u{b0} = 43\u{b0}12'00\""),
            ("-0\u{b0}15'00\"", "-0.25 \u{b0} = -0\u{b0}15'00\""),
            ("-0:15:00", "-0.25 \u{b0} = -0\u{b0}15'00\""),
            ("- 0 15 00", "-0.25 \u{b0} = -0\u{b0}15'00\""),
            ("43 10 00", "43\u{b0}10'00\" \u{b0} = 43\u{b0}10'00\""),
            ("1:30:36.5", "1\u{b0}30'36.5\" \u{b0} = 1\u{b0}30'36.5\""),
            ("43:60:00", "Range"),
            ("43:00:60", "Range"),
            ("43:-10:00", "Grammar"),
            ("43:10 00", "Grammar"),
            ("43 10:00", "Grammar"),
            ("43:1.5:00", "Grammar"),
            ("43:100:00", "Grammar"),
            ("43:10:", "Grammar"),
            ("43:10:00:00", "Grammar"),
            ("43.5", "Grammar"),
            ("43", "Grammar"),
            ("43\u{b0}", "Grammar"),
        ],
    );
}

/// 24 bits, least significant first: magnitude, sign at bit 20, inch at bit 23; hundredths of a
/// millimetre or 1/2000 in. The frames are worked out from that layout, as collected from notes on
/// cheap calipers (from memory): 1234 = 0x04d2, 567 = 0x237 with bit 20, 2469 = 0x9a5 with bit 23.
#[test]
fn the_24_bit_frame_is_read_in_each_spelling_of_a_bridge() {
    let low = caliper(Form::Sync24(BitOrder::LowByteFirst));
    check(
        &low,
        &[
            ("d20400", "12.34 mm = 12.34 mm"),
            ("D2 04 00", "12.34 mm = 12.34 mm"),
            ("370210", "-5.67 mm = -5.67 mm"),
            ("a50980", "1.2345 in = 31.3563 mm"),
            ("000000", "0.00 mm = 0 mm"),
            ("050000", "0.05 mm = 0.05 mm"),
            ("ffff0f", "10485.75 mm = 10485.75 mm"),
            // Bits 21 and 22 are always zero.
            ("d20420", "Grammar"),
            ("d20440", "Grammar"),
            ("d204", "Grammar"),
            ("d2040000", "Grammar"),
            ("d2040g", "Grammar"),
        ],
    );
    let number = caliper(Form::Sync24(BitOrder::Number));
    check(
        &number,
        &[
            ("0004d2", "12.34 mm = 12.34 mm"),
            ("8009a5", "1.2345 in = 31.3563 mm"),
        ],
    );
    let bits = caliper(Form::Sync24(BitOrder::Bits));
    check(
        &bits,
        &[
            ("010010110010000000000000", "12.34 mm = 12.34 mm"),
            ("1 0100 1011 0010 0000 0000 0000", "12.34 mm = 12.34 mm"),
            ("101001011001000000000001", "1.2345 in = 31.3563 mm"),
            ("0 0100 1011 0010 0000 0000 0000", "Grammar"),
            ("01001011001000000000000", "Grammar"),
        ],
    );
}

/// `FFFF 0 210765 4 0` is +21.0765 mm and `FFFF 8 012345 3 0` is -12.345 mm: the examples of the
/// digital output described in makers' gauge manuals (each digit least significant bit first).
#[test]
fn the_13_digit_frame_is_read_as_printed() {
    let value = caliper(Form::Bcd13(DigitOrder::Value));
    check(
        &value,
        &[
            ("FFFF 0 210765 4 0", "21.0765 mm = 21.0765 mm"),
            ("FFFF021076540", "21.0765 mm = 21.0765 mm"),
            ("ffff801234530", "-12.345 mm = -12.345 mm"),
            ("FFFF0 005000 4 1", "0.5000 in = 12.7 mm"),
            ("FFFF0 005000 4 8", "0.5000 in = 12.7 mm"),
            ("FFFF0 000012 0 0", "12 mm = 12 mm"),
            ("FFFF1 210765 4 0", "Grammar"),
            ("FFF0 0 210765 4 0", "Grammar"),
            ("FFFF 0 21076A 4 0", "Grammar"),
            ("FFFF 0 210765 6 0", "Grammar"),
            ("FFFF 0 210765 4 2", "Unit"),
            ("FFFF 0 210765 4", "Grammar"),
            ("FFFF 0 210765 4 0 0", "Grammar"),
        ],
    );
    check(
        &caliper(Form::Bcd13(DigitOrder::AsSent)),
        &[
            // 2 1 0 7 6 5 | 4 | 0 with each digit's bits reversed: 4 8 0 e 6 a | 2 | 0.
            ("FFFF0 480e6a 2 0", "21.0765 mm = 21.0765 mm"),
        ],
    );
    check(
        &caliper(Form::Bcd13(DigitOrder::Bits)),
        &[(
            "1111 1111 1111 1111 0000 0100 1000 0000 1110 0110 1010 0010 0000",
            "21.0765 mm = 21.0765 mm",
        )],
    );
}

/// `1000 0000 0001 1001 0000 0000 0100` is 9.8015 in: the example of the seven-digit output in a
/// maker's indicator manual. That a metric frame counts 0.01 mm is common practice, no source.
#[test]
fn the_7_digit_frame_is_read_as_printed() {
    check(
        &caliper(Form::Bcd7(DigitOrder::Bits)),
        &[
            (
                "1000 0000 0001 1001 0000 0000 0100",
                "9.8015 in = 248.9581 mm",
            ),
            ("1000000000011001000000000100", "9.8015 in = 248.9581 mm"),
            ("100000000001100100000000010", "Grammar"),
        ],
    );
    check(
        &caliper(Form::Bcd7(DigitOrder::Value)),
        &[
            ("1089002", "9.8015 in = 248.9581 mm"),
            ("1089003", "-9.8015 in = -248.9581 mm"),
            ("4321004", "12.34 mm = 12.34 mm"),
            // A half count of a metric frame, and the unused flag, mean nothing known.
            ("4321006", "Grammar"),
            ("4321008", "Grammar"),
            ("a321004", "Grammar"),
        ],
    );
    check(
        &caliper(Form::Bcd7(DigitOrder::AsSent)),
        &[("8019004", "9.8015 in = 248.9581 mm")],
    );
}

#[test]
fn a_gauges_error_reply_is_the_gauges_trouble_whatever_its_dialect() {
    let configured = vec![
        ("ERR1".to_owned(), Garbled::Battery),
        ("------".to_owned(), Garbled::Overflow),
    ];
    for mut form in Form::usual() {
        if form == Form::Line {
            form = Form::Lettered {
                letters: "APD".into(),
            };
        }
        let dialect = Dialect {
            troubles: configured.clone(),
            ..caliper(form)
        };
        check(
            &dialect,
            &[
                ("ERR0", "Device"),
                ("ERR1", "Battery"),
                (" ERR3 ", "Device"),
                ("ERR", "Device"),
                ("------", "Overflow"),
                ("ERR10", "Grammar"),
                ("xERR0", "Grammar"),
            ],
        );
    }
}

fn every_dialect() -> Vec<Dialect> {
    let mut forms: Vec<Form> = Form::usual();
    forms.push(Form::Lettered {
        letters: "APD".into(),
    });
    forms.push(Form::Pattern {
        pattern: Pattern::new("{channel:2}{status}{value} {unit}", '.').unwrap(),
        good: "A OK".into(),
    });
    forms
        .into_iter()
        .map(|form| Dialect {
            form,
            ..Dialect::default()
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1024))]

    /// What a frame is garbled by is told of all its bytes: a foreign byte anywhere spoils it.
    #[test]
    fn a_foreign_byte_anywhere_spoils_a_frame_of_any_form(
        at in any::<prop::sample::Index>(), foreign in prop::sample::select(&b"\t\0\x7f\xff!#"[..]),
    ) {
        let frames: &[(&str, Form)] = &[
            ("43:10:00", Form::Dms),
            ("01A+00012.34", Form::Multiplexer { good: "A".into() }),
            ("1;+12.34;mm", Form::Delimited { separator: b';' }),
            ("5.637 MM 2 7", Form::Numbered),
            ("X=+00.430", Form::Axis),
            ("d20400", Form::Sync24(BitOrder::LowByteFirst)),
            ("FFFF021076540", Form::Bcd13(DigitOrder::Value)),
            ("1089002", Form::Bcd7(DigitOrder::Value)),
        ];
        for (frame, form) in frames {
            let dialect = Dialect { form: form.clone(), ..Dialect::default() };
            prop_assert!(dialect.value(frame.as_bytes()).is_ok(), "{}", frame);
            let mut spoilt = frame.as_bytes().to_vec();
            spoilt.insert(at.index(spoilt.len() + 1), foreign);
            prop_assert!(dialect.value(&spoilt).is_err(), "{:?}", spoilt);
        }
    }

    #[test]
    fn no_bytes_make_a_decoder_panic_and_a_reading_has_its_digits_value(
        bytes in prop::collection::vec(prop_oneof![
            8 => prop::sample::select(&b"0123456789+-., :;=AFXYabcdefimnMNI\"'\xb0\xc2"[..]),
            1 => any::<u8>(),
        ], 0..40),
    ) {
        for dialect in every_dialect() {
            if let Decoded::Reading(reading) = dialect.decode(&bytes)
                && !reading.digits.contains('\u{b0}')
            {
                let again = shared_types::Reading::new(&reading.digits, reading.unit).unwrap();
                prop_assert_eq!(again, reading);
            }
        }
    }
}
