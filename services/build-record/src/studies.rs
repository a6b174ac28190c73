//! Studies of gauges in the record: what was measured, by whom, and every reading that counts.

use serde::Serialize;
use shared_types::{Entry, Finding, GaugeId, Quantity, Reading, Seq, StudyCell, StudyPlan};

use crate::when::when;

/// A study as it was begun, and its readings.
pub(crate) struct GaugeStudy<'a> {
    pub(crate) at_us: i64,
    pub(crate) gauge: &'a GaugeId,
    pub(crate) operator: &'a str,
    pub(crate) plan: &'a StudyPlan,
    readings: Vec<(Seq, StudyCell, Quantity)>,
}

impl<'a> GaugeStudy<'a> {
    pub(crate) const fn new(
        at_us: i64,
        gauge: &'a GaugeId,
        operator: &'a str,
        plan: &'a StudyPlan,
    ) -> Self {
        Self {
            at_us,
            gauge,
            operator,
            plan,
            readings: Vec::new(),
        }
    }

    pub(crate) fn read(&mut self, entry: Seq, cell: StudyCell, value: Quantity) {
        self.readings.push((entry, cell, value));
    }

    pub(crate) fn forget(&mut self, entry: Seq) {
        self.readings.retain(|(seq, _, _)| *seq != entry);
    }
}

/// The study a reading belongs to, where in it, and its value.
pub(crate) fn studied(entry: &Entry, reading: &Reading) -> Option<(Seq, StudyCell, Quantity)> {
    match entry.fact.finding {
        Finding::Studied { study, cell } => Some((study, cell, reading.value)),
        _ => None,
    }
}

/// A study in the record.
#[derive(Serialize)]
pub(crate) struct StudyRecord<'a> {
    entry: Seq,
    at: String,
    gauge: &'a str,
    operator: &'a str,
    of: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    tolerance_width: Option<String>,
    pieces: u8,
    appraisers: &'a [String],
    trials: u8,
    complete: bool,
    readings: Vec<StudyReading<'a>>,
}

#[derive(Serialize)]
struct StudyReading<'a> {
    entry: Seq,
    appraiser: &'a str,
    piece: u16,
    trial: u16,
    value: String,
}

impl<'a> StudyRecord<'a> {
    pub(crate) fn new(entry: Seq, study: &'a GaugeStudy<'a>) -> Self {
        let plan = study.plan;
        let name = |cell: &StudyCell| {
            let name = plan.appraisers.get(usize::from(cell.appraiser));
            name.map_or("", String::as_str)
        };
        let readings = study
            .readings
            .iter()
            .map(|(entry, cell, value)| StudyReading {
                entry: *entry,
                appraiser: name(cell),
                piece: u16::from(cell.piece) + 1,
                trial: u16::from(cell.trial) + 1,
                value: value.to_string(),
            });
        Self {
            entry,
            at: when(study.at_us),
            gauge: study.gauge.as_str(),
            operator: study.operator,
            of: &plan.of,
            tolerance_width: plan.width.map(|width| width.to_string()),
            pieces: plan.pieces,
            appraisers: &plan.appraisers,
            trials: plan.trials,
            complete: study.readings.len() == plan.size(),
            readings: readings.collect(),
        }
    }
}
