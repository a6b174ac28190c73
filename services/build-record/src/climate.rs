//! Temperatures as the record tells them.

use serde::Serialize;
use shared_types::{Entry, Event, Seq, Temperature, TemperatureOf};

use crate::when::when;

/// One temperature given at a bench.
#[derive(Serialize)]
pub(crate) struct TemperatureRecord<'a> {
    entry: Seq,
    at: String,
    bench: &'a str,
    of: TemperatureOf,
    value: Temperature,
    /// The sensor; `null` where a person typed it.
    sensor: Option<&'a str>,
}

impl<'a> TemperatureRecord<'a> {
    /// `None` for an entry that is none.
    pub(crate) fn new(entry: &'a Entry) -> Option<Self> {
        let Event::Temperature {
            bench,
            of,
            value,
            sensor,
        } = &entry.fact.event
        else {
            return None;
        };
        Some(Self {
            entry: entry.seq,
            at: when(entry.fact.at_us),
            bench: bench.as_str(),
            of: *of,
            value: *value,
            sensor: sensor.as_ref().map(|sensor| sensor.as_str()),
        })
    }
}
