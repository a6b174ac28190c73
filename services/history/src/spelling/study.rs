//! The stored spelling of a study of a gauge.

use serde::{Deserialize, Serialize};
use shared_types::{BenchId, Event, Finding, GaugeId, Seq, StudyAct, StudyCell, StudyPlan};

use super::words::{Name, Text, Value};

/// `b` bench, `g` gauge, `n` the study begun, `m` the entry of the one resumed; neither where it is left.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct StudySpelt<'a> {
    b: Name<BenchId>,
    g: Name<GaugeId>,
    #[serde(borrow, default, skip_serializing_if = "Option::is_none")]
    n: Option<PlanSpelt<'a>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    m: Option<u64>,
}

/// `o` what is measured, `w` width of the tolerance, `p` pieces, `a` who measures, `t` trials.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct PlanSpelt<'a> {
    #[serde(borrow)]
    o: Text<'a>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    w: Option<Value>,
    p: u8,
    #[serde(borrow)]
    a: Vec<Text<'a>>,
    t: u8,
}

/// `s` the study's entry, `a` appraiser, `p` piece, `t` trial, each from 0.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct StudiedSpelt {
    s: u64,
    a: u8,
    p: u8,
    t: u8,
}

impl<'a> StudySpelt<'a> {
    pub(super) fn of(bench: &BenchId, gauge: &GaugeId, act: &'a StudyAct) -> Self {
        let (n, m) = match act {
            StudyAct::Begun(plan) => (Some(PlanSpelt::of(plan)), None),
            StudyAct::Resumed(study) => (None, Some(study.0)),
            StudyAct::Left => (None, None),
        };
        Self {
            b: Name(bench.clone()),
            g: Name(gauge.clone()),
            n,
            m,
        }
    }

    pub(super) fn read(self) -> Event {
        let act = match (self.n, self.m) {
            (Some(plan), _) => StudyAct::Begun(plan.read()),
            (None, Some(study)) => StudyAct::Resumed(Seq(study)),
            (None, None) => StudyAct::Left,
        };
        Event::Study {
            bench: self.b.0,
            gauge: self.g.0,
            act,
        }
    }
}

impl<'a> PlanSpelt<'a> {
    fn of(plan: &'a StudyPlan) -> Self {
        Self {
            o: plan.of.as_str().into(),
            w: plan.width.map(Value::from),
            p: plan.pieces,
            a: plan.appraisers.iter().map(|a| a.as_str().into()).collect(),
            t: plan.trials,
        }
    }

    fn read(self) -> StudyPlan {
        StudyPlan {
            of: self.o.into(),
            width: self.w.map(Into::into),
            pieces: self.p,
            appraisers: self.a.into_iter().map(Into::into).collect(),
            trials: self.t,
        }
    }
}

impl StudiedSpelt {
    pub(super) const fn of(study: Seq, cell: StudyCell) -> Self {
        Self {
            s: study.0,
            a: cell.appraiser,
            p: cell.piece,
            t: cell.trial,
        }
    }

    pub(super) const fn read(self) -> Finding {
        Finding::Studied {
            study: Seq(self.s),
            cell: StudyCell {
                appraiser: self.a,
                piece: self.p,
                trial: self.t,
            },
        }
    }
}
