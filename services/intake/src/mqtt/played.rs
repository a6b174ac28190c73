//! Messages of bridges without a connection: a recording is read as the daemon would have read it. Pure.

use shared_types::{Event, GaugeId, GaugeState};

use super::COUNTED_QUIET_US;
use super::Topics;
use super::heard::{Heard, Told};
use super::message::Message;
use crate::voice::Recorded;

/// What happened, when, and its idempotency key where the bridge gave it an id.
type Happened = Vec<(i64, Event, Option<String>)>;

/// Bridges that are played from a recording.
pub struct Played {
    topics: Topics,
    heard: Heard,
}

impl Played {
    /// Nothing was heard yet.
    #[must_use]
    pub fn new(topics: Topics) -> Self {
        Self {
            topics,
            heard: Heard::default(),
        }
    }

    /// Whether a gauge speaks by a bridge.
    #[must_use]
    pub fn has(&self, gauge: &GaugeId) -> bool {
        self.topics.dialects.contains_key(gauge)
    }

    /// A bridge published this as a reading of `gauge`.
    pub fn reading(&mut self, at_us: i64, gauge: &GaugeId, payload: &[u8]) -> Happened {
        self.message(at_us, gauge, "reading", payload)
    }

    /// A bridge, or its last will, said how `gauge` is.
    pub fn state(&mut self, at_us: i64, gauge: &GaugeId, state: GaugeState) -> Happened {
        let payload: &[u8] = match state {
            GaugeState::Connected => b"online",
            _ => b"offline",
        };
        self.message(at_us, gauge, "state", payload)
    }

    /// Nothing came until this moment.
    pub fn wait(&mut self, until_us: i64) -> Happened {
        let since_us = until_us.saturating_sub(COUNTED_QUIET_US);
        let mut counted = self.heard.counted(since_us);
        self.topics.streams.quiet(since_us, &mut counted);
        of(counted)
    }

    /// Nobody listens any more.
    pub fn end(&mut self, at_us: i64) -> Happened {
        let mut counted = self.heard.counted(i64::MAX);
        self.topics.streams.end(at_us, &mut counted);
        of(counted)
    }

    fn message(&mut self, at_us: i64, gauge: &GaugeId, level: &str, payload: &[u8]) -> Happened {
        let message = Message {
            topic: &format!("{}/gauges/{gauge}/{level}", self.topics.root),
            payload,
            kept: false,
            again: false,
        };
        let Told { before, itself } = self.heard.event(&self.topics, &message, at_us);
        let mut happened = of(before);
        happened.extend(itself.map(|(event, key)| (at_us, event, key)));
        happened
    }
}

fn of(recorded: Recorded) -> Happened {
    let recorded = recorded.into_iter();
    recorded
        .map(|(at_us, observation)| (at_us, Event::Observed(observation), None))
        .collect()
}
