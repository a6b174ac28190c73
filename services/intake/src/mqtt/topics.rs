//! The topics of a build: the same at a broker and at our own door.

use std::collections::BTreeMap;

use shared_types::{BenchId, GaugeId, SensorId};

use super::Sensor;
use super::Streams;
use super::message::address;
use super::streams::STORED_MAX;
use crate::{Dialect, Silence};

/// Topics and who speaks on them.
#[derive(Clone, Debug)]
pub struct Topics {
    /// First level of every topic.
    pub root: String,
    /// How the configured gauges speak; any other speaks the default dialect.
    pub dialects: BTreeMap<GaugeId, Dialect>,
    /// The configured thermometers.
    pub sensors: BTreeMap<SensorId, Sensor>,
    /// Told whenever a gauge is heard.
    pub silence: Silence,
    /// The gauges of which not every message is a reading.
    pub streams: Streams,
}

impl Default for Topics {
    /// Under `oddleg`, without known gauges.
    fn default() -> Self {
        Self {
            root: "oddleg".to_owned(),
            dialects: BTreeMap::new(),
            sensors: BTreeMap::new(),
            silence: Silence::default(),
            streams: Streams::default(),
        }
    }
}

impl Topics {
    /// How much a message on this topic can lead to at most.
    pub(crate) fn stored_max(&self, topic: &str) -> usize {
        match address(&self.root, topic) {
            Some((gauge, _)) if self.streams.has(&gauge) => STORED_MAX,
            _ => 1,
        }
    }

    /// Where the findings of a bench go.
    pub(crate) fn finding(&self, bench: &BenchId) -> String {
        format!("{}/benches/{bench}/finding", self.root)
    }

    /// Where any thermometer says how warm it is.
    pub(crate) fn of_any_sensor(&self) -> String {
        format!("{}/sensors/+/temperature", self.root)
    }

    /// Where any gauge says this (`reading` or `state`).
    pub(crate) fn of_any_gauge(&self, level: &str) -> String {
        format!("{}/gauges/+/{level}", self.root)
    }
}
