//! What lamps hear: findings of benches and nothing else. Pure.

use std::collections::BTreeSet;

use rumqttc::mqttbytes::QoS;
use rumqttc::mqttbytes::v4::{Subscribe, SubscribeReasonCode};
use shared_types::BenchId;

use crate::mqtt::Topics;

/// The benches one client listens to.
#[derive(Debug, Default)]
pub(super) struct Hearing {
    every: bool,
    benches: BTreeSet<BenchId>,
}

impl Hearing {
    /// Takes the filters that are exactly a bench's findings or every bench's, at QoS 0, and refuses the
    /// others: a lamp that is told so can say so, one that hears nothing for ever cannot.
    pub(super) fn subscribe(
        &mut self,
        topics: &Topics,
        benches: &BTreeSet<BenchId>,
        subscribe: &Subscribe,
    ) -> Vec<SubscribeReasonCode> {
        let filters = subscribe.filters.iter();
        filters
            .map(|filter| match asked(topics, &filter.path) {
                Some(Asked::Every) => {
                    self.every = true;
                    SubscribeReasonCode::Success(QoS::AtMostOnce)
                }
                Some(Asked::One(bench)) if benches.contains(&bench) => {
                    self.benches.insert(bench);
                    SubscribeReasonCode::Success(QoS::AtMostOnce)
                }
                _ => SubscribeReasonCode::Failure,
            })
            .collect()
    }

    /// For a client that may hear nothing.
    pub(super) fn refuse(subscribe: &Subscribe) -> Vec<SubscribeReasonCode> {
        vec![SubscribeReasonCode::Failure; subscribe.filters.len()]
    }

    pub(super) fn unsubscribe(&mut self, topics: &Topics, filters: &[String]) {
        for filter in filters {
            match asked(topics, filter) {
                Some(Asked::Every) => self.every = false,
                Some(Asked::One(bench)) => {
                    self.benches.remove(&bench);
                }
                None => {}
            }
        }
    }

    pub(super) fn is_deaf(&self) -> bool {
        !self.every && self.benches.is_empty()
    }

    pub(super) fn hears(&self, bench: &BenchId) -> bool {
        self.every || self.benches.contains(bench)
    }
}

enum Asked {
    Every,
    One(BenchId),
}

fn asked(topics: &Topics, filter: &str) -> Option<Asked> {
    let bench = filter
        .strip_prefix(topics.root.as_str())?
        .strip_prefix("/benches/")?
        .strip_suffix("/finding")?;
    if bench == "+" {
        return Some(Asked::Every);
    }
    BenchId::new(bench).ok().map(Asked::One)
}
