//! The verdict on one reading: the rule, the uncertainty and the limits that hold for it. Compared in integers.

use shared_types::{
    CharacteristicId, Correction, Finding, GaugeId, Limits, PieceId, Place, Quantity, Rule, Seq,
    Shop, Stage, Temperatures, Verdict,
};

use crate::decision::REPEATS_MAX;
use crate::derived;
use crate::grounds::Asked;
use crate::known::{Beside, Known, beside, budget, instrument, rule};
use crate::thermal::thermal;

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
    /// The gauge it came from; none where nobody remembers.
    pub(crate) gauge: Option<&'a GaugeId>,
    /// How it was corrected, or why not, where that was asked for.
    pub(crate) correction: Option<Correction>,
    /// The temperatures given at its bench, and when it came.
    pub(crate) felt: (&'a Temperatures, i64),
}

impl Taken<'_> {
    /// The finding that it is of `characteristic`, by the revision in force and the mating piece as measured.
    pub(crate) fn of(&self, shop: &Shop, characteristic: &CharacteristicId) -> Option<Finding> {
        let adopted = shop.parts.get(self.piece.part())?;
        let planned = adopted.plan.characteristic(characteristic)?;
        let (wanted, fitted) = shop.wanted(self.piece, self.mate, planned);
        let tried = planned.stage == Stage::FitUp && adopted.plan.fit.is_some();
        let instrument = self
            .gauge
            .and_then(|gauge| instrument(shop, gauge, self.value));
        let budget = instrument.and_then(|setup| {
            let of = (self.piece, &setup.id);
            let beside = Beside {
                temperature: thermal(shop, self.felt, of, self.correction.as_ref()),
                ..beside(shop, &setup.id)
            };
            budget(setup, self.value, beside)
        });
        let known = budget.and_then(|budget| Known::of(&budget, self.value));
        let uncertainty = known.as_ref().map(|known| known.uncertainty.clone());
        let gauge = instrument.map(|setup| &setup.id).or(self.gauge).cloned();
        let rule = rule(shop, planned.decision);
        let run = match (rule, &known) {
            (Rule::Guarded(_), Some(_)) => {
                let by = (adopted.seq, fitted, gauge.as_ref());
                self.run(shop, characteristic, by)
            }
            _ => Vec::new(),
        };
        let asked = Asked {
            rule,
            limits: &wanted.limits,
            value: self.value,
            gauge,
            known,
            run: &run,
        };
        let (verdict, grounds) = asked.decide()?;
        let derived = derived::completed(
            shop,
            &adopted.plan,
            self,
            characteristic,
            uncertainty.as_ref(),
        );
        Some(Finding::Judged {
            piece: self.piece.clone(),
            characteristic: characteristic.clone(),
            revision: adopted.seq,
            value: self.value,
            verdict,
            into: self.mate.filter(|_| tried).cloned(),
            fitted,
            derived,
            correction: self.correction,
            grounds,
        })
    }

    /// The undecided readings that it repeats, and itself: by the same gauge and limits, one after the other, since the
    /// piece was last laid down.
    fn run(
        &self,
        shop: &Shop,
        characteristic: &CharacteristicId,
        (revision, fitted, gauge): (Seq, Option<Seq>, Option<&GaugeId>),
    ) -> Vec<(Seq, Quantity)> {
        let piece = shop.pieces.get(self.piece);
        let before = piece.filter(|piece| piece.mate.as_ref() == self.mate);
        let before = before.into_iter().flat_map(|piece| {
            let counting = piece.counting(characteristic).rev();
            counting.take_while(|a| {
                let by = a
                    .grounds
                    .as_ref()
                    .and_then(|grounds| grounds.gauge.as_ref());
                a.verdict == Verdict::Undecided
                    && (a.revision, a.fitted, by) == (revision, fitted, gauge)
                    && a.seq > piece.laid
                    // Worked over, it is no longer the size that those readings were of.
                    && piece.rework(characteristic, a.seq).is_none()
            })
        });
        let before = before.filter(|a| a.seq != self.reading);
        let most = usize::try_from(REPEATS_MAX).expect("it is small") - 1;
        let mut run: Vec<_> = before.take(most).map(|a| (a.seq, a.value)).collect();
        run.reverse();
        run.push((self.reading, self.value));
        run
    }
}
