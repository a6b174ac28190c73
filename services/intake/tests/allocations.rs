//! A frame that is not kept costs no memory, whatever the dialect.

use allocation_counter::measure;
use intake::{BitOrder, Dialect, DigitOrder, Form, Frame, Framer, Pattern, Terminator};

fn every_form() -> Vec<(Form, &'static [u8])> {
    let good = || "A".to_owned();
    let pattern = Pattern::new("#{status} {value} {unit};{skip}", '.').expect("a pattern");
    vec![
        (Form::Line, b"+  12.340, MM"),
        (Form::Line, "43°10'00\"".as_bytes()),
        (Form::Dms, b"43 10 00"),
        (
            Form::Lettered {
                letters: "APD".into(),
            },
            b"APD+043.10",
        ),
        (Form::Multiplexer { good: good() }, b"01A+00012.34"),
        (Form::Delimited { separator: b';' }, b"1;+12.34;mm"),
        (Form::Numbered, b"5.637 MM 2 7"),
        (Form::Axis, b"X=+00.430"),
        (Form::Sync24(BitOrder::LowByteFirst), b"d20400"),
        (Form::Bcd7(DigitOrder::Value), b"1089002"),
        (Form::Bcd13(DigitOrder::Value), b"FFFF021076540"),
        (
            Form::Pattern {
                pattern,
                good: good(),
            },
            b"#A +12.34 mm;b87",
        ),
    ]
}

#[test]
fn a_frame_that_is_not_kept_allocates_nothing() {
    for (form, frame) in every_form() {
        let name = form.name();
        let dialect = Dialect {
            form,
            ..Dialect::default()
        };
        assert!(dialect.value(frame).is_ok(), "{name}");
        let counted = measure(|| {
            for bytes in [frame, b"noise \xff", b"ERR1", b"", &[b'7'; 300]] {
                std::hint::black_box(dialect.value(bytes)).ok();
            }
        });
        assert_eq!(counted.count_total, 0, "{name}");
        // The twin: a reading that is kept does allocate, so the counter counts.
        let kept = measure(|| {
            std::hint::black_box(dialect.decode(frame));
        });
        assert!(kept.count_total > 0, "{name}");
    }
}

#[test]
fn cutting_a_stream_into_frames_allocates_nothing_after_the_first() {
    let stream = b"+00012.34\r\n".repeat(100);
    let mut framer = Framer::new(Terminator::CrOrLf);
    let counted = measure(|| {
        let mut rest = &stream[..];
        let mut whole = 0;
        while let Some(frame) = framer.next(&mut rest) {
            whole += u32::from(matches!(frame, Frame::Whole(_)));
        }
        assert_eq!(whole, 99, "all but the first, which may be a tail");
    });
    assert_eq!(counted.count_total, 0);
}
