//! What a person does at a bench: possible, or refused with the reason.

use shared_types::{
    BenchId, CharacteristicId, Correction, Finding, Form, GaugeId, PartPlan, PieceId, Quantity,
    Refusal, Seq, Shop, Stage, Temperatures, Unit,
};

use crate::correction::AsRead;
use crate::disposed;
use crate::study;
use crate::thermal::when_given;
use crate::verdict::Taken;

/// Longest reason or name in bytes: a sentence or two, so that one act cannot swell the history.
const TEXT_BYTES_MAX: usize = 500;

pub(crate) fn operator(shop: &Shop, bench: &BenchId, name: &str) -> Result<Finding, Refusal> {
    known(shop, bench)?;
    short(name, "the operator's name")?;
    Ok(Finding::Noted)
}

pub(crate) fn laid(
    shop: &Shop,
    bench: &BenchId,
    piece: &PieceId,
    stage: Stage,
    reason: Option<&str>,
) -> Result<Finding, Refusal> {
    known(shop, bench)?;
    short(reason.unwrap_or(""), "the reason")?;
    let plan = made(shop, piece)?;
    used(shop, piece)?;
    let part = &plan.part;
    if plan.at(stage).next().is_none() {
        return Err(Refusal::NoStage {
            part: part.to_string(),
            stage: stage.to_string(),
        });
    }
    let withdrawn = shop.parts.get(part).is_some_and(|a| a.withdrawn.is_some());
    if withdrawn && !shop.pieces.contains_key(piece) {
        return Err(Refusal::Withdrawn {
            part: part.to_string(),
            piece: piece.to_string(),
        });
    }
    if let Some(fit) = &plan.fit
        && stage == Stage::FitUp
        && shop.mate(piece).is_none()
    {
        return Err(Refusal::NoMate {
            piece: piece.to_string(),
            into: fit.into.to_string(),
        });
    }
    let elsewhere = shop.benches.iter().find(|(id, state)| {
        *id != bench
            && state
                .on_bench
                .as_ref()
                .is_some_and(|(lies, _)| lies == piece)
    });
    if let Some((other, _)) = elsewhere {
        return Err(Refusal::Elsewhere {
            piece: piece.to_string(),
            bench: other.to_string(),
        });
    }
    let stated = reason.is_some_and(|reason| !reason.trim().is_empty());
    // Blocks are tools: measuring them begins no piece.
    match shop.waits_for(piece) {
        Some(lacks) if !stated && stage != Stage::Blocks && &lacks.first != piece => {
            Err(Refusal::NotReleased {
                piece: piece.to_string(),
                first: lacks.first.to_string(),
                lacks: lacks.to_string(),
            })
        }
        _ => Ok(Finding::Noted),
    }
}

/// A scrapped piece is measured no further.
pub(crate) fn used(shop: &Shop, piece: &PieceId) -> Result<(), Refusal> {
    match shop.scrapped(piece) {
        None => Ok(()),
        Some(scrap) => Err(Refusal::Scrapped {
            piece: piece.to_string(),
            by: scrap.by.clone(),
            entry: scrap.seq,
            reason: scrap.reason.clone(),
        }),
    }
}

/// The record says who judged, voided, decided or checked: somebody must be named.
pub(crate) fn named(shop: &Shop, bench: &BenchId) -> Result<(), Refusal> {
    let operator = shop.benches.get(bench).map(|b| b.operator.trim());
    if operator.is_some_and(|name| !name.is_empty()) {
        Ok(())
    } else {
        Err(Refusal::NobodyNamed {
            bench: bench.to_string(),
        })
    }
}

pub(crate) fn temperature(shop: &Shop, bench: &BenchId) -> Result<Finding, Refusal> {
    known(shop, bench)?;
    Ok(Finding::Noted)
}

pub(crate) fn picked(
    shop: &Shop,
    bench: &BenchId,
    characteristic: &CharacteristicId,
) -> Result<Finding, Refusal> {
    known(shop, bench)?;
    let (piece, stage) = on_bench(shop, bench).ok_or(Refusal::NothingOnBench)?;
    used(shop, piece)?;
    let known = shop
        .parts
        .get(piece.part())
        .and_then(|a| a.plan.characteristic(characteristic));
    match known {
        Some(c) if c.derived.is_some() => Err(Refusal::Derived(characteristic.to_string())),
        Some(c) if c.stage == *stage => Ok(Finding::Noted),
        _ => Err(Refusal::NoCharacteristic(characteristic.to_string())),
    }
}

pub(crate) fn assigned(
    shop: &Shop,
    bench: &BenchId,
    reading: Seq,
    characteristic: &CharacteristicId,
    (unit, form): (Option<Unit>, Option<Form>),
) -> Result<Finding, Refusal> {
    known(shop, bench)?;
    let Source {
        piece,
        mate,
        value,
        correction,
        gauge,
        felt,
    } = source(shop, bench, reading, unit, form)?;
    named(shop, bench)?;
    used(shop, &piece)?;
    let adopted = shop
        .parts
        .get(piece.part())
        .ok_or_else(|| Refusal::NoPart(piece.part().to_string()))?;
    match adopted.plan.characteristic(characteristic) {
        None => return Err(Refusal::NoCharacteristic(characteristic.to_string())),
        Some(c) if c.derived.is_some() => {
            return Err(Refusal::Derived(characteristic.to_string()));
        }
        Some(_) => {}
    }
    let taken = Taken {
        piece: &piece,
        mate: mate.as_ref(),
        reading,
        value,
        gauge: gauge.as_ref(),
        correction,
        felt: (&felt.0, felt.1),
    };
    taken.of(shop, characteristic).ok_or(Refusal::WrongKind)
}

