//! What a mating piece makes of a part's nominals: each that follows moves one for one with the reading
//! that stands there, and the limits move along.

use shared_types::{
    BenchId, Finding, FitSource, FittedNominal, Limits, PartPlan, Piece, PieceId, Quantity,
    Refusal, Shop,
};

use crate::acts;

pub(crate) fn mated(
    shop: &Shop,
    bench: &BenchId,
    piece: &PieceId,
    mate: &PieceId,
) -> Result<Finding, Refusal> {
    acts::known(shop, bench)?;
    let plan = acts::made(shop, piece)?;
    acts::used(shop, piece)?;
    acts::used(shop, mate)?;
    let fit = plan.fit.as_ref().ok_or_else(|| Refusal::NoFit {
        part: plan.part.to_string(),
    })?;
    if mate.part() != &fit.into {
        return Err(Refusal::NotThatMate {
            piece: piece.to_string(),
            mate: mate.to_string(),
            into: fit.into.to_string(),
        });
    }
    let mating = acts::made(shop, mate)?;
    let nominals = match fit.source {
        FitSource::Plan => Vec::new(),
        FitSource::Measured => follow(plan, mating, shop.pieces.get(mate), mate)?,
    };
    Ok(Finding::Fitted { nominals })
}

fn follow(
    plan: &PartPlan,
    mating: &PartPlan,
    measured: Option<&Piece>,
    mate: &PieceId,
) -> Result<Vec<FittedNominal>, Refusal> {
    let mut nominals = Vec::new();
    for c in &plan.characteristics {
        let Some(follows) = &c.follows else { continue };
        let standing = measured.and_then(|piece| piece.standing(&follows.characteristic));
        let standing = standing.ok_or_else(|| {
            let words = mating.words(&follows.characteristic, mate.hand());
            let lacking = words.map_or(follows.characteristic.as_str(), |words| words.name);
            Refusal::MateNotMeasured {
                mate: mate.to_string(),
                lacking: lacking.to_owned(),
            }
        })?;
        let by = standing.value.minus(follows.planned);
        let moved = by.and_then(|by| {
            let limits = &c.limits;
            let (lower, upper) = (moved(limits.lower(), by)?, moved(limits.upper(), by)?);
            Some(FittedNominal {
                characteristic: c.id.clone(),
                nominal: plus(c.nominal, by)?,
                limits: Limits::new(lower, upper).ok()?,
                from: standing.seq,
            })
        });
        nominals.push(moved.ok_or(Refusal::WrongKind)?);
    }
    Ok(nominals)
}

/// A limit moved; `None` out of range, and none stays none.
#[expect(
    clippy::option_option,
    reason = "no limit and no possible limit are two things"
)]
fn moved(limit: Option<Quantity>, by: Quantity) -> Option<Option<Quantity>> {
    limit.map_or(Some(None), |limit| plus(limit, by).map(Some))
}

fn plus(quantity: Quantity, by: Quantity) -> Option<Quantity> {
    quantity
        .same_kind(by)
        .then(|| quantity.with_raw(quantity.raw() + by.raw()))?
}
