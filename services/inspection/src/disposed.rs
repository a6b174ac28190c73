//! What may be decided about a fail: only what stands, and only by somebody.

use shared_types::{
    BenchId, CharacteristicId, Disposition, Finding, PieceId, Refusal, Seq, Shop, Verdict,
};

use crate::acts::{known, made, short, used};

/// What a person decided.
pub(crate) struct Decided<'a> {
    pub(crate) characteristic: Option<&'a CharacteristicId>,
    pub(crate) reading: Option<Seq>,
    pub(crate) disposition: Disposition,
    pub(crate) by: &'a str,
    pub(crate) reason: &'a str,
}

pub(crate) fn disposed(
    shop: &Shop,
    bench: &BenchId,
    piece: &PieceId,
    decided: &Decided<'_>,
) -> Result<Finding, Refusal> {
    known(shop, bench)?;
    if decided.by.trim().is_empty() {
        return Err(Refusal::NobodyNamed {
            bench: bench.to_string(),
        });
    }
    if decided.reason.trim().is_empty() {
        return Err(Refusal::Missing("the reason of the disposition"));
    }
    short(decided.by, "the name of who decides")?;
    short(decided.reason, "the reason")?;
    made(shop, piece)?;
    used(shop, piece)?;
    match (decided.disposition, decided.characteristic) {
        (_, Some(characteristic)) => of_one(shop, piece, characteristic, decided),
        (Disposition::Scrap, None) => Ok(Finding::Noted),
        // Each fail used as it is has a reason of its own.
        (Disposition::UseAsIs, None) => {
            Err(Refusal::Missing("the characteristic that is used as it is"))
        }
        (Disposition::Rework, None) => {
            let open = shop.left_open(piece);
            if open.iter().any(|open| open.stands.is_some()) {
                Ok(Finding::Noted)
            } else {
                Err(Refusal::NotFailed {
                    piece: piece.to_string(),
                    what: "the whole".to_owned(),
                })
            }
        }
    }
}

fn of_one(
    shop: &Shop,
    piece: &PieceId,
    characteristic: &CharacteristicId,
    decided: &Decided<'_>,
) -> Result<Finding, Refusal> {
    let plan = shop.parts.get(piece.part()).map(|a| a.plan.as_ref());
    if plan.is_none_or(|plan| plan.characteristic(characteristic).is_none()) {
        return Err(Refusal::NoCharacteristic(characteristic.to_string()));
    }
    let state = shop.pieces.get(piece);
    let standing = state.and_then(|state| state.standing(characteristic));
    if let Some(seen) = decided.reading
        && standing.is_none_or(|a| a.seq != seen)
    {
        return Err(Refusal::NotStanding {
            seen,
            what: characteristic.to_string(),
        });
    }
    let failed = standing.is_some_and(|a| a.verdict != Verdict::Pass);
    // Without the reading it was decided of, it could not be told from a later one.
    match (decided.disposition, failed, decided.reading) {
        (Disposition::Scrap, _, _) | (_, true, Some(_)) => Ok(Finding::Noted),
        (_, true, None) => Err(Refusal::Missing("the reading that was decided of")),
        (_, false, _) => Err(Refusal::NotFailed {
            piece: piece.to_string(),
            what: characteristic.to_string(),
        }),
    }
}

/// Whether an entry is a disposition that stands.
pub(crate) fn stands(shop: &Shop, entry: Seq) -> bool {
    let mut pieces = shop.pieces.values();
    pieces.any(|piece| piece.disposed.iter().any(|disposed| disposed.seq == entry))
}
