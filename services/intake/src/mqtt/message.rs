//! What a message from a gauge's bridge means. Pure.

use std::borrow::Cow;

use serde::Deserialize;
use serde_json::value::RawValue;
use shared_types::{
    Decoded, Garbled, GaugeId, GaugeState, Observation, SensorId, Temperature, Unit, Via,
};

use super::Topics;
use super::rfc3339;
use super::sensor;
use crate::{Dialect, FRAME_BYTES_MAX};

/// A message as it came.
pub(crate) struct Message<'a> {
    pub(crate) topic: &'a str,
    pub(crate) payload: &'a [u8],
    /// The broker had kept it from before we subscribed.
    pub(crate) kept: bool,
    /// The broker marks it as delivered before, perhaps.
    pub(crate) again: bool,
}

/// What it means.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Meaning {
    /// A gauge's bridge says how the gauge is.
    State { gauge: GaugeId, state: GaugeState },
    /// A thermometer says how warm it is.
    Temperature {
        sensor: SensorId,
        value: Temperature,
    },
    /// An old temperature, which says nothing of now.
    OldTemperature,
    /// A gauge sent something; with the idempotency key where the bridge gave it an id.
    Observed {
        observation: Observation,
        key: Option<String>,
    },
}

/// The meaning of a message.
pub(super) fn meaning(topics: &Topics, message: &Message<'_>) -> Meaning {
    if let Some(name) = sensor::address(&topics.root, message.topic)
        && let Some(sensor) = topics.sensors.get(&name)
    {
        if message.kept {
            return Meaning::OldTemperature;
        }
        return match sensor::temperature(sensor, message.payload) {
            Ok(value) => Meaning::Temperature {
                sensor: name,
                value,
            },
            // Told under the sensor's name: no gauge has it.
            Err(why) => {
                let gauge = GaugeId::new(name.as_str()).expect("both are names alike");
                observed(
                    gauge,
                    message,
                    start(message.payload).to_vec(),
                    why.into(),
                    None,
                )
            }
        };
    }
    let Some((gauge, level)) = address(&topics.root, message.topic) else {
        let unnamed = GaugeId::new("unnamed").expect("the word is a name");
        let topic = &message.topic.as_bytes()[..message.topic.len().min(FRAME_BYTES_MAX)];
        let raw = [topic, b" ", start(message.payload)].concat();
        return observed(unnamed, message, raw, Garbled::Name.into(), None);
    };
    match (level, message.payload) {
        // A kept state is still the gauge's state: that is what it is kept for.
        (Level::State, b"online") => Meaning::State {
            gauge,
            state: GaugeState::Connected,
        },
        (Level::State, b"offline") => Meaning::State {
            gauge,
            state: GaugeState::Offline,
        },
        (Level::State, payload) => {
            let why = if payload.len() > FRAME_BYTES_MAX {
                Garbled::Oversize
            } else {
                Garbled::Grammar
            };
            observed(gauge, message, start(payload).to_vec(), why.into(), None)
        }
        (Level::Reading, payload) => {
            let raw = start(payload).to_vec();
            // An old message is never a new reading, whatever else it is.
            if message.kept {
                return observed(gauge, message, raw, Garbled::Retained.into(), None);
            }
            if payload.len() > FRAME_BYTES_MAX {
                return observed(gauge, message, raw, Garbled::Oversize.into(), None);
            }
            let dialect = topics.dialects.get(&gauge).cloned().unwrap_or_default();
            let (decoded, id) = reading(&dialect, payload);
            let key = id.map(|id| format!("mqtt:{gauge}:{id}"));
            observed(gauge, message, raw, Said(decoded), key)
        }
    }
}

/// What a gauge's topic is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Level {
    Reading,
    State,
}

/// A decoded value on its way into an observation.
struct Said(Decoded);

impl From<Garbled> for Said {
    fn from(why: Garbled) -> Self {
        Self(Decoded::Garbled(why))
    }
}

