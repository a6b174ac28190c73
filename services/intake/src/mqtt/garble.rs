//! Garbled messages of each gauge: kept by themselves at first, then counted, as at a port. Pure.

use std::collections::BTreeMap;

use shared_types::{Garbled, GaugeId, Observation};

use crate::flood::{Flood, Keep, as_last_of};

/// Gauges with a count of their own; more than any workshop has. Behind a broker anybody can make names up:
/// those beyond share one count, told in the name of the last.
const GAUGES_MAX: usize = 1024;

/// What is only counted so far.
#[derive(Debug, Default)]
pub(super) struct Garble {
    gauges: BTreeMap<GaugeId, Counting>,
    others: Option<Counting>,
}

#[derive(Debug)]
struct Counting {
    flood: Flood,
    /// The last one that was only counted, and when it came.
    last: Option<(i64, Garbled, Observation)>,
}

impl Garble {
    /// What is to be stored now for a garbled message; `None` where it is only counted.
    pub(super) fn came(
        &mut self,
        at_us: i64,
        why: Garbled,
        mut observation: Observation,
    ) -> Option<Observation> {
        let begin = || Counting {
            flood: Flood::of_garbled(at_us),
            last: None,
        };
        let has_room = self.gauges.len() < GAUGES_MAX;
        let counting = if has_room || self.gauges.contains_key(&observation.gauge) {
            let gauge = observation.gauge.clone();
            self.gauges.entry(gauge).or_insert_with(begin)
        } else {
            self.others.get_or_insert_with(begin)
        };
        match counting.flood.take(at_us) {
            Keep::It => Some(observation),
            Keep::AsLastOf(count) => {
                counting.last = None;
                observation.decoded = as_last_of(count, why);
                Some(observation)
            }
            Keep::Nothing => {
                counting.last = Some((at_us, why, observation));
                None
            }
        }
    }

    /// The counts of the gauges that were quiet from this moment on; they begin again.
    pub(super) fn counted(&mut self, quiet_since_us: i64) -> Vec<(i64, Observation)> {
        let mut counted = Vec::new();
        for counting in self.gauges.values_mut().chain(&mut self.others) {
            let is_quiet = |last: &mut (i64, _, _)| last.0 <= quiet_since_us;
            if let Some((at_us, why, mut observation)) = counting.last.take_if(is_quiet)
                && let Some(count) = counting.flood.take_skipped()
            {
                observation.decoded = as_last_of(count, why);
                counted.push((at_us, observation));
            }
        }
        counted
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::{Decoded, Via};

    /// How many garbled messages an observation stands for.
    fn stands_for(observation: &Observation) -> u64 {
        match observation.decoded {
            Decoded::Garbled(_) => 1,
            Decoded::Flood { count, .. } => count,
            _ => 0,
        }
    }

    fn noise(gauge: &str, number: u64) -> Observation {
        Observation {
            gauge: GaugeId::new(gauge).unwrap(),
            via: Via::Mqtt,
            raw: format!("noise {number}").into_bytes(),
            decoded: Decoded::Garbled(Garbled::Grammar),
        }
    }

    #[test]
    fn a_flood_of_one_gauge_is_counted_to_the_last_message_and_costs_another_nothing() {
        let mut garble = Garble::default();
        let mut stored = Vec::new();
        // A thousand a second for ten seconds.
        for number in 0..10_000 {
            let at_us = i64::try_from(number).unwrap() * 1_000;
            stored.extend(garble.came(at_us, Garbled::Grammar, noise("radio-1", number)));
        }
        assert!(stored.len() <= 20 + 20, "{}", stored.len());
        let other = garble.came(9_999_000, Garbled::Grammar, noise("radio-2", 1));
        assert_eq!(other, Some(noise("radio-2", 1)));
        // It is not quiet yet, and then it is.
        assert_eq!(garble.counted(9_998_999), []);
        let rest = garble.counted(9_999_000);
        assert_eq!(rest[0].1.raw, b"noise 9999");
        stored.extend(rest.into_iter().map(|(_, observation)| observation));
        assert_eq!(stored.iter().map(stands_for).sum::<u64>(), 10_000);
        assert_eq!(garble.counted(i64::MAX), []);
    }

    #[test]
    fn names_made_up_without_end_share_one_count() {
        let mut garble = Garble::default();
        let mut stored = 0;
        for number in 0..5_000 {
            let observation = noise(&format!("gauge-{number}"), number);
            let kept = garble.came(0, Garbled::Grammar, observation);
            stored += kept.iter().map(stands_for).sum::<u64>();
        }
        assert_eq!(garble.gauges.len(), GAUGES_MAX);
        let rest = garble.counted(0);
        assert_eq!(rest.len(), 1);
        assert_eq!(stored + stands_for(&rest[0].1), 5_000);
    }
}
