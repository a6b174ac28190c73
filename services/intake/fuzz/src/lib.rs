//! What must hold of any bytes, for each decoder. The fuzz targets and the ordinary test that replays
//! the seeds call the same functions.

use intake::{BitOrder, Dialect, DigitOrder, Form, Framer, Pattern, Terminator};
use shared_types::{Decoded, GaugeId, Quantity, Reading, Unit};

/// What one target does with bytes.
pub type Target = fn(&[u8]);

/// All checks by the names of their targets.
pub const ALL: [(&str, Target); 14] = [
    ("line", line),
    ("comma", comma),
    ("dms", dms),
    ("lettered", lettered),
    ("multiplexer", multiplexer),
    ("delimited", delimited),
    ("numbered", numbered),
    ("axis", axis),
    ("sync_24", sync_24),
    ("bcd_7", bcd_7),
    ("bcd_13", bcd_13),
    ("pattern", pattern),
    ("framer", framer),
    ("typed", typed),
];

/// A decoder never panics, gives the same again, and a reading's value is the value of its digits.
fn decoder(dialect: &Dialect, bytes: &[u8]) {
    let decoded = dialect.decode(bytes);
    assert_eq!(dialect.decode(bytes), decoded);
    match (&decoded, dialect.value(bytes)) {
        (Decoded::Reading(reading), Ok(value)) => {
            assert_eq!(*reading, value.reading());
            sound(reading);
            // Spaces around are no part of a value; anything else before it is.
            assert!(dialect.value(&[b"#", bytes].concat()).is_err());
        }
        (Decoded::Garbled(why), Err(same)) => assert_eq!(*why, same),
        other => panic!("{other:?}"),
    }
}

fn sound(reading: &Reading) {
    if reading.digits.contains('°') {
        assert_eq!(Quantity::parse(&reading.digits), Ok(reading.value));
    } else {
        assert_eq!(
            Reading::new(&reading.digits, reading.unit),
            Ok(reading.clone())
        );
    }
}

fn with(form: Form, bytes: &[u8]) {
    let dialect = Dialect {
        form,
        ..Dialect::default()
    };
    decoder(&dialect, bytes);
}

/// One number per line.
pub fn line(bytes: &[u8]) {
    with(Form::Line, bytes);
}

/// The same with a decimal comma.
pub fn comma(bytes: &[u8]) {
    decoder(&Dialect::line(Unit::Millimetre, ',', None), bytes);
}

/// Degrees, minutes and seconds.
pub fn dms(bytes: &[u8]) {
    with(Form::Dms, bytes);
}

/// Letters of a mode before the number.
pub fn lettered(bytes: &[u8]) {
    let letters = "APD".to_owned();
    with(Form::Lettered { letters }, bytes);
}

/// Channel and status letter.
pub fn multiplexer(bytes: &[u8]) {
    with(Form::Multiplexer { good: "A".into() }, bytes);
}

/// Channel, number and unit with separators.
pub fn delimited(bytes: &[u8]) {
    with(Form::Delimited { separator: b';' }, bytes);
}

/// Number, unit, the gauge's number, signal strength.
pub fn numbered(bytes: &[u8]) {
    with(Form::Numbered, bytes);
}

/// A letter for the axis.
pub fn axis(bytes: &[u8]) {
    with(Form::Axis, bytes);
}

/// 24 bits in each spelling.
pub fn sync_24(bytes: &[u8]) {
    for order in [BitOrder::LowByteFirst, BitOrder::Number, BitOrder::Bits] {
        with(Form::Sync24(order), bytes);
    }
}

/// Seven digits in each spelling.
pub fn bcd_7(bytes: &[u8]) {
    for order in [DigitOrder::Value, DigitOrder::AsSent, DigitOrder::Bits] {
        with(Form::Bcd7(order), bytes);
    }
}

/// Thirteen digits in each spelling.
pub fn bcd_13(bytes: &[u8]) {
    for order in [DigitOrder::Value, DigitOrder::AsSent, DigitOrder::Bits] {
        with(Form::Bcd13(order), bytes);
    }
}

/// A pattern, a line feed, and a line for it.
pub fn pattern(bytes: &[u8]) {
    let text = bytes
        .split(|&byte| byte == b'\n')
        .next()
        .unwrap_or_default();
    let line = bytes.get(text.len() + 1..).unwrap_or_default();
    if let Ok(text) = std::str::from_utf8(text)
        && let Ok(pattern) = Pattern::new(text, '.')
    {
        let dialect = Dialect {
            form: Form::Pattern {
                pattern,
                good: "A OK".to_owned(),
            },
            ..Dialect::default()
        };
        assert_eq!(dialect.decode(line), dialect.decode(line));
        if let Ok(value) = dialect.value(line) {
            sound(&value.reading());
        }
    }
}

/// A stream of bytes cut into frames: nothing is in two frames, and no frame is too long.
pub fn framer(bytes: &[u8]) {
    for terminator in [
        Terminator::CrOrLf,
        Terminator::Cr,
        Terminator::Lf,
        Terminator::CrLf,
    ] {
        let mut framer = Framer::new(terminator);
        let mut kept = 0;
        let mut rest = bytes;
        while let Some(frame) = framer.next(&mut rest) {
            kept += length(frame);
        }
        assert!(rest.is_empty());
        kept += framer.close().map_or(0, length);
        assert!(kept <= bytes.len());
    }
}

fn length(frame: intake::Frame<'_>) -> usize {
    let (intake::Frame::Whole(raw) | intake::Frame::Oversize(raw) | intake::Frame::Cut(raw)) =
        frame;
    assert!(!raw.is_empty() && raw.len() <= intake::FRAME_BYTES_MAX);
    raw.len()
}

/// What a person typed.
pub fn typed(bytes: &[u8]) {
    let gauge = GaugeId::new("keypad-1").expect("a name");
    if let Ok(text) = std::str::from_utf8(bytes) {
        for (unit, decimal) in [(None, '.'), (Some(Unit::Inch), ',')] {
            let observed = intake::typed(&gauge, text, unit, decimal);
            assert!(observed.raw.len() <= intake::FRAME_BYTES_MAX);
        }
    }
}
