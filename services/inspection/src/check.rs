//! Checks of gauges against something of a known size.

use shared_types::{
    BenchId, Faces, Finding, GaugeId, GaugeKind, GaugeSetup, Quantity, Reading, Refusal, Shop,
    Trust, Verdict,
};

use crate::acts::{known, named};

/// A check can be begun where the reference is known, and how far off the gauge may be there.
pub(crate) fn begun(
    shop: &Shop,
    bench: &BenchId,
    gauge: &GaugeId,
    reference: &str,
) -> Result<Finding, Refusal> {
    known(shop, bench)?;
    let setup = at_bench(shop, bench, gauge)?;
    let kind = setup
        .kind
        .ok_or_else(|| Refusal::NotAnInstrument(gauge.to_string()))?;
    let found = setup.trust.reference(reference, kind);
    let found = found.ok_or_else(|| Refusal::NoReference {
        gauge: gauge.to_string(),
        found: reference.to_owned(),
        known: names(&setup.trust, kind),
    })?;
    match setup.trust.limit_at(found.value, found.faces) {
        Some(_) => named(shop, bench).map(|()| Finding::Noted),
        None => Err(Refusal::NoLimitOfError {
            gauge: gauge.to_string(),
            reference: found.name,
        }),
    }
}

pub(crate) fn left(shop: &Shop, bench: &BenchId, gauge: &GaugeId) -> Result<Finding, Refusal> {
    known(shop, bench)?;
    at_bench(shop, bench, gauge)?;
    let checks = shop.checks(gauge);
    if checks.is_some_and(|checks| checks.checking.is_some()) {
        Ok(Finding::Noted)
    } else {
        Err(Refusal::NotChecking(gauge.to_string()))
    }
}

/// The finding of a reading, where it is a check of its gauge.
pub(crate) fn checked(shop: &Shop, gauge: &GaugeId, reading: &Reading) -> Option<Finding> {
    let checking = shop.checks(gauge)?.checking.as_ref()?;
    let reference = &checking.reference;
    let trust = &shop.gauge_setup(gauge)?.trust;
    let limit = trust.limit_at(reference.value, reference.faces)?;
    Some(Finding::Checked {
        reference: reference.name.clone(),
        wanted: reference.value,
        limit,
        verdict: verdict(reading.value, reference.value, limit)?,
    })
}

/// Off by exactly the limit is still right. `None` for a length against an angle.
fn verdict(value: Quantity, wanted: Quantity, limit: Quantity) -> Option<Verdict> {
    let off = value.minus(wanted)?;
    Some(if off.raw() < -limit.raw() {
        Verdict::TooSmall
    } else if off.raw() <= limit.raw() {
        Verdict::Pass
    } else {
        Verdict::TooLarge
    })
}

pub(crate) fn at_bench<'a>(
    shop: &'a Shop,
    bench: &BenchId,
    gauge: &GaugeId,
) -> Result<&'a GaugeSetup, Refusal> {
    let setup = shop.gauge_setup(gauge).filter(|g| &g.bench == bench);
    setup.ok_or_else(|| Refusal::NoGauge {
        gauge: gauge.to_string(),
        bench: bench.to_string(),
    })
}

/// What a gauge can be checked against.
fn names(trust: &Trust, kind: GaugeKind) -> String {
    let names: Vec<String> = trust
        .all_references(kind)
        .map(|reference| match reference.faces {
            Faces::Outside => format!("{:?}", reference.name),
            faces => format!("{:?} ({})", reference.name, faces.word()),
        })
        .collect();
    names.join(", ")
}
