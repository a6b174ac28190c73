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
use crate::dialect::Value;
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
pub(super) enum Meaning<'m> {
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
    Observed { said: Said<'m>, key: Option<String> },
}

/// What a gauge sent, before anyone asks whether it is a new reading.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Said<'m> {
    pub(super) gauge: GaugeId,
    pub(super) via: Via,
    pub(super) raw: Cow<'m, [u8]>,
    pub(super) value: Result<Value, Garbled>,
}

impl Said<'_> {
    /// As it is stored by itself.
    pub(super) fn observation(self) -> Observation {
        Observation {
            gauge: self.gauge,
            via: self.via,
            raw: self.raw.into_owned(),
            decoded: match self.value {
                Ok(value) => Decoded::Reading(value.reading()),
                Err(why) => Decoded::Garbled(why),
            },
        }
    }
}

/// The meaning of a message.
pub(super) fn meaning<'m>(topics: &Topics, message: &Message<'m>) -> Meaning<'m> {
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
                    start(message.payload).into(),
                    Err(why),
                    None,
                )
            }
        };
    }
    let Some((gauge, level)) = address(&topics.root, message.topic) else {
        let unnamed = GaugeId::new("unnamed").expect("the word is a name");
        let topic = &message.topic.as_bytes()[..message.topic.len().min(FRAME_BYTES_MAX)];
        let raw = [topic, b" ", start(message.payload)].concat();
        return observed(unnamed, message, raw.into(), Err(Garbled::Name), None);
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
            observed(gauge, message, start(payload).into(), Err(why), None)
        }
        (Level::Reading, payload) => {
            let raw = start(payload).into();
            // An old message is never a new reading, whatever else it is.
            if message.kept {
                return observed(gauge, message, raw, Err(Garbled::Retained), None);
            }
            if payload.len() > FRAME_BYTES_MAX {
                return observed(gauge, message, raw, Err(Garbled::Oversize), None);
            }
            let dialect = topics.dialects.get(&gauge).cloned().unwrap_or_default();
            let (value, id) = reading(&dialect, payload);
            let key = id.map(|id| format!("mqtt:{gauge}:{id}"));
            observed(gauge, message, raw, value, key)
        }
    }
}

/// What a gauge's topic is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Level {
    Reading,
    State,
}

fn observed<'m>(
    gauge: GaugeId,
    message: &Message<'_>,
    raw: Cow<'m, [u8]>,
    value: Result<Value, Garbled>,
    key: Option<String>,
) -> Meaning<'m> {
    // With an id a repeat is recognised by its key; without one a person has to say.
    let via = if message.again && key.is_none() {
        Via::MqttAgain
    } else {
        Via::Mqtt
    };
    Meaning::Observed {
        said: Said {
            gauge,
            via,
            raw,
            value,
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

fn reading(dialect: &Dialect, payload: &[u8]) -> (Result<Value, Garbled>, Option<String>) {
    if payload.trim_ascii_start().starts_with(b"{") {
        return match serde_json::from_slice::<Envelope<'_>>(payload) {
            Ok(envelope) => envelope.open(dialect),
            Err(_) => (Err(Garbled::Json), None),
        };
    }
    // A bridge that passes the gauge's line on may pass its terminator too.
    let line = payload
        .strip_suffix(b"\r\n")
        .or_else(|| payload.strip_suffix(b"\n"))
        .or_else(|| payload.strip_suffix(b"\r"))
        .unwrap_or(payload);
    (dialect.value(line), None)
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
    fn open(self, dialect: &Dialect) -> (Result<Value, Garbled>, Option<String>) {
        // `at` is the bridge's clock: it stays in the raw bytes, our own clock dates the entry.
        if self.at.is_some_and(|at| !rfc3339::is_timestamp(&at))
            || self.id.as_ref().is_some_and(String::is_empty)
        {
            return (Err(Garbled::Json), None);
        }
        let value = match (number(self.value), self.unit.as_deref().map(unit)) {
            (None, _) => Err(Garbled::Json),
            (Some(_), Some(None)) => Err(Garbled::Unit),
            (Some(number), unit) => number.value(dialect, unit.flatten()),
        };
        (value, self.id)
    }
}

enum Number<'a> {
    /// JSON's own spelling: always with a decimal point.
    Json(&'a str),
    /// The gauge's spelling.
    Text(Cow<'a, str>),
}

impl Number<'_> {
    fn value(&self, dialect: &Dialect, unit: Option<Unit>) -> Result<Value, Garbled> {
        match self {
            Self::Text(text) => dialect.value_naming(text.as_bytes(), unit),
            Self::Json(digits) => dialect.value_of_number(digits.as_bytes(), unit),
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
