//! Lines that name a channel: one port, several gauges.
//!
//! ```text
//! multiplexer = 2 digits, status letter, number      01A+00012.34
//!               "91" and one more for an error       911
//! delimited   = channel sep number sep unit          1;+12.34;mm
//! numbered    = number unit channel strength         5.637 MM 2 7
//! axis        = letter "=" number                    X=+00.430
//! ```

use shared_types::Garbled;

use super::Heard;
use super::cursor::{Cursor, unit};
use super::value::Spoken;

/// Digits of a channel or of a signal's strength: no instrument has a thousand.
const CHANNEL_BYTES_MAX: usize = 3;

/// `letters` are the status letters of a good value; another one is a trouble of the gauge.
pub(super) fn multiplexer<'f>(frame: &'f [u8], mark: u8, letters: &str) -> Heard<'f> {
    if let [b'9', b'1', what] = frame
        && what.is_ascii_alphanumeric()
    {
        return Heard::plain(Err(Garbled::Device));
    }
    let mut at = Cursor(frame);
    let head = at
        .exactly(2, |byte| byte.is_ascii_digit())
        .and_then(|channel| Ok((channel, at.exactly(1, |b| b.is_ascii_uppercase())?)));
    let Ok((channel, status)) = head else {
        return Heard::plain(Err(Garbled::Grammar));
    };
    let value = number(at, mark);
    let good = letters.as_bytes().contains(&status[0]);
    let said = match value {
        Ok(_) if !good => Err(Garbled::Device),
        other => other,
    };
    Heard::of_channel(channel, said)
}

pub(super) fn delimited<'f>(frame: &'f [u8], mark: u8, separator: u8) -> Heard<'f> {
    let mut at = Cursor(frame);
    let channel = at.run(|byte| byte.is_ascii_alphanumeric());
    if !named(channel) || !at.eat(separator) {
        return Heard::plain(Err(Garbled::Grammar));
    }
    let said = (|| {
        let digits = at.signed(mark)?;
        at.need(separator)?;
        let unit = Some(unit(at.0)?);
        Ok(Spoken::Number { digits, unit })
    })();
    Heard::of_channel(channel, said)
}

pub(super) fn numbered(frame: &[u8], mark: u8) -> Heard<'_> {
    let mut at = Cursor::trimmed(frame);
    let parsed = (|| {
        let digits = at.signed(mark)?;
        at.need(b' ')?;
        at.spaces();
        let word = at.run(|byte| byte != b' ');
        at.need(b' ')?;
        at.spaces();
        let channel = at.digits();
        at.need(b' ')?;
        at.spaces();
        let strength = at.digits();
        at.done()?;
        if !named(channel) || !named(strength) {
            return Err(Garbled::Grammar);
        }
        Ok((channel, digits, unit(word)))
    })();
    match parsed {
        Ok((channel, digits, unit)) => {
            let said = unit.map(|unit| Spoken::Number {
                digits,
                unit: Some(unit),
            });
            Heard::of_channel(channel, said)
        }
        Err(why) => Heard::plain(Err(why)),
    }
}

pub(super) fn axis(frame: &[u8], mark: u8) -> Heard<'_> {
    let mut at = Cursor::trimmed(frame);
    match at.exactly(1, |byte| byte.is_ascii_uppercase()) {
        Ok(channel) if at.eat(b'=') => Heard::of_channel(channel, number(at, mark)),
        _ => Heard::plain(Err(Garbled::Grammar)),
    }
}

/// A number to the end of the frame, without a unit.
fn number(mut at: Cursor<'_>, mark: u8) -> Result<Spoken, Garbled> {
    let digits = at.signed(mark)?;
    at.done()?;
    Ok(Spoken::Number { digits, unit: None })
}

fn named(channel: &[u8]) -> bool {
    (1..=CHANNEL_BYTES_MAX).contains(&channel.len())
}
