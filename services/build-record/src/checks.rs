//! Checks of gauges over the whole history, and the readings they put in doubt. On a bench only the newest
//! are kept at hand; here are all.

use std::collections::BTreeMap;

use serde::Serialize;
use shared_types::{Check, Entry, Finding, GaugeId, Observation, PieceId, Reading, Seq, Verdict};

use crate::ledger::Ledger;
use crate::when::when;

/// A check, with what a person did to it later.
pub(crate) struct GaugeCheck<'a> {
    pub(crate) gauge: &'a GaugeId,
    pub(crate) operator: &'a str,
    pub(crate) check: Check,
    /// The entry by which a person said it does not count.
    pub(crate) voided: Option<Seq>,
}

/// The check an observation was; `None` where it was none.
pub(crate) fn check<'a>(
    entry: &'a Entry,
    observation: &'a Observation,
    reading: &Reading,
    operator: &'a str,
) -> Option<GaugeCheck<'a>> {
    let Finding::Checked {
        reference,
        wanted,
        limit,
        verdict,
    } = &entry.fact.finding
    else {
        return None;
    };
    Some(GaugeCheck {
        gauge: &observation.gauge,
        operator,
        check: Check {
            seq: entry.seq,
            at_us: entry.fact.at_us,
            reference: reference.clone(),
            wanted: *wanted,
            value: reading.value,
            limit: *limit,
            verdict: *verdict,
        },
        voided: None,
    })
}

/// Between which entries the readings of a gauge are in doubt, and by which failed check.
pub(crate) struct Doubt {
    after: Seq,
    before: Option<Seq>,
    by: Seq,
}

/// What the failed checks of each gauge put in doubt: from the last check that would have cleared it to the
/// next one that does.
pub(crate) fn doubts<'a>(
    checks: &BTreeMap<Seq, GaugeCheck<'a>>,
) -> BTreeMap<&'a GaugeId, Vec<Doubt>> {
    let mut by_gauge: BTreeMap<&GaugeId, Vec<&Check>> = BTreeMap::new();
    for check in checks.values().filter(|check| check.voided.is_none()) {
        by_gauge.entry(check.gauge).or_default().push(&check.check);
    }
    let doubts = |all: Vec<&Check>| {
        let failed = all.iter().enumerate().filter(|(_, check)| !check.is_good());
        failed
            .map(|(at, failed)| {
                let clears = |other: &&&Check| other.clears(failed);
                Doubt {
                    after: all[..at]
                        .iter()
                        .rev()
                        .find(clears)
                        .map_or(Seq(0), |c| c.seq),
                    before: all[at + 1..].iter().find(clears).map(|c| c.seq),
                    by: failed.seq,
                }
            })
            .collect()
    };
    by_gauge
        .into_iter()
        .map(|(gauge, all)| (gauge, doubts(all)))
        .collect()
}

/// The first failed check that puts a reading in doubt.
pub(crate) fn doubted(doubts: &[Doubt], reading: Seq) -> Option<Seq> {
    let within = |doubt: &&Doubt| {
        doubt.after < reading && doubt.before.is_none_or(|before| reading < before)
    };
    doubts.iter().find(within).map(|doubt| doubt.by)
}

/// A check in the record.
#[derive(Serialize)]
pub(crate) struct CheckRecord<'a> {
    entry: Seq,
    at: String,
    gauge: &'a str,
    operator: &'a str,
    against: &'a str,
    wanted: String,
    value: String,
    limit_of_error: String,
    verdict: Verdict,
    #[serde(skip_serializing_if = "Option::is_none")]
    voided_by: Option<Seq>,
}

impl<'a> CheckRecord<'a> {
    pub(crate) fn new(checked: &'a GaugeCheck<'a>) -> Self {
        let check = &checked.check;
        Self {
            entry: check.seq,
            at: when(check.at_us),
            gauge: checked.gauge.as_str(),
            operator: checked.operator,
            against: &check.reference,
            wanted: check.wanted.to_string(),
            value: check.value.to_string(),
            limit_of_error: check.limit.to_string(),
            verdict: check.verdict,
            voided_by: checked.voided,
        }
    }
}

/// A reading in doubt in the record.
#[derive(Serialize)]
pub(crate) struct SuspectRecord<'a> {
    entry: Seq,
    /// The failed check that puts it in doubt.
    by: Seq,
    gauge: &'a str,
    piece: &'a PieceId,
    characteristic: &'a str,
    value: String,
    verdict: Verdict,
}

impl<'a> SuspectRecord<'a> {
    pub(crate) fn new(ledger: &Ledger<'a>, entry: Seq, by: Seq) -> Option<Self> {
        let sent = ledger.sent.get(&entry)?;
        let judged = sent.counts.as_ref()?;
        Some(Self {
            entry,
            by,
            gauge: sent.observation.gauge.as_str(),
            piece: judged.piece,
            characteristic: judged.characteristic.as_str(),
            value: judged.value.to_string(),
            verdict: judged.verdict,
        })
    }
}
