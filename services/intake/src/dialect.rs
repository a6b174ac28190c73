//! What a gauge's frames mean. Pure, matched from the first byte to the last, and without memory of
//! its own until a value is kept.

mod byteset;
mod channels;
mod cursor;
mod digital;
mod dms;
mod form;
pub(crate) mod line;
mod pattern;
mod trouble;
pub(crate) mod value;

use shared_types::{Decoded, Garbled, GaugeKind, Unit};

pub use self::digital::{BitOrder, DigitOrder};
pub use self::form::Form;
pub use self::pattern::{Pattern, PatternError};
pub use self::value::Value;

use self::value::{Spoken, garbled};
use crate::FRAME_BYTES_MAX;

/// How a gauge speaks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dialect {
    /// The form of its frames.
    pub form: Form,
    /// The unit of a frame that names none.
    pub unit: Unit,
    /// The decimal mark, `.` or `,`; anything else than a comma is taken as the point.
    pub decimal: char,
    /// What the gauge measures with; `None` takes lengths and angles.
    pub kind: Option<GaugeKind>,
    /// The channel its frames name, where it shares a port or is one of several at a bridge; `None`
    /// takes them whatever they name.
    pub channel: Option<String>,
    /// Whole lines that are troubles of the gauge, beside `ERR` with a digit or without.
    pub troubles: Vec<(String, Garbled)>,
}

/// What one frame says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Heard<'f> {
    /// The channel it names.
    pub(crate) channel: Option<&'f [u8]>,
    /// The number or angle in it.
    said: Result<Spoken, Garbled>,
}

impl<'f> Heard<'f> {
    fn plain(said: Result<Spoken, Garbled>) -> Self {
        Self {
            channel: None,
            said,
        }
    }

    fn of_channel(channel: &'f [u8], said: Result<Spoken, Garbled>) -> Self {
        Self {
            channel: Some(channel),
            said,
        }
    }
}

impl Default for Dialect {
    /// Lines in millimetres with a decimal point, of any kind.
    fn default() -> Self {
        Self::line(Unit::Millimetre, '.', None)
    }
}

impl Dialect {
    /// One number per line.
    #[must_use]
    pub const fn line(unit: Unit, decimal: char, kind: Option<GaugeKind>) -> Self {
        Self {
            form: Form::Line,
            unit,
            decimal,
            kind,
            channel: None,
            troubles: Vec::new(),
        }
    }

    /// What a whole frame means.
    #[must_use]
    pub fn decode(&self, frame: &[u8]) -> Decoded {
        match self.value(frame) {
            Ok(value) => Decoded::Reading(value.reading()),
            Err(why) => Decoded::Garbled(why),
        }
    }

    /// The value a frame holds. Nothing is allocated.
    ///
    /// # Errors
    /// Why it holds none.
    pub fn value(&self, frame: &[u8]) -> Result<Value, Garbled> {
        self.understand(self.hear(frame), None)
    }

    /// The channel a frame names.
    #[must_use]
    pub fn channel<'f>(&self, frame: &'f [u8]) -> Option<&'f [u8]> {
        self.hear(frame).channel
    }

    /// The value of a frame whose envelope names the unit too.
    pub(crate) fn value_naming(&self, frame: &[u8], named: Option<Unit>) -> Result<Value, Garbled> {
        self.understand(self.hear(frame), named)
    }

    /// The value of a number with a decimal point that an envelope took out of the gauge's frame.
    pub(crate) fn value_of_number(
        &self,
        number: &[u8],
        named: Option<Unit>,
    ) -> Result<Value, Garbled> {
        self.understand(Heard::plain(line::spoken(number, b'.')), named)
    }

    /// What a frame says, before anyone asks whether the gauge may say it.
    pub(crate) fn hear<'f>(&self, frame: &'f [u8]) -> Heard<'f> {
        if frame.len() > FRAME_BYTES_MAX {
            return Heard::plain(Err(Garbled::Oversize));
        }
        let mark = if self.decimal == ',' { b',' } else { b'.' };
        let heard = self.form.hear(frame, mark);
        match heard.said {
            Err(Garbled::Grammar | Garbled::Unit) => match trouble::of(frame, &self.troubles) {
                Some(trouble) => Heard::plain(Err(trouble)),
                None => heard,
            },
            _ => heard,
        }
    }

    /// The value of what was heard, where this gauge may say it.
    pub(crate) fn understand(
        &self,
        heard: Heard<'_>,
        named: Option<Unit>,
    ) -> Result<Value, Garbled> {
        if let (Some(ours), Some(named)) = (&self.channel, heard.channel)
            && ours.as_bytes() != named
        {
            return Err(Garbled::Channel);
        }
        match heard.said? {
            Spoken::Number { digits, unit } => {
                if let (Some(spoken), Some(named)) = (unit, named)
                    && spoken != named
                {
                    return Err(Garbled::Unit);
                }
                let unit = unit.or(named).unwrap_or(self.unit);
                self.allow(unit)?;
                Value::number(digits, unit)
            }
            Spoken::Dms(digits) => {
                self.allow(Unit::Degree)?;
                if named.is_some_and(|unit| unit != Unit::Degree) {
                    return Err(Garbled::Unit);
                }
                Value::dms(digits.as_str()).map_err(garbled)
            }
        }
    }

    /// A caliper that sends degrees is set wrong or is not the gauge we think it is.
    fn allow(&self, unit: Unit) -> Result<(), Garbled> {
        match (self.kind, unit == Unit::Degree) {
            (Some(GaugeKind::Caliper), true) | (Some(GaugeKind::AngleGauge), false) => {
                Err(Garbled::Unit)
            }
            _ => Ok(()),
        }
    }
}

#[cfg(test)]
#[path = "dialect/form_tests.rs"]
mod form_tests;
#[cfg(test)]
#[path = "dialect/line_tests.rs"]
mod line_tests;
