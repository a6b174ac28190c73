//! What came from a gauge, as received and as understood.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::{GaugeId, Quantity, Unit};

/// A value as a gauge sent it. The digits are kept as sent: with them a value can be read again in
/// another unit without any rounding.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reading {
    /// Sign, digits and decimal point, as sent (a decimal comma is written as a point).
    pub digits: String,
    /// The unit the gauge named, or the one it is configured to speak.
    pub unit: Unit,
    /// The exact value of `digits` in `unit`.
    pub value: Quantity,
}

impl Reading {
    /// The reading of `digits` in `unit`.
    ///
    /// # Errors
    /// As [`Quantity::from_digits`].
    pub fn new(digits: &str, unit: Unit) -> Result<Self, crate::QuantityError> {
        let value = Quantity::from_digits(digits, unit, '.')?;
        Ok(Self {
            digits: digits.to_owned(),
            unit,
            value,
        })
    }

    /// The same digits in another unit; `None` where that is out of range.
    #[must_use]
    pub fn in_unit(&self, unit: Unit) -> Option<Self> {
        Self::new(&self.digits, unit).ok()
    }
}

/// Why bytes are not a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Garbled {
    /// The frame does not match the gauge's dialect from first to last byte.
    Grammar,
    /// The number is out of range or not exact.
    Range,
    /// A unit that is not known, or one of the wrong kind for the gauge.
    Unit,
    /// Longer than a frame can be.
    Oversize,
    /// The port closed before the terminator came.
    Cut,
    /// An MQTT message the broker had kept from before: never a new reading.
    Retained,
    /// A JSON payload without the expected fields.
    Json,
    /// An MQTT topic whose gauge level is not a name.
    Name,
    /// The gauge reported an error of its own.
    Device,
    /// The gauge says its battery is low.
    Battery,
    /// The gauge says it is beyond its travel, or its display cannot show the value.
    Overflow,
    /// A line of a channel that no gauge on this port has.
    Channel,
    /// The gauge was asked for a reading and gave none in time.
    NoAnswer,
}

impl Garbled {
    /// This, where it is the gauge's own complaint that a person has to see to, and no noise on the line.
    #[must_use]
    pub const fn of_the_gauge(self) -> Option<Self> {
        match self {
            Self::Device | Self::Battery | Self::Overflow | Self::NoAnswer => Some(self),
            _ => None,
        }
    }
}

impl fmt::Display for Garbled {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Grammar => "is not how this gauge writes a value",
            Self::Range => "the number is out of range or not exact",
            Self::Unit => "unknown unit, or a unit of the wrong kind",
            Self::Oversize => "longer than a frame can be",
            Self::Cut => "cut off before its end",
            Self::Retained => "an old message the broker had kept, not a new reading",
            Self::Json => "JSON without the expected fields",
            Self::Name => "the topic's gauge level is not a name",
            Self::Device => "the gauge reported an error",
            Self::Battery => "the gauge says its battery is low",
            Self::Overflow => "the gauge says it is beyond its travel",
            Self::Channel => "no gauge on this port has this channel",
            Self::NoAnswer => "the gauge was asked and gave no reading in time",
        })
    }
}

/// What the bytes mean.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Decoded {
    /// A value.
    Reading(Reading),
    /// Not a value.
    Garbled(Garbled),
    /// So many garbled frames that only the last was kept.
    Flood {
        /// Why the last is garbled.
        why: Garbled,
        /// How many they were, at least two.
        count: u64,
    },
    /// What is no new reading, though there may be a value in it.
    Suppressed(Suppressed),
}

/// Frames that are no new reading. A gauge that streams sends ten values a second: those between two
/// readings are counted, not stored each.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Suppressed {
    /// Why they are not.
    pub why: NoReading,
    /// How many they were, at least one.
    pub count: u64,
    /// The value of the last one, where it had one.
    pub last: Option<Reading>,
}

/// Why a frame that can be read is no new reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum NoReading {
    /// It came sooner after the one before than a hand can press: the button bounced.
    Bounce,
    /// The gauge streams, and its value had not come to rest in a new place.
    Unsettled,
    /// Our own request, sent back.
    Echo,
    /// Values faster than anyone can measure, on and on: the gauge streams or is broken.
    TooFast,
}

impl fmt::Display for NoReading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Bounce => "sent again too soon to be another measurement",
            Self::Unsettled => "the value had not come to rest in a new place",
            Self::Echo => "our own request, sent back",
            Self::TooFast => "values faster than anyone can measure; is it set to stream?",
        })
    }
}

/// The door the bytes came in by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Via {
    /// A serial port.
    Serial,
    /// MQTT.
    Mqtt,
    /// MQTT, marked by the broker as sent before and without an id of the bridge: perhaps a repeat.
    MqttAgain,
    /// Typed, or a keyboard wedge, over HTTP.
    Typed,
}

/// One frame from one gauge, as received and as understood.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Observation {
    /// Which gauge.
    pub gauge: GaugeId,
    /// By which door.
    pub via: Via,
    /// The bytes as received, without the terminator that framed them.
    pub raw: Vec<u8>,
    /// What they mean.
    pub decoded: Decoded,
}
