//! Studies of gauges: possible, or refused with the reason; and which reading belongs to one.

use shared_types::{
    BenchId, Finding, GaugeId, GaugeKind, GaugeSetup, Quantity, Reading, Refusal, STUDY_APPRAISERS,
    STUDY_PIECES, STUDY_READINGS_MAX, STUDY_TRIALS, Seq, Shop, StudyAct, StudyPlan,
};

use crate::acts::{known, short};
use crate::check::at_bench;

/// A person begins, resumes or leaves a study.
pub(crate) fn act(
    shop: &Shop,
    bench: &BenchId,
    gauge: &GaugeId,
    act: &StudyAct,
) -> Result<Finding, Refusal> {
    known(shop, bench)?;
    let setup = at_bench(shop, bench, gauge)?;
    let studies = shop.gauges.get(gauge).map(|sight| &sight.studies);
    let none = |what| Refusal::NoStudy {
        gauge: gauge.to_string(),
        what,
    };
    match act {
        StudyAct::Begun(plan) => begun(setup, plan)?,
        StudyAct::Resumed(study) => {
            resumed(studies.and_then(|s| s.get(*study))).ok_or(none("resume"))?
        }
        StudyAct::Left => studies
            .and_then(|s| s.under_way())
            .map(|_| ())
            .ok_or(none("leave"))?,
    }
    Ok(Finding::Noted)
}

fn resumed(study: Option<&shared_types::Study>) -> Option<()> {
    study.filter(|study| !study.is_complete()).map(|_| ())
}

fn begun(setup: &GaugeSetup, plan: &StudyPlan) -> Result<(), Refusal> {
    let gauge = || setup.id.to_string();
    let kind = setup
        .kind
        .ok_or_else(|| Refusal::NotAnInstrument(gauge()))?;
    if plan.of.trim().is_empty() {
        return Err(Refusal::Missing("what is measured in the study"));
    }
    short(&plan.of, "what is measured")?;
    let size = |what, found: usize, least: usize, most: usize| {
        let expected = format!("{least} to {most}");
        let wrong = Refusal::NoSuchStudy {
            gauge: gauge(),
            what,
            found,
            expected,
        };
        if (least..=most).contains(&found) {
            Ok(())
        } else {
            Err(wrong)
        }
    };
    let range = |range: std::ops::RangeInclusive<u8>| {
        (usize::from(*range.start()), usize::from(*range.end()))
    };
    let (least, most) = range(STUDY_PIECES);
    size("pieces", plan.pieces.into(), least, most)?;
    let (least, most) = range(STUDY_TRIALS);
    size("trials", plan.trials.into(), least, most)?;
    size(
        "appraisers",
        plan.appraisers.len(),
        *STUDY_APPRAISERS.start(),
        *STUDY_APPRAISERS.end(),
    )?;
    size("readings", plan.size(), 1, STUDY_READINGS_MAX)?;
    for (at, name) in plan.appraisers.iter().enumerate() {
        short(name, "an appraiser's name")?;
        if name.trim().is_empty() || plan.appraisers[..at].contains(name) {
            return Err(Refusal::Appraiser {
                gauge: gauge(),
                found: name.clone(),
            });
        }
    }
    match plan.width {
        Some(width) if width.raw() <= 0 || !measures(kind, width) => Err(Refusal::StudyWidth {
            gauge: gauge(),
            found: width.to_string(),
        }),
        _ => Ok(()),
    }
}

const fn measures(kind: GaugeKind, quantity: Quantity) -> bool {
    matches!(
        (kind, quantity),
        (GaugeKind::Caliper, Quantity::Length(_)) | (GaugeKind::AngleGauge, Quantity::Angle(_))
    )
}

/// The finding of a reading that belongs to a study under way.
pub(crate) fn studied(shop: &Shop, gauge: &GaugeId, reading: &Reading) -> Option<Finding> {
    let study = shop.gauges.get(gauge)?.studies.under_way()?;
    let kind = shop.gauge_setup(gauge)?.kind?;
    if !measures(kind, reading.value) {
        return None;
    }
    Some(Finding::Studied {
        study: study.seq,
        cell: study.next()?,
    })
}

/// Whether an entry is a reading of a study that counts.
pub(crate) fn counts(shop: &Shop, reading: Seq) -> bool {
    shop.gauges.values().any(|sight| sight.studies.has(reading))
}
