//! How far a gauge can be trusted, as programs see it.

use serde::Serialize;
use shared_types::{CharacteristicId, Check, GaugeSetup, PieceId, Seq, Shop, Study, Verdict};

use crate::clock::{now_us, rfc3339};
use crate::due::{CheckDue, check_due};

#[derive(Serialize)]
pub(super) struct GaugeTrust {
    /// The unit of its last reading.
    unit: Option<&'static str>,
    /// What the gauge itself complained of last.
    trouble: Option<String>,
    resolution: Option<String>,
    limit_of_error: Option<String>,
    calibrated_until: Option<String>,
    /// The reference whose reading is waited for.
    checking: Option<String>,
    /// What the study under way asks for.
    #[serde(skip_serializing_if = "Option::is_none")]
    study: Option<StudyState>,
    last_check: Option<CheckState>,
    /// The failed check that no good one has cleared.
    failing: Option<CheckState>,
    check_due: Option<&'static str>,
    /// Readings in doubt, the newest of them; `suspects_more` says how many older ones there are.
    suspects: Vec<Suspect>,
    suspects_more: u64,
}

/// People, pieces and times counted from 1.
#[derive(Serialize)]
struct StudyState {
    entry: Seq,
    appraiser: String,
    piece: u16,
    trial: u16,
    done: usize,
    readings: usize,
}

impl StudyState {
    fn new(study: &Study) -> Option<Self> {
        let next = study.next()?;
        let appraiser = study.plan.appraisers.get(usize::from(next.appraiser))?;
        Some(Self {
            entry: study.seq,
            appraiser: appraiser.clone(),
            piece: u16::from(next.piece) + 1,
            trial: u16::from(next.trial) + 1,
            done: study.done(),
            readings: study.plan.size(),
        })
    }
}

#[derive(Serialize)]
struct CheckState {
    seq: Seq,
    at: String,
    against: String,
    wanted: String,
    value: String,
    limit_of_error: String,
    verdict: Verdict,
}

#[derive(Serialize)]
struct Suspect {
    seq: Seq,
    piece: PieceId,
    characteristic: CharacteristicId,
    value: String,
    verdict: Verdict,
}

impl GaugeTrust {
    pub(super) fn new(shop: &Shop, gauge: &GaugeSetup) -> Self {
        let trust = &gauge.trust;
        let sight = shop.gauges.get(&gauge.id);
        let checks = sight.map(|sight| &sight.checks);
        let suspects = checks.map(|checks| checks.suspects()).unwrap_or_default();
        Self {
            unit: sight
                .and_then(|s| s.last.as_ref())
                .map(|last| last.unit.sign()),
            trouble: sight.and_then(|s| s.trouble).map(|why| why.to_string()),
            resolution: trust.resolution.map(|step| step.to_string()),
            limit_of_error: trust.limit_of_error.map(|limit| limit.to_string()),
            calibrated_until: trust.calibrated_until.map(|day| day.to_string()),
            checking: checks
                .and_then(|c| c.checking.as_ref())
                .map(|checking| checking.reference.name.clone()),
            study: sight.and_then(|s| StudyState::new(s.studies.under_way()?)),
            last_check: checks.and_then(|c| c.last()).map(CheckState::new),
            failing: checks.and_then(|c| c.failing()).map(CheckState::new),
            check_due: check_due(shop, gauge, now_us()).map(|due| match due {
                CheckDue::Never => "never-checked",
                CheckDue::By { .. } => "in-time",
                CheckDue::Late { .. } => "overdue",
            }),
            suspects_more: suspects.more,
            suspects: suspects
                .listed
                .into_iter()
                .map(|(seq, counted)| Suspect {
                    seq,
                    piece: counted.piece.clone(),
                    characteristic: counted.characteristic.clone(),
                    value: counted.value.to_string(),
                    verdict: counted.verdict,
                })
                .collect(),
        }
    }
}

impl CheckState {
    fn new(check: &Check) -> Self {
        Self {
            seq: check.seq,
            at: rfc3339(check.at_us),
            against: check.reference.clone(),
            wanted: check.wanted.to_string(),
            value: check.value.to_string(),
            limit_of_error: check.limit.to_string(),
            verdict: check.verdict,
        }
    }
}
