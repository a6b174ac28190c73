//! One physical example of a part: what was measured on it, and what it is tried in.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::{
    CharacteristicId, Correction, Derived, Disposed, Early, FittedNominal, Grounds, PartPlan,
    PieceId, Quantity, Seq, Verdict,
};

/// Attempts kept in memory for one dimension of one piece. Voiding falls back over these; beyond them
/// the dimension counts as not measured, which is the safe side. All attempts stay in the history.
pub const ATTEMPTS_KEPT_MAX: usize = 64;

/// Namings of a mating piece kept in memory for one piece: more than anybody tries. A reading judged by an
/// older one is shown as judged by other limits, which is the safe side.
pub const FITTINGS_KEPT_MAX: usize = 16;

/// One physical example of a part.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Piece {
    /// What was measured on it.
    pub measured: BTreeMap<CharacteristicId, Measured>,
    /// The mating piece it is made for, or tried in now.
    pub mate: Option<PieceId>,
    /// What the mating pieces named made of its nominals, oldest first, at most [`FITTINGS_KEPT_MAX`].
    pub fittings: Vec<Fitting>,
    /// The entry by which it was laid down last.
    pub laid: Seq,
    /// The entry by which it was begun: laid down first at another stage than the blocks, which are tools
    /// and no piece. 0 where it was not.
    pub begun: Seq,
    /// Why it was begun before its first article was released.
    pub early: Option<Early>,
    /// What was done about its fails, oldest first, at most [`DISPOSED_KEPT_MAX`](crate::DISPOSED_KEPT_MAX).
    pub disposed: Vec<Disposed>,
}

/// What a mating piece made of nominals and limits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fitting {
    /// The entry that named it.
    pub seq: Seq,
    /// The mating piece.
    pub mate: PieceId,
    /// What moved; nothing where the plan's own nominals hold.
    pub nominals: Vec<FittedNominal>,
}

/// All readings of one characteristic of one piece.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Measured {
    /// Those that count, oldest first, at most [`ATTEMPTS_KEPT_MAX`]; see [`Piece::standing`].
    pub attempts: Vec<Attempt>,
    /// How often it was measured or computed altogether, voided readings included.
    pub times: u64,
}

/// One reading that counts, or one value computed from such.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Attempt {
    /// The reading's entry; of a computed value, that of the reading that completed it.
    pub seq: Seq,
    /// The revision it was judged by.
    pub revision: Seq,
    /// The value judged.
    pub value: Quantity,
    /// The verdict.
    pub verdict: Verdict,
    /// At fit-up: the mating piece it was tried in.
    pub into: Option<PieceId>,
    /// The entry that had moved nominal and limits.
    pub fitted: Option<Seq>,
    /// The readings it was computed from; empty for a reading.
    pub from: Vec<Seq>,
    /// How it was corrected to 20 °C, or why not, where that was asked for.
    pub correction: Option<Correction>,
    /// What the verdict rests on.
    pub grounds: Option<Arc<Grounds>>,
}

impl Attempt {
    /// A mean that lost one of its readings proves nothing any more, and neither does what was judged by it.
    fn without(&mut self, reading: Seq) {
        let mean = self.grounds.as_ref().and_then(|g| g.mean.as_ref());
        if mean.is_some_and(|mean| mean.of.contains(&reading)) {
            self.verdict = Verdict::Undecided;
        }
    }
}

impl Piece {
    /// What counts of a characteristic now, oldest first: what was tried in another mating piece does not.
    pub fn counting(
        &self,
        characteristic: &CharacteristicId,
    ) -> impl DoubleEndedIterator<Item = &Attempt> {
        self.counting_in(characteristic, self.mate.as_ref())
    }

