//! What a message adds to what was heard before. Pure, but that it notes when a gauge was heard.

use std::collections::BTreeMap;

use shared_types::{Event, GaugeId, GaugeState};

use super::Topics;
use super::message::{self, Meaning, Message};

/// Topics whose kept messages are remembered so that a reconnect does not record them again; more
/// than any workshop has gauges.
const KEPT_TOPICS_MAX: usize = 1024;

/// The states and the kept messages told so far.
#[derive(Debug, Default)]
pub(crate) struct Heard {
    states: BTreeMap<GaugeId, GaugeState>,
    kept: BTreeMap<String, Vec<u8>>,
}

impl Heard {
    /// What happened by this message, with its idempotency key where the bridge gave it an id; `None`
    /// where it says nothing new.
    pub(crate) fn event(
        &mut self,
        topics: &Topics,
        message: &Message<'_>,
    ) -> Option<(Event, Option<String>)> {
        match message::meaning(topics, message) {
            Meaning::State { gauge, state } => {
                topics.silence.seen(&gauge, state);
                if self.states.insert(gauge.clone(), state) == Some(state) {
                    return None;
                }
                Some((Event::GaugeSeen { gauge, state }, None))
            }
            Meaning::Observed { observation, key } => {
                if message.kept && self.seen_before(message) {
                    return None;
                }
                // What the broker had kept says nothing of now.
                if !message.kept {
                    topics.silence.heard(&observation.gauge);
                }
                Some((Event::Observed(observation), key))
            }
        }
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
