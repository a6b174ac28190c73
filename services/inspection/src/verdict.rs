//! The verdict on one value: plain comparison with the limits, in integers.

use shared_types::{
    CharacteristicId, Correction, Finding, Limits, PieceId, Place, Quantity, Seq, Shop, Stage,
    Verdict,
};

use crate::derived;

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

/// A value that is a reading of a piece.
pub(crate) struct Taken<'a> {
    /// Of which piece.
    pub(crate) piece: &'a PieceId,
    /// The mating piece it was made for or tried in when the reading came.
    pub(crate) mate: Option<&'a PieceId>,
    /// The reading's entry.
    pub(crate) reading: Seq,
    /// The value; at 20 °C where it was corrected.
    pub(crate) value: Quantity,
    /// How it was corrected, or why not, where that was asked for.
    pub(crate) correction: Option<Correction>,
}

impl Taken<'_> {
    /// The finding that it is of `characteristic`, by the revision in force and the mating piece as measured.
    pub(crate) fn of(&self, shop: &Shop, characteristic: &CharacteristicId) -> Option<Finding> {
        let adopted = shop.parts.get(self.piece.part())?;
        let planned = adopted.plan.characteristic(characteristic)?;
        let (wanted, fitted) = shop.wanted(self.piece, self.mate, planned);
        let tried = planned.stage == Stage::FitUp && adopted.plan.fit.is_some();
        Some(Finding::Judged {
            piece: self.piece.clone(),
            characteristic: characteristic.clone(),
            revision: adopted.seq,
            value: self.value,
            verdict: judge(self.value, &wanted.limits)?,
            into: self.mate.filter(|_| tried).cloned(),
            fitted,
            derived: derived::completed(shop, &adopted.plan, self, characteristic),
            correction: self.correction,
            grounds: None,
        })
    }
}