    /// What counts with that mating piece.
    fn counting_in<'a>(
        &'a self,
        characteristic: &CharacteristicId,
        mate: Option<&'a PieceId>,
    ) -> impl DoubleEndedIterator<Item = &'a Attempt> {
        let attempts = self.measured.get(characteristic).map(|m| &m.attempts);
        attempts
            .into_iter()
            .flatten()
            .filter(move |a| a.into.is_none() || a.into.as_ref() == mate)
    }

    /// What stands for a characteristic: its last reading that counts, or the value computed from the
    /// readings that stand now.
    #[must_use]
    pub fn standing(&self, characteristic: &CharacteristicId) -> Option<&Attempt> {
        self.standing_in(characteristic, self.mate.as_ref())
    }

    /// What stands with that mating piece.
    pub(crate) fn standing_in<'a>(
        &'a self,
        characteristic: &CharacteristicId,
        mate: Option<&'a PieceId>,
    ) -> Option<&'a Attempt> {
        self.counting_in(characteristic, mate)
            .rev()
            .find(|attempt| self.is_current(attempt, mate))
    }

    /// A reading always is. A value computed from readings is while these are the last of what they are of.
    fn is_current(&self, attempt: &Attempt, mate: Option<&PieceId>) -> bool {
        if attempt.from.is_empty() {
            return true;
        }
        let is_input = |a: &&Attempt| a.from.is_empty() && attempt.from.contains(&a.seq);
        let mut found = 0;
        for characteristic in self.measured.keys() {
            let all = self.counting_in(characteristic, mate);
            let all = all.filter(is_input).count();
            let last = self.counting_in(characteristic, mate).rev();
            if all != last.take_while(is_input).count() {
                return false;
            }
            found += all;
        }
        found == attempt.from.len()
    }

    /// Whether a characteristic needs no further reading: it is right, and nothing computed from it is missing.
    pub(crate) fn settled(&self, plan: &PartPlan, characteristic: &CharacteristicId) -> bool {
        self.settled_in(plan, characteristic, self.mate.as_ref())
    }

    /// The same with that mating piece.
    pub(crate) fn settled_in(
        &self,
        plan: &PartPlan,
        characteristic: &CharacteristicId,
        mate: Option<&PieceId>,
    ) -> bool {
        self.is_right_in(characteristic, mate) && !self.asked_again(plan, characteristic, mate)
    }

    pub(crate) fn is_right_in(
        &self,
        characteristic: &CharacteristicId,
        mate: Option<&PieceId>,
    ) -> bool {
        let standing = self.standing_in(characteristic, mate);
        standing.is_some_and(|a| {
            a.verdict == Verdict::Pass || self.used_as_is(characteristic, a).is_some()
        })
    }

    /// A mean asks until it has its readings. A difference asks again for what it is computed from where a
    /// correction or a new revision has left it without a value though both of them stand.
    fn asked_again(
        &self,
        plan: &PartPlan,
        characteristic: &CharacteristicId,
        mate: Option<&PieceId>,
    ) -> bool {
        let computed = plan.characteristics.iter().filter_map(|c| {
            let derived = c.derived.as_ref()?;
            derived
                .inputs()
                .contains(characteristic)
                .then_some((&c.id, derived))
        });
        let stands = |id| self.standing_in(id, mate).is_some();
        computed.into_iter().any(|(id, derived)| {
            let lacking = match derived {
                Derived::Mean { .. } => true,
                Derived::Difference { of, .. } => of.iter().all(stands),
            };
            lacking && !stands(id)
        })
    }

    /// What the naming of a mating piece made of the nominals, where it was named after entry `after`.
    #[must_use]
    pub fn fitting(&self, mate: &PieceId, after: Seq) -> Option<&Fitting> {
        let last = self.fittings.iter().rev().find(|f| &f.mate == mate)?;
        (last.seq > after).then_some(last)
    }

    pub(crate) fn push(&mut self, characteristic: &CharacteristicId, attempt: Attempt) {
        let measured = self.measured.entry(characteristic.clone()).or_default();
        measured.times += 1;
        if measured.attempts.len() == ATTEMPTS_KEPT_MAX {
            measured.attempts.remove(0);
        }
        measured.attempts.push(attempt);
    }

    pub(crate) fn mated(&mut self, fitting: Fitting) {
        self.mate = Some(fitting.mate.clone());
        if self.fittings.len() == FITTINGS_KEPT_MAX {
            self.fittings.remove(0);
        }
        self.fittings.push(fitting);
    }

    /// Takes a reading out, and with it all that was computed from it or followed it; or a disposition.
    pub(crate) fn forget(&mut self, reading: Seq) {
        for measured in self.measured.values_mut() {
            measured
                .attempts
                .retain(|a| a.seq != reading && !a.from.contains(&reading));
            for attempt in &mut measured.attempts {
                attempt.without(reading);
            }
        }
        self.fittings
            .retain(|fitting| fitting.nominals.iter().all(|n| n.from != reading));
        self.disposed.retain(|disposed| disposed.seq != reading);
    }
}
