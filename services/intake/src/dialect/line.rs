//! One number per line, perhaps with its unit, matched from the first byte to the last. Nothing is
//! searched for: a lenient reader finds numbers in noise, a full match does not.
//!
//! ```text
//! line   = spaces [sign] spaces ( number [separator unit] | dms ) spaces
//! number = digits [mark digits] | mark digits
//! dms    = digits ° digits ' [ digits [mark digits] " ]
//! separator = spaces | spaces "," spaces        unit = mm | in | inch | deg | °
//! ```

use shared_types::{Garbled, Unit};

use super::cursor::{Cursor, unit};
use super::value::{Digits, Spoken};

/// Matches a whole line; `mark` is the decimal mark.
pub(crate) fn spoken(frame: &[u8], mark: u8) -> Result<Spoken, Garbled> {
    let mut at = Cursor::trimmed(frame);
    let mut digits = Digits::new();
    if at.sign() {
        digits.push(b"-")?;
    }
    let mut angle = at;
    let whole = angle.digits();
    if !whole.is_empty() && angle.degree() && !angle.is_done() {
        digits.push(whole)?;
        digits.push("°".as_bytes())?;
        return dms(angle, mark, digits);
    }
    at.number(mark, &mut digits)?;
    let unit = unit_after(at)?;
    Ok(Spoken::Number { digits, unit })
}

fn unit_after(mut at: Cursor<'_>) -> Result<Option<Unit>, Garbled> {
    if at.is_done() {
        return Ok(None);
    }
    at.spaces();
    at.eat(b',');
    at.spaces();
    unit(at.0).map(Some)
}

/// Minutes and perhaps seconds, respelled without spaces.
fn dms(mut at: Cursor<'_>, mark: u8, mut digits: Digits) -> Result<Spoken, Garbled> {
    at.spaces();
    part(at.digits(), &mut digits)?;
    at.need(b'\'')?;
    digits.push(b"'")?;
    at.spaces();
    if !at.is_done() {
        seconds(&mut at, mark, &mut digits)?;
        at.need(b'"')?;
        digits.push(b"\"")?;
        at.done()?;
    }
    Ok(Spoken::Dms(digits))
}

/// Minutes are one or two digits.
pub(super) fn part(written: &[u8], digits: &mut Digits) -> Result<(), Garbled> {
    if (1..=2).contains(&written.len()) {
        digits.push(written)
    } else {
        Err(Garbled::Grammar)
    }
}

/// Seconds are one or two digits, perhaps with places.
pub(super) fn seconds(at: &mut Cursor<'_>, mark: u8, digits: &mut Digits) -> Result<(), Garbled> {
    let before = *at;
    part(at.digits(), digits)?;
    if at.next() == Some(mark) {
        *at = before;
        // The whole seconds stand already; the number brings only its places.
        let mut all = Digits::new();
        at.number(mark, &mut all)?;
        let places = all
            .as_str()
            .split_once('.')
            .map_or("", |(_, places)| places);
        digits.push(b".")?;
        digits.push(places.as_bytes())?;
    }
    Ok(())
}
