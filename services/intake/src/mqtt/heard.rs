//! What a message adds to what was heard before. Pure, but that it notes when a gauge was heard.

use std::collections::BTreeMap;
use std::sync::{Mutex, MutexGuard, PoisonError};

use shared_types::{
    Decoded, Event, GaugeId, GaugeState, Observation, Outcome, Receipt, Seq, Submission,
};
use tokio::sync::mpsc::PermitIterator;

use super::Topics;
use super::garble::Garble;
use super::message::{self, Meaning, Message};
use super::sensor::Felt;
use crate::voice::Recorded;

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

/// What a message leads to.
#[derive(Debug, Default, PartialEq, Eq)]
pub(crate) struct Told {
    /// Counts of what came before it, to be stored first. Nobody waits for them.
    pub(crate) before: Recorded,
    /// What happened by it, with its idempotency key where the bridge gave it an id; `None` where it says
    /// nothing new, or is only counted.
    pub(crate) itself: Option<(Event, Option<String>)>,
}

impl Told {
    fn itself(event: Event, key: Option<String>) -> Self {
        Self {
            before: Recorded::new(),
            itself: Some((event, key)),
        }
    }

    /// Of what one gauge recorded. A count that is stored with the key of its last message could be taken for
    /// known before, and be lost.
    fn of(mut recorded: Recorded, key: Option<String>) -> Self {
        let is_itself = |(_, seen): &mut (i64, Observation)| {
            matches!(seen.decoded, Decoded::Reading(_) | Decoded::Garbled(_))
        };
        let itself = recorded.pop_if(is_itself);
        Self {
            before: recorded,
            itself: itself.map(|(_, observation)| (Event::Observed(observation), key)),
        }
    }

    /// Handed in where room was made before. `receipt` is told of the message itself.
    pub(crate) fn hand_in(
        self,
        at_us: i64,
        receipt: Receipt,
        mut rooms: PermitIterator<'_, Submission>,
    ) {
        let mut put = |submission| {
            let room = rooms.next();
            room.expect("room was made for all that one message leads to")
                .send(submission);
        };
        for (at_us, observation) in self.before {
            put(Submission {
                at_us,
                event: Event::Observed(observation),
                key: None,
                receipt: Receipt::nobody(),
            });
        }
        match self.itself {
            Some((event, key)) => put(Submission {
                at_us,
                event,
                key,
                receipt,
            }),
            // It says nothing new, or is only counted: acknowledged in its turn.
            None => receipt.tell(Outcome::Known(Seq(0))),
        }
    }
}

impl Heard {
    /// What this message leads to.
    pub(crate) fn event(&mut self, topics: &Topics, message: &Message<'_>, at_us: i64) -> Told {
        match message::meaning(topics, message) {
            Meaning::State { gauge, state } => {
                topics.silence.seen(&gauge, state);
                let mut told = Told::default();
                if state == GaugeState::Offline {
                    topics.streams.gone(&gauge, at_us, &mut told.before);
                }
                if self.states.insert(gauge.clone(), state) != Some(state) {
                    told.itself = Some((Event::GaugeSeen { gauge, state }, None));
                }
                told
            }
            Meaning::OldTemperature => Told::default(),
            Meaning::Temperature { sensor, value } => {
                let configured = topics.sensors.get(&sensor);
                let event = configured
                    .and_then(|configured| self.felt.event(&sensor, configured, value, at_us));
                event.map_or_else(Told::default, |event| Told::itself(event, None))
            }
            Meaning::Observed { said, key } => {
                if message.kept && self.seen_before(message) {
                    return Told::default();
                }
                // What the broker had kept says nothing of now.
                if !message.kept {
                    topics.silence.heard(&said.gauge);
                }
                if topics.streams.has(&said.gauge) {
                    let mut recorded = Recorded::new();
                    topics.streams.said(at_us, &said, &mut recorded);
                    return Told::of(recorded, key);
                }
                let Err(why) = said.value else {
                    return Told::itself(Event::Observed(said.observation()), key);
                };
                let Some(stored) = self.garble.came(at_us, why, said.observation()) else {
                    return Told::default();
                };
                // With the key of the last one a count could be taken for known before, and be lost.
                let is_count = matches!(stored.decoded, Decoded::Flood { .. });
                Told::itself(Event::Observed(stored), key.filter(|_| !is_count))
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
