//! Gauges behind bridges of which not every message is a reading: those that stream, and those whose button
//! bounces. The same code as at a port decides. Pure, but for the task that hears that one is asked.

use std::collections::BTreeMap;
use std::future::pending;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use shared_types::{Event, GaugeId, Receipt, Submission, Via};
use tokio_util::sync::CancellationToken;

use super::message::Said;
use crate::Sink;
use crate::ask::Asks;
use crate::clock::now_us;
use crate::take::Mode;
use crate::voice::{Recorded, SerialGauge, Voice};

/// What one message or one farewell can lead to at most: an answer that did not come, two counts, and itself.
pub(crate) const STORED_MAX: usize = 4;

/// These gauges, whichever way their messages come.
#[derive(Clone, Debug, Default)]
pub struct Streams(Arc<Mutex<BTreeMap<GaugeId, Streaming>>>);

#[derive(Debug)]
struct Streaming {
    voice: Voice,
    answer_max_us: i64,
    heard_us: i64,
}

impl Streams {
    /// These gauges, each with how long an answer is waited for where somebody wants a reading.
    pub fn new(gauges: impl IntoIterator<Item = (SerialGauge, i64)>) -> Self {
        let streaming = |(gauge, answer_max_us): (SerialGauge, i64)| {
            let streaming = Streaming {
                voice: Voice::new(gauge.clone(), Via::Mqtt, 0),
                answer_max_us,
                heard_us: i64::MIN,
            };
            (gauge.gauge, streaming)
        };
        Self(Arc::new(Mutex::new(
            gauges.into_iter().map(streaming).collect(),
        )))
    }

    /// Whether it is one of these.
    pub(crate) fn has(&self, gauge: &GaugeId) -> bool {
        self.lock().contains_key(gauge)
    }

    /// What is to be stored of a message of one of these; nothing, where it is only counted.
    pub(super) fn said(&self, at_us: i64, said: &Said<'_>, out: &mut Recorded) {
        let mut all = self.lock();
        let Some(streaming) = all.get_mut(&said.gauge) else {
            return;
        };
        streaming.heard_us = at_us;
        let voice = &mut streaming.voice;
        // A message of a stream that comes a second time finds the value where it was, and is passed over.
        voice.via = match voice.gauge.mode {
            Mode::Stream { .. } => Via::Mqtt,
            Mode::Send { .. } => said.via,
        };
        voice.frame(at_us, &said.raw, said.value, out);
    }

    /// The bridge is gone.
    pub(super) fn gone(&self, gauge: &GaugeId, at_us: i64, out: &mut Recorded) {
        if let Some(streaming) = self.lock().get_mut(gauge) {
            streaming.voice.gone(at_us, out);
        }
    }

    /// Tells what was only counted of those that said nothing since this moment.
    pub(super) fn quiet(&self, since_us: i64, out: &mut Recorded) {
        for streaming in self.lock().values_mut() {
            if streaming.heard_us <= since_us {
                streaming.voice.quiet(streaming.heard_us, out);
            }
        }
    }

    /// Nobody listens any more: tells everything that was only counted.
    pub(super) fn end(&self, at_us: i64, out: &mut Recorded) {
        for streaming in self.lock().values_mut() {
            streaming.voice.gone(at_us, out);
        }
    }

    fn ask(&self, gauge: &GaugeId, at_us: i64) {
        if let Some(streaming) = self.lock().get_mut(gauge) {
            streaming.voice.taker.ask();
            streaming.voice.answer_by_us = at_us.saturating_add(streaming.answer_max_us);
        }
    }

    fn overdue(&self, at_us: i64, out: &mut Recorded) {
        for streaming in self.lock().values_mut() {
            streaming.voice.via = Via::Mqtt;
            streaming.voice.overdue(at_us, out);
        }
    }

    fn answer_by_us(&self) -> Option<i64> {
        let all = self.lock();
        let asked = all.values().filter(|one| one.voice.taker.is_asked());
        asked.map(|one| one.voice.answer_by_us).min()
    }

    /// What is known stays right whatever panicked beside it: each change is whole.
    fn lock(&self) -> MutexGuard<'_, BTreeMap<GaugeId, Streaming>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Hears that a gauge is asked, and tells where it gave no reading in time, until `stop`.
pub async fn run(streams: Streams, sink: Sink, mut asks: Asks, stop: CancellationToken) {
    loop {
        let by_us = streams.answer_by_us();
        let overdue = async {
            match by_us.map(|by_us| by_us.saturating_sub(now_us()).max(0)) {
                Some(left_us) => {
                    tokio::time::sleep(Duration::from_micros(left_us.unsigned_abs())).await;
                }
                None => pending().await,
            }
        };
        tokio::select! {
            () = stop.cancelled() => return,
            gauge = asks.recv() => match gauge {
                Some(gauge) => streams.ask(&gauge, now_us()),
                // Nobody can ask any more: what is still waited for is told at the end.
                None => return,
            },
            () = overdue => {
                let mut recorded = Recorded::new();
                streams.overdue(now_us(), &mut recorded);
                if !hand_in(recorded, &sink).await {
                    return;
                }
            }
        }
    }
}

/// Hands in what nobody waits for; false where nobody takes it any more.
pub(super) async fn hand_in(recorded: Recorded, sink: &Sink) -> bool {
    for (at_us, observation) in recorded {
        let submission = Submission {
            at_us,
            event: Event::Observed(observation),
            key: None,
            receipt: Receipt::nobody(),
        };
        if sink.send(submission).await.is_err() {
            return false;
        }
    }
    true
}

#[cfg(test)]
#[path = "streams_tests.rs"]
mod tests;
