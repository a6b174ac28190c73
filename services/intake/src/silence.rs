//! Gauges that should be heard again and again, and were not. The doors say when anything of a gauge was heard,
//! also what is no reading: a caliper that streams at rest is there.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use shared_types::{Event, GaugeId, GaugeState, Receipt, Submission};
use tokio_util::sync::CancellationToken;

use crate::Sink;
use crate::clock::now_us;

/// Between two looks: a silence worth telling is five seconds or more.
const LOOK_EVERY: Duration = Duration::from_secs(1);

/// When each gauge with a stated time was heard last. Clones share it.
#[derive(Clone, Debug, Default)]
pub struct Silence(Arc<Mutex<BTreeMap<GaugeId, Quiet>>>);

#[derive(Debug)]
struct Quiet {
    /// It should be heard within so long.
    after_us: i64,
    /// `None` while it is known to be away: what is unplugged is not silent.
    heard_us: Option<i64>,
    silent: bool,
}

impl Silence {
    /// These gauges should be heard within so many seconds each, counted from now on.
    pub fn new(gauges: impl IntoIterator<Item = (GaugeId, u32)>) -> Self {
        let heard_us = Some(now_us());
        let quiet = |after_s| Quiet {
            after_us: i64::from(after_s) * 1_000_000,
            heard_us,
            silent: false,
        };
        let gauges = gauges.into_iter();
        Self(Arc::new(Mutex::new(
            gauges.map(|(gauge, s)| (gauge, quiet(s))).collect(),
        )))
    }

    /// Anything came from a gauge.
    pub(crate) fn heard(&self, gauge: &GaugeId) {
        self.heard_at(gauge, Some(now_us()));
    }

    /// A gauge came or went.
    pub(crate) fn seen(&self, gauge: &GaugeId, state: GaugeState) {
        match state {
            GaugeState::Connected => self.heard(gauge),
            GaugeState::Unplugged | GaugeState::Offline => self.heard_at(gauge, None),
            GaugeState::Unknown | GaugeState::Silent => {}
        }
    }

    fn heard_at(&self, gauge: &GaugeId, at_us: Option<i64>) {
        if let Some(quiet) = self.lock().get_mut(gauge) {
            quiet.heard_us = at_us;
        }
    }

    /// The gauges that have fallen silent or are heard again since the last look.
    fn changes(&self, now_us: i64) -> Vec<(GaugeId, GaugeState)> {
        let mut changes = Vec::new();
        for (gauge, quiet) in self.lock().iter_mut() {
            let Some(heard_us) = quiet.heard_us else {
                quiet.silent = false;
                continue;
            };
            let silent = now_us.saturating_sub(heard_us) > quiet.after_us;
            if silent != quiet.silent {
                quiet.silent = silent;
                let state = if silent {
                    GaugeState::Silent
                } else {
                    GaugeState::Connected
                };
                changes.push((gauge.clone(), state));
            }
        }
        changes
    }

    fn lock(&self) -> MutexGuard<'_, BTreeMap<GaugeId, Quiet>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Tells which gauges have fallen silent, and which are heard again, until `stop`.
pub async fn run(silence: Silence, sink: Sink, stop: CancellationToken) {
    loop {
        tokio::select! {
            () = stop.cancelled() => return,
            () = tokio::time::sleep(LOOK_EVERY) => {}
        }
        let at_us = now_us();
        for (gauge, state) in silence.changes(at_us) {
            let seen = Submission {
                at_us,
                event: Event::GaugeSeen { gauge, state },
                key: None,
                receipt: Receipt::nobody(),
            };
            if sink.send(seen).await.is_err() {
                return;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gauge_is_silent_after_its_time_once_and_back_when_it_is_heard() {
        let gauge: GaugeId = "caliper-1".parse().unwrap();
        let silence = Silence::new([(gauge.clone(), 10)]);
        let told = |state| vec![(gauge.clone(), state)];
        let at = |s: i64| s * 1_000_000;
        silence.heard_at(&gauge, Some(at(100)));
        assert_eq!(silence.changes(at(110)), [], "just in time");
        assert_eq!(silence.changes(at(111)), told(GaugeState::Silent));
        assert_eq!(silence.changes(at(112)), [], "told once");
        silence.heard_at(&gauge, Some(at(113)));
        assert_eq!(silence.changes(at(113)), told(GaugeState::Connected));
        silence.seen(&gauge, GaugeState::Unplugged);
        assert_eq!(silence.changes(at(999)), [], "what is away is not silent");
        silence.heard_at(&gauge, Some(at(1000)));
        assert_eq!(silence.changes(at(1010)), []);
        let other = "caliper-2".parse().unwrap();
        silence.heard_at(&other, Some(at(0)));
        assert_eq!(
            silence.changes(at(1011)),
            told(GaugeState::Silent),
            "others are not watched"
        );
    }
}
