//! Text a person typed, or a keyboard wedge typed for them.

use shared_types::{
    Decoded, Garbled, GaugeId, Observation, Quantity, QuantityError, Reading, Unit, Via,
};

use crate::FRAME_BYTES_MAX;
use crate::dialect::line::spoken;
use crate::dialect::value::{Spoken, Value, garbled};

/// What `text` means as a reading of `gauge`. Takes every line a gauge may send, and what people
/// write besides: inch fractions (`11 1/4 in`), further units, primes. `unit_default` is the unit
/// of a bare number; without one a bare number is garbled. A decimal point is always understood,
/// a comma where `decimal` says so.
#[must_use]
pub fn typed(
    gauge: &GaugeId,
    text: &str,
    unit_default: Option<Unit>,
    decimal: char,
) -> Observation {
    let mut raw = text.as_bytes().to_vec();
    let decoded = if raw.len() > FRAME_BYTES_MAX {
        raw.truncate(FRAME_BYTES_MAX);
        Decoded::Garbled(Garbled::Oversize)
    } else {
        match reading(text.trim(), unit_default, decimal) {
            Ok(reading) => Decoded::Reading(reading),
            Err(why) => Decoded::Garbled(why),
        }
    };
    Observation {
        gauge: gauge.clone(),
        via: Via::Typed,
        raw,
        decoded,
    }
}

fn reading(text: &str, unit_default: Option<Unit>, decimal: char) -> Result<Reading, Garbled> {
    let marks: &[u8] = if decimal == ',' { b",." } else { b"." };
    for &mark in marks {
        match spoken(text.as_bytes(), mark) {
            Ok(Spoken::Number { digits, unit }) => {
                let unit = unit.or(unit_default).ok_or(Garbled::Unit)?;
                return Reading::new(digits.as_str(), unit).map_err(garbled);
            }
            Ok(Spoken::Dms(text)) => return dms(text.as_str()).map_err(garbled),
            Err(_) => {}
        }
    }
    written(text, unit_default, decimal).map_err(garbled)
}

/// As in a part file: `11 1/4 in`, `12.7mm`, `1°30′`.
fn written(
    text: &str,
    unit_default: Option<Unit>,
    decimal: char,
) -> Result<Reading, QuantityError> {
    let text = text.replace('\u{2212}', "-");
    let text = if decimal == ',' {
        text.replace(',', ".")
    } else {
        text
    };
    let text = match text.strip_prefix('+') {
        // One sign only: "+-5" must not become -5.
        Some(rest) if rest.trim_start().starts_with(['+', '-']) => {
            return Err(QuantityError::NotANumber);
        }
        Some(rest) => rest.trim_start(),
        None => &text,
    };
    if let Some((_, after)) = text.split_once('°')
        && !after.trim().is_empty()
    {
        return dms(text);
    }
    let end = text
        .rfind(|c: char| c.is_ascii_digit() || c == '.')
        .map_or(0, |last| last + 1);
    let (number, unit) = text.split_at(end);
    let number = number.trim_end();
    if number.is_empty() {
        return Err(QuantityError::NotANumber);
    }
    let unit = match Quantity::parse(text) {
        Ok(_) => Unit::from_name(unit.trim()).ok_or(QuantityError::UnknownUnit)?,
        Err(QuantityError::NoUnit) => unit_default.ok_or(QuantityError::NoUnit)?,
        Err(error) => return Err(error),
    };
    Reading::new(number, unit)
}

fn dms(text: &str) -> Result<Reading, QuantityError> {
    Value::dms(text).map(|value| value.reading())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str, unit: Option<Unit>, decimal: char) -> String {
        let gauge = GaugeId::new("bench-keyboard").unwrap();
        match typed(&gauge, text, unit, decimal).decoded {
            Decoded::Reading(r) => format!("{} {} = {}", r.digits, r.unit.sign(), r.value),
            Decoded::Garbled(why) => format!("{why:?}"),
            other => panic!("{other:?} is not told of typed text"),
        }
    }

    /// Values worked out by hand from 1 in = 25.4 mm and 1° = 60′.
    #[test]
    fn a_person_may_write_fractions_and_every_spelling_of_a_part_file() {
        let mm = Some(Unit::Millimetre);
        let cases = [
            ("11 1/4 in", None, '.', "11 1/4 in = 285.75 mm"),
            ("3/8\"", None, '.', "3/8 in = 9.525 mm"),
            ("-1-1/2 in", None, '.', "-1-1/2 in = -38.1 mm"),
            ("12.7", mm, '.', "12.7 mm = 12.7 mm"),
            ("12.7", None, '.', "Unit"),
            ("12,7", mm, ',', "12.7 mm = 12.7 mm"),
            ("12.7", mm, ',', "12.7 mm = 12.7 mm"),
            ("12,7", mm, '.', "Grammar"),
            ("1,234,5", mm, ',', "Grammar"),
            ("+  12.340, MM\r\n", None, '.', "12.340 mm = 12.34 mm"),
            ("1.27 cm", None, '.', "1.27 cm = 12.7 mm"),
            ("12.", mm, '.', "12. mm = 12 mm"),
            ("1/4", Some(Unit::Inch), '.', "1/4 in = 6.35 mm"),
            ("\u{2212}0.05", mm, '.', "-0.05 mm = -0.05 mm"),
            ("1°30′", None, '.', "1.5 ° = 1°30'00\""),
            ("-0°15'00\"", None, '.', "-0.25 ° = -0°15'00\""),
            ("1/3 in", None, '.', "Range"),
            ("12 kg", None, '.', "Unit"),
            ("twelve", mm, '.', "Grammar"),
            ("+-5", mm, '.', "Grammar"),
            ("--5 mm", mm, '.', "Grammar"),
            ("", mm, '.', "Grammar"),
        ];
        for (text, unit, decimal, expected) in cases {
            assert_eq!(said(text, unit, decimal), expected, "{text:?}");
        }
    }

    #[test]
    fn an_endless_text_is_kept_short_and_is_no_reading() {
        let gauge = GaugeId::new("bench-keyboard").unwrap();
        let seen = typed(&gauge, &"1".repeat(5000), Some(Unit::Millimetre), '.');
        assert_eq!(seen.raw.len(), FRAME_BYTES_MAX);
        assert_eq!(seen.decoded, Decoded::Garbled(Garbled::Oversize));
    }
}
