//! The grammar of one ASCII line, matched from the first byte to the last. Nothing is searched
//! for: a lenient reader finds numbers in noise, a full match does not.
//!
//! ```text
//! line   = spaces [sign] spaces ( number [separator unit] | dms ) spaces
//! number = digits [mark digits] | mark digits
//! dms    = digits ° digits ' [ digits [mark digits] " ]
//! separator = spaces | spaces "," spaces        unit = mm | in | inch | deg | °
//! ```

use shared_types::{Garbled, Quantity, QuantityError, Reading, Unit};

/// What a line says, before anyone asks whether the gauge may say it.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Spoken {
    /// Sign and digits with a decimal point, and the unit where the line names one.
    Number { digits: String, unit: Option<Unit> },
    /// Degrees, minutes and perhaps seconds in their usual spelling.
    Dms(String),
}

/// Matches a whole line; `mark` is the decimal mark.
pub(crate) fn spoken(frame: &[u8], mark: char) -> Result<Spoken, Garbled> {
    let text = printable(frame).ok_or(Garbled::Grammar)?;
    let mut rest = text.trim_matches(' ');
    let mut negative = false;
    if let Some(after) = rest.strip_prefix(['+', '-']) {
        negative = rest.starts_with('-');
        rest = after.trim_start_matches(' ');
    }
    let sign = if negative { "-" } else { "" };
    let (whole, after) = digits(rest);
    if let Some(minutes) = after.strip_prefix('°')
        && !whole.is_empty()
        && !minutes.trim_matches(' ').is_empty()
    {
        return dms(minutes, mark).map(|tail| Spoken::Dms(format!("{sign}{whole}°{tail}")));
    }
    let (places, after) = places(after, mark)?;
    if whole.is_empty() && places.is_none() {
        return Err(Garbled::Grammar);
    }
    let digits = match places {
        Some(places) => format!("{sign}{whole}.{places}"),
        None => format!("{sign}{whole}"),
    };
    Ok(Spoken::Number {
        digits,
        unit: unit(after)?,
    })
}

/// The reading of degrees, minutes and seconds. Its digits are decimal degrees where those have an
/// end, so that the same digits can be read again; otherwise they stay as written.
pub(crate) fn dms_reading(text: &str) -> Result<Reading, QuantityError> {
    let value = Quantity::parse(text)?;
    let Quantity::Angle(angle) = value else {
        return Err(QuantityError::WrongKind);
    };
    // 1° = 3 600 000 mas = 9 × 400 000: decimal degrees have an end exactly where 9 divides the
    // milliarcseconds, and then at most seven places: mas / 3.6e6 = (mas / 9) × 25 / 1e7.
    let digits = if angle.mas() % 9 == 0 {
        let scaled = (angle.mas() / 9 * 25).unsigned_abs();
        let sign = if text.starts_with('-') { "-" } else { "" };
        let places = format!("{:07}", scaled % 10_000_000);
        let places = places.trim_end_matches('0');
        let point = if places.is_empty() { "" } else { "." };
        format!("{sign}{}{point}{places}", scaled / 10_000_000)
    } else {
        text.to_owned()
    };
    Ok(Reading {
        digits,
        unit: Unit::Degree,
        value,
    })
}

/// Why a number that is spelled right is still no value.
pub(crate) fn garbled(error: QuantityError) -> Garbled {
    match error {
        QuantityError::Empty | QuantityError::NotANumber => Garbled::Grammar,
        QuantityError::NoUnit | QuantityError::UnknownUnit | QuantityError::WrongKind => {
            Garbled::Unit
        }
        QuantityError::TooLong
        | QuantityError::TooManyDigits
        | QuantityError::NotExact
        | QuantityError::OutOfRange => Garbled::Range,
    }
}

/// Printable ASCII and the degree sign, which gauges send in UTF-8 or as the one byte of Latin-1.
fn printable(frame: &[u8]) -> Option<String> {
    let mut text = String::with_capacity(frame.len());
    let mut bytes = frame.iter().copied().peekable();
    while let Some(byte) = bytes.next() {
        match byte {
            0x20..=0x7e => text.push(char::from(byte)),
            0xb0 => text.push('°'),
            0xc2 if bytes.next_if_eq(&0xb0).is_some() => text.push('°'),
            _ => return None,
        }
    }
    Some(text)
}

fn digits(text: &str) -> (&str, &str) {
    let end = text
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(text.len());
    text.split_at(end)
}

/// The decimal mark and its digits. A mark without digits is no number of a gauge: it is how a
/// cut-off line ends. A comma that is not the mark separates the unit.
fn places(text: &str, mark: char) -> Result<(Option<&str>, &str), Garbled> {
    let Some(after) = text.strip_prefix(mark) else {
        return Ok((None, text));
    };
    match digits(after) {
        ("", _) => Err(Garbled::Grammar),
        (places, rest) => Ok((Some(places), rest)),
    }
}

fn unit(text: &str) -> Result<Option<Unit>, Garbled> {
    if text.is_empty() {
        return Ok(None);
    }
    let text = text.trim_start_matches(' ');
    let word = text.strip_prefix(',').unwrap_or(text).trim_matches(' ');
    match word.to_ascii_lowercase().as_str() {
        "mm" => Ok(Some(Unit::Millimetre)),
        "in" | "inch" => Ok(Some(Unit::Inch)),
        "deg" | "°" => Ok(Some(Unit::Degree)),
        "" => Err(Garbled::Grammar),
        // A word where the unit stands is a unit we do not know; anything else is no unit at all.
        other if other.len() <= 8 && other.bytes().all(|b| b.is_ascii_alphabetic()) => {
            Err(Garbled::Unit)
        }
        _ => Err(Garbled::Grammar),
    }
}

/// Minutes and perhaps seconds, respelled without spaces.
fn dms(text: &str, mark: char) -> Result<String, Garbled> {
    let (minutes, after) = digits(text.trim_matches(' '));
    let after = after.strip_prefix('\'').ok_or(Garbled::Grammar)?;
    let rest = after.trim_start_matches(' ');
    if !(1..=2).contains(&minutes.len()) {
        return Err(Garbled::Grammar);
    }
    if rest.is_empty() {
        return Ok(format!("{minutes}'"));
    }
    let (seconds, after) = digits(rest);
    let (places, after) = places(after, mark)?;
    if after != "\"" || !(1..=2).contains(&seconds.len()) {
        return Err(Garbled::Grammar);
    }
    Ok(match places {
        Some(places) => format!("{minutes}'{seconds}.{places}\""),
        None => format!("{minutes}'{seconds}\""),
    })
}
