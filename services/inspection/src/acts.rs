//! What a person does at a bench: possible, or refused with the reason.

use shared_types::{
    BenchId, CharacteristicId, Finding, PieceId, Quantity, Refusal, Seq, Shop, Stage, Unit,
};

use crate::verdict;

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
) -> Result<Finding, Refusal> {
    known(shop, bench)?;
    let part = piece.part();
    let adopted = shop
        .parts
        .get(part)
        .ok_or_else(|| Refusal::NoPart(part.to_string()))?;
    if piece.number() > adopted.plan.quantity {
        return Err(Refusal::NoPiece {
            part: part.to_string(),
            quantity: adopted.plan.quantity,
            number: piece.number(),
        });
    }
    if adopted.plan.at(stage).next().is_none() {
        return Err(Refusal::NoStage {
            part: part.to_string(),
            stage: stage.to_string(),
        });
    }
    let elsewhere = shop.benches.iter().find(|(id, state)| {
        *id != bench
            && state
                .on_bench
                .as_ref()
                .is_some_and(|(lies, _)| lies == piece)
    });
    match elsewhere {
        Some((other, _)) => Err(Refusal::Elsewhere {
            piece: piece.to_string(),
            bench: other.to_string(),
        }),
        None => Ok(Finding::Noted),
    }
}

pub(crate) fn mated(shop: &Shop, bench: &BenchId) -> Result<Finding, Refusal> {
    known(shop, bench)?;
    Err(Refusal::NothingOnBench)
}

pub(crate) fn picked(
    shop: &Shop,
    bench: &BenchId,
    characteristic: &CharacteristicId,
) -> Result<Finding, Refusal> {
    known(shop, bench)?;
    let (piece, stage) = on_bench(shop, bench).ok_or(Refusal::NothingOnBench)?;
    let known = shop
        .parts
        .get(piece.part())
        .and_then(|a| a.plan.characteristic(characteristic));
    match known {
        Some(c) if c.stage == *stage => Ok(Finding::Noted),
        _ => Err(Refusal::NoCharacteristic(characteristic.to_string())),
    }
}

pub(crate) fn assigned(
    shop: &Shop,
    bench: &BenchId,
    reading: Seq,
    characteristic: &CharacteristicId,
    unit: Option<Unit>,
) -> Result<Finding, Refusal> {
    known(shop, bench)?;
    let (piece, value) = source(shop, bench, reading, unit)?;
    let adopted = shop
        .parts
        .get(piece.part())
        .ok_or_else(|| Refusal::NoPart(piece.part().to_string()))?;
    if adopted.plan.characteristic(characteristic).is_none() {
        return Err(Refusal::NoCharacteristic(characteristic.to_string()));
    }
    verdict::finding(shop, &piece, characteristic, value).ok_or(Refusal::WrongKind)
}

/// The piece a held or standing reading is of, and its value in the unit the person names.
fn source(
    shop: &Shop,
    bench: &BenchId,
    reading: Seq,
    unit: Option<Unit>,
) -> Result<(PieceId, Quantity), Refusal> {
    let held = shop.benches.get(bench).and_then(|b| b.held.get(&reading));
    if let Some(held) = held.or_else(|| shop.stray.get(&reading)) {
        // It belongs to what lay there when it came; only where nothing did, to what lies there now.
        let lay_there = held.on_bench.as_ref().or_else(|| on_bench(shop, bench));
        let (piece, _) = lay_there.ok_or(Refusal::NothingOnBench)?;
        let read = match unit {
            Some(unit) => held.reading.in_unit(unit).ok_or(Refusal::WrongKind)?,
            None => held.reading.clone(),
        };
        return Ok((piece.clone(), read.value));
    }
    let (piece, _, attempt) = shop.attempt(reading).ok_or(Refusal::NoReading(reading))?;
    if on_bench(shop, bench).is_none_or(|(lies, _)| lies != piece) {
        return Err(Refusal::NoReading(reading));
    }
    match unit {
        // Its digits are in the history only; judged once, it is voided rather than read anew.
        Some(_) => Err(Refusal::Judged(reading)),
        None => Ok((piece.clone(), attempt.value)),
    }
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
    shop.attempt(reading).ok_or(Refusal::NoReading(reading))?;
    Ok(Finding::Noted)
}

fn known(shop: &Shop, bench: &BenchId) -> Result<(), Refusal> {
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

fn short(text: &str, name: &'static str) -> Result<(), Refusal> {
    if text.len() > TEXT_BYTES_MAX {
        Err(Refusal::TooLong(name))
    } else {
        Ok(())
    }
}
