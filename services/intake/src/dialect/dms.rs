//! Degrees, minutes and perhaps seconds: `43°10'`, `43°10'00"`, `43 10 00`, `43:10:00`. The sign
//! belongs to the whole angle; minutes and seconds are below 60 (asked where the value is made).

use shared_types::Garbled;

use super::cursor::Cursor;
use super::line;
use super::value::{Digits, Spoken};

pub(super) fn spoken(frame: &[u8], mark: u8) -> Result<Spoken, Garbled> {
    let mut at = Cursor::trimmed(frame);
    let mut digits = Digits::new();
    if at.sign() {
        digits.push(b"-")?;
    }
    let degrees = at.digits();
    if degrees.is_empty() {
        return Err(Garbled::Grammar);
    }
    match at.next() {
        Some(between @ (b':' | b' ')) => {
            digits.push(degrees)?;
            digits.push("°".as_bytes())?;
            parts(at, between, mark, digits)
        }
        _ => match line::spoken(frame, mark)? {
            spoken @ Spoken::Dms(_) => Ok(spoken),
            // Decimal degrees are another mode of the gauge than the one it is set up for.
            Spoken::Number { .. } => Err(Garbled::Grammar),
        },
    }
}

/// Minutes and seconds with one mark between all parts.
fn parts(mut at: Cursor<'_>, between: u8, mark: u8, mut digits: Digits) -> Result<Spoken, Garbled> {
    at.need(between)?;
    line::part(at.digits(), &mut digits)?;
    digits.push(b"'")?;
    if !at.is_done() {
        at.need(between)?;
        line::seconds(&mut at, mark, &mut digits)?;
        digits.push(b"\"")?;
    }
    at.done()?;
    Ok(Spoken::Dms(digits))
}
