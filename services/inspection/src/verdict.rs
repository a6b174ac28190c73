//! The verdict on one value: plain comparison with the limits, in integers.

use shared_types::{CharacteristicId, Finding, Limits, PieceId, Place, Quantity, Shop, Verdict};

/// Judges a value against limits that belong to the tolerance interval; `None` where one is a length and
/// the other an angle.
#[must_use]
pub fn judge(value: Quantity, limits: &Limits) -> Option<Verdict> {
    Some(match limits.place(value)? {
        Place::Below => Verdict::TooSmall,
        Place::Within => Verdict::Pass,
        Place::Above => Verdict::TooLarge,
    })
}

/// The finding that `value` is a reading of `characteristic` of `piece`, by the revision in force.
pub(crate) fn finding(
    shop: &Shop,
    piece: &PieceId,
    characteristic: &CharacteristicId,
    value: Quantity,
) -> Option<Finding> {
    let adopted = shop.parts.get(piece.part())?;
    let wanted = adopted.plan.characteristic(characteristic)?;
    Some(Finding::Judged {
        piece: piece.clone(),
        characteristic: characteristic.clone(),
        revision: adopted.seq,
        value,
        verdict: judge(value, &wanted.limits)?,
        into: None,
        fitted: None,
        derived: Vec::new(),
    })
}
