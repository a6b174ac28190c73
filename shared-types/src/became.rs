//! What became of a reading, as the shop remembers it.

use crate::{
    Became, Decoded, Entry, Finding, GaugeId, Held, HeldReason, Observation, Reading, Shop,
};

pub(crate) fn of_observed(observation: &Observation, finding: &Finding) -> Became {
    if let Decoded::Garbled(why) | Decoded::Flood { why, .. } = observation.decoded {
        return Became::Garbled(why, observation.raw.clone());
    }
    of_finding(finding)
}

/// What a finding of a reading made of it.
pub(crate) fn of_finding(finding: &Finding) -> Became {
    match finding {
        Finding::Judged {
            piece,
            characteristic,
            revision,
            value,
            verdict,
            fitted,
            derived,
            grounds,
            correction,
            into: _,
        } => Became::Judged {
            piece: piece.clone(),
            characteristic: characteristic.clone(),
            revision: *revision,
            value: *value,
            verdict: *verdict,
            fitted: *fitted,
            derived: derived.clone(),
            grounds: grounds.clone(),
            correction: *correction,
        },
        Finding::Checked {
            reference,
            wanted,
            limit,
            verdict,
        } => Became::Checked {
            reference: reference.clone(),
            wanted: *wanted,
            limit: *limit,
            verdict: *verdict,
        },
        Finding::Studied { study, cell } => Became::Studied {
            study: *study,
            cell: *cell,
        },
        Finding::Held { reason, .. } => Became::Held(*reason),
        // Inspection concludes something of every reading; an entry that says nothing is shown as waiting.
        Finding::Noted | Finding::Fitted { .. } => Became::Held(HeldReason::FitsNothing),
    }
}

pub(crate) fn held(shop: &Shop, entry: &Entry, gauge: &GaugeId, reading: &Reading) -> Held {
    let (reason, on_bench, candidates, offset) = match &entry.fact.finding {
        Finding::Held {
            reason,
            on_bench,
            candidates,
            offset,
        } => (
            *reason,
            on_bench.clone(),
            candidates.clone(),
            offset.clone(),
        ),
        Finding::Noted
        | Finding::Judged { .. }
        | Finding::Checked { .. }
        | Finding::Studied { .. }
        | Finding::Fitted { .. } => (HeldReason::FitsNothing, None, Vec::new(), None),
    };
    let into = on_bench.as_ref().and_then(|(piece, _)| shop.mate(piece));
    let bench = shop.bench_of(gauge).and_then(|id| shop.benches.get(id));
    Held {
        temperatures: bench.map(|b| b.temperatures.clone()).unwrap_or_default(),
        at_us: entry.fact.at_us,
        into: into.cloned(),
        gauge: gauge.clone(),
        reading: reading.clone(),
        reason,
        on_bench,
        candidates,
        offset,
    }
}