fn observed(
    gauge: GaugeId,
    message: &Message<'_>,
    raw: Vec<u8>,
    Said(decoded): Said,
    key: Option<String>,
) -> Meaning {
    // With an id a repeat is recognised by its key; without one a person has to say.
    let via = if message.again && key.is_none() {
        Via::MqttAgain
    } else {
        Via::Mqtt
    };
    Meaning::Observed {
        observation: Observation {
            gauge,
            via,
            raw,
            decoded,
        },
        key,
    }
}

/// Which gauge a topic belongs to; `None` where it is no gauge's.
pub(crate) fn address(root: &str, topic: &str) -> Option<(GaugeId, Level)> {
    let rest = topic.strip_prefix(root)?.strip_prefix("/gauges/")?;
    let (gauge, level) = rest.split_once('/')?;
    let level = match level {
        "reading" => Level::Reading,
        "state" => Level::State,
        _ => return None,
    };
    Some((GaugeId::new(gauge).ok()?, level))
}

fn start(payload: &[u8]) -> &[u8] {
    &payload[..payload.len().min(FRAME_BYTES_MAX)]
}

fn reading(dialect: &Dialect, payload: &[u8]) -> (Decoded, Option<String>) {
    if payload.trim_ascii_start().starts_with(b"{") {
        return match serde_json::from_slice::<Envelope<'_>>(payload) {
            Ok(envelope) => envelope.open(dialect),
            Err(_) => (Decoded::Garbled(Garbled::Json), None),
        };
    }
    // A bridge that passes the gauge's line on may pass its terminator too.
    let line = payload
        .strip_suffix(b"\r\n")
        .or_else(|| payload.strip_suffix(b"\n"))
        .or_else(|| payload.strip_suffix(b"\r"))
        .unwrap_or(payload);
    (dialect.decode(line), None)
}

/// The JSON a bridge may send. A field we do not know may change what the others mean: refused, as
/// is one written twice.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Envelope<'a> {
    /// Text or a number, taken digit for digit.
    #[serde(borrow)]
    value: &'a RawValue,
    unit: Option<String>,
    id: Option<String>,
    at: Option<String>,
}

impl Envelope<'_> {
    fn open(self, dialect: &Dialect) -> (Decoded, Option<String>) {
        let garbled = |why| Decoded::Garbled(why);
        // `at` is the bridge's clock: it stays in the raw bytes, our own clock dates the entry.
        if self.at.is_some_and(|at| !rfc3339::is_timestamp(&at))
            || self.id.as_ref().is_some_and(String::is_empty)
        {
            return (garbled(Garbled::Json), None);
        }
        let decoded = match (number(self.value), self.unit.as_deref().map(unit)) {
            (None, _) => garbled(Garbled::Json),
            (Some(_), Some(None)) => garbled(Garbled::Unit),
            (Some(number), unit) => number.decode(dialect, unit.flatten()),
        };
        (decoded, self.id)
    }
}

enum Number<'a> {
    /// JSON's own spelling: always with a decimal point.
    Json(&'a str),
    /// The gauge's spelling.
    Text(Cow<'a, str>),
}

impl Number<'_> {
    fn decode(&self, dialect: &Dialect, unit: Option<Unit>) -> Decoded {
        match self {
            Self::Text(text) => dialect.decode_naming(text.as_bytes(), unit),
            Self::Json(digits) => dialect.decode_number(digits.as_bytes(), unit),
        }
    }
}

fn number(value: &RawValue) -> Option<Number<'_>> {
    let json = value.get();
    match json.as_bytes().first()? {
        b'"' => serde_json::from_str(json).ok().map(Number::Text),
        b'-' | b'0'..=b'9' => Some(Number::Json(json)),
        _ => None,
    }
}

fn unit(name: &str) -> Option<Unit> {
    Unit::from_name(name).or_else(|| Unit::from_name(&name.to_ascii_lowercase()))
}

#[cfg(test)]
#[path = "message_tests.rs"]
mod tests;
