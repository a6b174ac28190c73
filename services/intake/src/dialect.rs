//! What a gauge's frames mean.

use shared_types::{Decoded, Garbled, GaugeKind, Reading, Unit};

use crate::FRAME_BYTES_MAX;
use crate::frame::Frame;
use crate::grammar::{Spoken, dms_reading, garbled, spoken};

/// How a gauge speaks. Closed: a further dialect is a further variant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dialect {
    /// One number per line, perhaps with its unit.
    Line(Line),
}

/// Settings of the line dialect.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Line {
    /// The unit of a line that names none.
    pub unit: Unit,
    /// The decimal mark, `.` or `,`; anything else than a comma is taken as the point.
    pub decimal: char,
    /// What the gauge measures with; `None` takes lengths and angles.
    pub kind: Option<GaugeKind>,
}

impl Default for Dialect {
    /// Millimetres with a decimal point, of any kind.
    fn default() -> Self {
        Self::Line(Line {
            unit: Unit::Millimetre,
            decimal: '.',
            kind: None,
        })
    }
}

impl Dialect {
    /// What a whole frame means.
    #[must_use]
    pub fn decode(&self, frame: &[u8]) -> Decoded {
        self.decode_naming(frame, None)
    }

    /// What a frame means where its envelope names the unit too.
    pub(crate) fn decode_naming(&self, frame: &[u8], named: Option<Unit>) -> Decoded {
        if frame.len() > FRAME_BYTES_MAX {
            return Decoded::Garbled(Garbled::Oversize);
        }
        let Self::Line(line) = self;
        match line.reading(frame, named) {
            Ok(reading) => Decoded::Reading(reading),
            Err(why) => Decoded::Garbled(why),
        }
    }

    /// What a frame off a stream means; one that is not whole is never a reading.
    pub(crate) fn decode_frame(&self, frame: Frame) -> (Vec<u8>, Decoded) {
        match frame {
            Frame::Whole(raw) => {
                let decoded = self.decode(&raw);
                (raw, decoded)
            }
            Frame::Oversize(raw) => (raw, Decoded::Garbled(Garbled::Oversize)),
            Frame::Cut(raw) => (raw, Decoded::Garbled(Garbled::Cut)),
        }
    }
}

impl Line {
    fn reading(self, frame: &[u8], named: Option<Unit>) -> Result<Reading, Garbled> {
        let mark = if self.decimal == ',' { ',' } else { '.' };
        let reading = match spoken(frame, mark)? {
            Spoken::Number { digits, unit } => {
                if let (Some(spoken), Some(named)) = (unit, named)
                    && spoken != named
                {
                    return Err(Garbled::Unit);
                }
                let unit = unit.or(named).unwrap_or(self.unit);
                self.allow(unit)?;
                Reading::new(&digits, unit)
            }
            Spoken::Dms(text) => {
                self.allow(Unit::Degree)?;
                if named.is_some_and(|unit| unit != Unit::Degree) {
                    return Err(Garbled::Unit);
                }
                dms_reading(&text)
            }
        };
        reading.map_err(garbled)
    }

    /// A caliper that sends degrees is set wrong or is not the gauge we think it is.
    fn allow(self, unit: Unit) -> Result<(), Garbled> {
        match (self.kind, unit == Unit::Degree) {
            (Some(GaugeKind::Caliper), true) | (Some(GaugeKind::AngleGauge), false) => {
                Err(Garbled::Unit)
            }
            _ => Ok(()),
        }
    }
}

#[cfg(test)]
#[path = "dialect/line_tests.rs"]
mod tests;
