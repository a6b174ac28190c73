//! A dialect described in the configuration: text with named fields, as `{channel:2}A{value} {unit}`.
//!
//! What stands outside of braces must stand in the line exactly so. A field with a width takes
//! exactly so many bytes; one without takes as far as its kind of bytes goes. A pattern in which what
//! follows a field could also belong to it is refused: so each line can be split in one way at most,
//! and each byte is looked at a fixed number of times, whatever the line.

mod compile;
mod refused;
#[cfg(test)]
mod tests;

use shared_types::Garbled;

pub use self::refused::PatternError;
use super::Heard;
use super::byteset::ByteSet;
use super::cursor::{Cursor, unit};
use super::line;
use super::value::{Digits, Spoken};

/// A compiled pattern.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pattern {
    text: String,
    elements: Vec<Element>,
    /// The decimal mark it was checked with.
    mark: u8,
}

/// One piece of a pattern.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Element {
    /// This byte.
    Exactly(u8),
    /// The degree sign, in either encoding.
    Degree,
    /// A named field.
    Field(Field, Option<usize>),
}

/// What stands in a field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Field {
    /// Sign, digits and decimal mark; with a width also spaces around and after the sign.
    Value,
    /// The unit's word.
    Unit,
    /// The gauge's channel: letters and digits.
    Channel,
    /// Status letters: those of a good value are told beside the pattern.
    Status,
    /// Sign and whole degrees.
    Degrees,
    /// Minutes of an angle.
    Minutes,
    /// Seconds of an angle, perhaps with places.
    Seconds,
    /// Anything printable but a space: counters, signal strength, battery.
    Skip,
    /// Spaces, perhaps none.
    Spaces,
}

impl Pattern {
    /// The pattern as written.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Matches a whole line. `good` are the status letters of a good value.
    pub(super) fn hear<'f>(&self, frame: &'f [u8], good: &str) -> Heard<'f> {
        let mut found = Found::default();
        let mut at = Cursor(frame);
        let matched = (|| {
            for element in &self.elements {
                self.take(element, &mut at, &mut found)?;
            }
            at.done()
        })();
        if let Err(why) = matched {
            return Heard::plain(Err(why));
        }
        let said = found.said(good);
        match found.channel {
            Some(channel) => Heard::of_channel(channel, said),
            None => Heard::plain(said),
        }
    }

    fn take<'f>(
        &self,
        element: &Element,
        at: &mut Cursor<'f>,
        found: &mut Found<'f>,
    ) -> Result<(), Garbled> {
        match element {
            Element::Exactly(byte) => at.need(*byte),
            Element::Degree if at.degree() => Ok(()),
            Element::Degree => Err(Garbled::Grammar),
            Element::Field(field, width) => {
                let text = match width {
                    Some(width) => at.exactly(*width, |byte| field.wide().has(byte))?,
                    None => field.run(at, self.mark),
                };
                found.keep(*field, text, width.is_some(), self.mark)
            }
        }
    }
}

impl Field {
    const ALL: [(&'static str, Self); 9] = [
        ("value", Self::Value),
        ("unit", Self::Unit),
        ("channel", Self::Channel),
        ("status", Self::Status),
        ("degrees", Self::Degrees),
        ("minutes", Self::Minutes),
        ("seconds", Self::Seconds),
        ("skip", Self::Skip),
        ("spaces", Self::Spaces),
    ];

    /// Takes a field without a width.
    fn run<'f>(self, at: &mut Cursor<'f>, mark: u8) -> &'f [u8] {
        let before = *at;
        if self.is_signed() && !at.eat(b'-') {
            at.eat(b'+');
        }
        let inner = self.inner(mark);
        let run = at.run(|byte| inner.has(byte));
        let sign = before.0.len() - at.0.len() - run.len();
        &before.0[..sign + run.len()]
    }

    const fn is_signed(self) -> bool {
        matches!(self, Self::Value | Self::Degrees)
    }

    /// Bytes that carry a field on once it has begun.
    fn inner(self, mark: u8) -> ByteSet {
        ByteSet::of(|byte| match self {
            Self::Value | Self::Seconds => byte.is_ascii_digit() || byte == mark,
            Self::Degrees | Self::Minutes => byte.is_ascii_digit(),
            Self::Unit => byte.is_ascii_alphabetic() || matches!(byte, 0xb0 | 0xc2),
            Self::Channel => byte.is_ascii_alphanumeric(),
            Self::Status => byte.is_ascii_alphabetic(),
            Self::Skip => byte.is_ascii_graphic(),
            Self::Spaces => byte == b' ',
        })
    }

    /// Bytes a field may begin with.
    fn first(self, mark: u8) -> ByteSet {
        if self.is_signed() {
            self.inner(mark)
                .and(&ByteSet::of(|byte| matches!(byte, b'+' | b'-')))
        } else {
            self.inner(mark)
        }
    }

    /// Bytes of a field with a width.
    fn wide(self) -> ByteSet {
        match self {
            // Checked closely when the number is read.
            Self::Value | Self::Degrees | Self::Seconds | Self::Minutes => {
                ByteSet::of(|byte| byte.is_ascii_digit() || b"+-., ".contains(&byte))
            }
            Self::Skip => ByteSet::of(|byte| matches!(byte, 0x20..=0x7e)),
            other => other.inner(b'.'),
        }
    }
}

/// What the fields of one line hold.
#[derive(Default)]
struct Found<'f> {
    number: Option<Digits>,
    unit: Option<&'f [u8]>,
    channel: Option<&'f [u8]>,
    status: Option<&'f [u8]>,
    angle: Option<Digits>,
}

impl<'f> Found<'f> {
    fn keep(
        &mut self,
        field: Field,
        text: &'f [u8],
        padded: bool,
        mark: u8,
    ) -> Result<(), Garbled> {
        if text.is_empty() && field != Field::Spaces {
            return Err(Garbled::Grammar);
        }
        let mut at = if padded {
            Cursor::trimmed(text)
        } else {
            Cursor(text)
        };
        match field {
            Field::Value => {
                self.number = Some(at.signed(mark)?);
                at.done()?;
            }
            Field::Unit => self.unit = Some(text),
            Field::Channel => self.channel = Some(text),
            Field::Status => self.status = Some(text),
            Field::Degrees => {
                let mut digits = Digits::new();
                if at.sign() {
                    digits.push(b"-")?;
                }
                let whole = at.digits();
                if whole.is_empty() {
                    return Err(Garbled::Grammar);
                }
                digits.push(whole)?;
                digits.push("°".as_bytes())?;
                at.done()?;
                self.angle = Some(digits);
            }
            Field::Minutes | Field::Seconds => {
                let digits = self.angle.as_mut().ok_or(Garbled::Grammar)?;
                if field == Field::Minutes {
                    line::part(at.digits(), digits)?;
                    digits.push(b"'")?;
                } else {
                    line::seconds(&mut at, mark, digits)?;
                    digits.push(b"\"")?;
                }
                at.done()?;
            }
            Field::Skip | Field::Spaces => {}
        }
        Ok(())
    }

    fn said(&self, good: &str) -> Result<Spoken, Garbled> {
        if let Some(status) = self.status
            && !good.split(' ').any(|letters| letters.as_bytes() == status)
        {
            return Err(Garbled::Device);
        }
        let unit = self.unit.map(unit).transpose()?;
        match (self.number, self.angle) {
            (Some(digits), _) => Ok(Spoken::Number { digits, unit }),
            (None, Some(digits)) => Ok(Spoken::Dms(digits)),
            (None, None) => Err(Garbled::Grammar),
        }
    }
}
