//! What a message adds to what was heard before. Pure, but that it notes when a gauge was heard.

use std::collections::BTreeMap;
use std::sync::{Mutex, MutexGuard, PoisonError};

use shared_types::{Decoded, Event, GaugeId, GaugeState, Observation};

use super::Topics;
use super::garble::Garble;
use super::message::{self, Meaning, Message};
use super::sensor::Felt;

/// Topics whose kept messages are remembered so that a reconnect does not record them again; more
/// than any workshop has gauges.
const KEPT_TOPICS_MAX: usize = 1024;

/// The states and the kept messages told so far.
#[derive(Debug, Default)]
pub(crate) struct Heard {
    states: BTreeMap<GaugeId, GaugeState>,
    kept: BTreeMap<String, Vec<u8>>,
    garble: Garble,
    felt: Felt,
}

impl Heard {
    /// What happened by this message, with its idempotency key where the bridge gave it an id; `None`
    /// where it says nothing new, or is one of a flood of garbled ones and only counted.
    pub(crate) fn event(
        &mut self,
        topics: &Topics,
        message: &Message<'_>,
        at_us: i64,
    ) -> Option<(Event, Option<String>)> {
        match message::meaning(topics, message) {
            Meaning::State { gauge, state } => {
                topics.silence.seen(&gauge, state);
                if self.states.insert(gauge.clone(), state) == Some(state) {
                    return None;
                }
                Some((Event::GaugeSeen { gauge, state }, None))
            }
            Meaning::OldTemperature => None,
            Meaning::Temperature { sensor, value } => {
                let configured = topics.sensors.get(&sensor)?;
                let event = self.felt.event(&sensor, configured, value, at_us)?;
                Some((event, None))
            }
            Meaning::Observed { observation, key } => {
                if message.kept && self.seen_before(message) {
                    return None;
                }
                // What the broker had kept says nothing of now.
                if !message.kept {
                    topics.silence.heard(&observation.gauge);
                }
                let Decoded::Garbled(why) = observation.decoded else {
                    return Some((Event::Observed(observation), key));
                };
                let stored = self.garble.came(at_us, why, observation)?;
                // With the key of the last one a count could be taken for known before, and be lost.
                let is_count = matches!(stored.decoded, Decoded::Flood { .. });
                Some((Event::Observed(stored), key.filter(|_| !is_count)))
            }
        }
    }

    /// What was only counted, of the gauges that said nothing garbled since this moment.
    pub(crate) fn counted(&mut self, quiet_since_us: i64) -> Vec<(i64, Observation)> {
        self.garble.counted(quiet_since_us)
    }

    /// Whether this very message was already recorded as kept by the broker: it comes at every
    /// connection.
    fn seen_before(&mut self, message: &Message<'_>) -> bool {
        if self.kept.len() >= KEPT_TOPICS_MAX && !self.kept.contains_key(message.topic) {
            return false;
        }
        self.kept
            .insert(message.topic.to_owned(), message.payload.to_vec())
            .is_some_and(|before| before == message.payload)
    }
}

/// What was heard stays right whatever panicked beside it: each change is whole.
pub(crate) fn lock(heard: &Mutex<Heard>) -> MutexGuard<'_, Heard> {
    heard.lock().unwrap_or_else(PoisonError::into_inner)
}