/// What a held or standing reading is of.
struct Source {
    piece: PieceId,
    /// The mating piece at hand when it came.
    mate: Option<PieceId>,
    /// In the unit the person names, and as the person says that it is to be understood; at 20 °C where it was corrected.
    value: Quantity,
    /// The gauge it came from; none where nobody remembers.
    gauge: Option<GaugeId>,
    correction: Option<Correction>,
    /// The temperatures given at its bench, and when it came.
    felt: (Temperatures, i64),
}

fn source(
    shop: &Shop,
    bench: &BenchId,
    reading: Seq,
    unit: Option<Unit>,
    form: Option<Form>,
) -> Result<Source, Refusal> {
    let held = shop.benches.get(bench).and_then(|b| b.held.get(&reading));
    if let Some(held) = held.or_else(|| shop.stray.get(&reading)) {
        // It belongs to what lay there when it came; only where nothing did, to what lies there now.
        let lay_there = held.on_bench.as_ref().or_else(|| on_bench(shop, bench));
        let (piece, _) = lay_there.ok_or(Refusal::NothingOnBench)?;
        let read = match unit {
            Some(unit) => held.reading.in_unit(unit).ok_or(Refusal::WrongKind)?,
            None => held.reading.clone(),
        };
        // By the temperatures there were when it came.
        let as_read = AsRead {
            value: formed(read.value, form)?,
            at_us: held.at_us,
            gauge: &held.gauge,
            temperatures: &held.temperatures,
        };
        let (value, correction) = as_read.at_20(shop, piece);
        return Ok(Source {
            mate: held.into.as_ref().or_else(|| shop.mate(piece)).cloned(),
            piece: piece.clone(),
            value,
            correction,
            gauge: Some(held.gauge.clone()),
            felt: (held.temperatures.clone(), held.at_us),
        });
    }
    let (piece, _, attempt) = shop.attempt(reading).ok_or(Refusal::NoReading(reading))?;
    if on_bench(shop, bench).is_none_or(|(lies, _)| lies != piece) {
        return Err(Refusal::NoReading(reading));
    }
    let state = shop.benches.get(bench);
    let temperatures = state.map_or_else(Temperatures::default, |b| b.temperatures.clone());
    match (unit, form) {
        (None, None) => Ok(Source {
            mate: attempt.into.as_ref().or_else(|| shop.mate(piece)).cloned(),
            piece: piece.clone(),
            value: attempt.value,
            gauge: shop.gauge_of(reading),
            correction: attempt.correction,
            felt: (temperatures.clone(), when_given(&temperatures)),
        }),
        // Its digits are in the history only; judged once, it is voided rather than read anew.
        _ => Err(Refusal::Judged(reading)),
    }
}

fn formed(shown: Quantity, form: Option<Form>) -> Result<Quantity, Refusal> {
    let Some(form) = form else { return Ok(shown) };
    form.of(shown).ok_or(Refusal::NoForm { form: form.name() })
}

pub(crate) fn dismissed(
    shop: &Shop,
    bench: &BenchId,
    reading: Seq,
    reason: &str,
) -> Result<Finding, Refusal> {
    known(shop, bench)?;
    short(reason, "the reason")?;
    let held = shop
        .benches
        .get(bench)
        .is_some_and(|b| b.held.contains_key(&reading));
    if held || shop.stray.contains_key(&reading) {
        named(shop, bench)?;
        Ok(Finding::Noted)
    } else {
        Err(Refusal::NoReading(reading))
    }
}

pub(crate) fn voided(
    shop: &Shop,
    bench: &BenchId,
    reading: Seq,
    reason: &str,
) -> Result<Finding, Refusal> {
    known(shop, bench)?;
    if reason.trim().is_empty() {
        return Err(Refusal::Missing("the reason for voiding a reading"));
    }
    short(reason, "the reason")?;
    if shop.attempt(reading).is_some()
        || shop.checked_by(reading).is_some()
        || study::counts(shop, reading)
        || disposed::stands(shop, reading)
    {
        named(shop, bench)?;
        Ok(Finding::Noted)
    } else {
        Err(Refusal::NoReading(reading))
    }
}

/// The plan of a piece that is to be made.
pub(crate) fn made<'a>(shop: &'a Shop, piece: &PieceId) -> Result<&'a PartPlan, Refusal> {
    let part = piece.part();
    let adopted = shop
        .parts
        .get(part)
        .ok_or_else(|| Refusal::NoPart(part.to_string()))?;
    let plan = adopted.plan.as_ref();
    if piece.number() > plan.quantity {
        return Err(Refusal::NoPiece {
            part: part.to_string(),
            quantity: plan.quantity,
            pairs: plan.mirrored.is_some(),
            number: piece.number(),
        });
    }
    let (part, number) = (part.to_string(), piece.number());
    match (&plan.mirrored, piece.hand()) {
        (Some(_), None) => Err(Refusal::NoHand { part, number }),
        (None, Some(_)) => Err(Refusal::NotHanded { part, number }),
        _ => Ok(plan),
    }
}

pub(crate) fn known(shop: &Shop, bench: &BenchId) -> Result<(), Refusal> {
    let setup = shop.setup.as_ref();
    if setup.is_some_and(|s| s.benches.iter().any(|(id, _)| id == bench)) {
        Ok(())
    } else {
        Err(Refusal::NoBench(bench.to_string()))
    }
}

fn on_bench<'a>(shop: &'a Shop, bench: &BenchId) -> Option<&'a (PieceId, Stage)> {
    shop.benches.get(bench)?.on_bench.as_ref()
}

pub(crate) fn short(text: &str, name: &'static str) -> Result<(), Refusal> {
    if text.len() > TEXT_BYTES_MAX {
        Err(Refusal::TooLong(name))
    } else {
        Ok(())
    }
}
