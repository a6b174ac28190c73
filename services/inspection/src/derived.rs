//! What a reading completes: characteristics computed from the readings that stand.
//!
//! A difference is of the two readings that stand, whenever they were taken. A mean is of the last
//! readings since the piece was last laid down: between two times on the bench it may have been worked
//! over, and a mean over both would be of no piece there ever was.

use shared_types::{
    Attempt, CharacteristicId, Derived, DerivedFinding, PartPlan, Piece, Quantity, Seq, Shop,
};

use crate::verdict::{Taken, judge};

/// One value that goes into a computation.
type Input = (Seq, Quantity);

/// What `taken` completes as a reading of `characteristic`.
pub(crate) fn completed(
    shop: &Shop,
    plan: &PartPlan,
    taken: &Taken<'_>,
    characteristic: &CharacteristicId,
) -> Vec<DerivedFinding> {
    let piece = shop.pieces.get(taken.piece);
    // What was tried in a mating piece that is no longer the one at hand counts for nothing now.
    if piece.is_some_and(|piece| piece.mate.as_ref() != taken.mate) {
        return Vec::new();
    }
    let inputs = Inputs {
        piece,
        taken,
        characteristic,
    };
    let computed = plan.characteristics.iter().filter_map(|c| {
        let derived = c.derived.as_ref()?;
        let (value, from) = inputs.value(derived)?;
        // Limits of a length for a difference of angles: the part file is refused before it comes here.
        let (wanted, _) = shop.wanted(taken.piece, taken.mate, c);
        Some(DerivedFinding {
            characteristic: c.id.clone(),
            value,
            verdict: judge(value, &wanted.limits)?,
            from,
            grounds: None,
        })
    });
    computed.collect()
}

/// The readings as they stand once this one is in its place.
struct Inputs<'a> {
    piece: Option<&'a Piece>,
    taken: &'a Taken<'a>,
    characteristic: &'a CharacteristicId,
}

impl Inputs<'_> {
    fn value(&self, derived: &Derived) -> Option<(Quantity, Vec<Seq>)> {
        if !derived.inputs().contains(self.characteristic) {
            return None;
        }
        match derived {
            Derived::Difference { of, absolute } => {
                let [first, second] = of.each_ref().map(|of| self.standing(of));
                let ((first_seq, first), (second_seq, second)) = (first?, second?);
                let difference = first.minus(second)?;
                let value = if *absolute {
                    difference.with_raw(difference.raw().abs())?
                } else {
                    difference
                };
                Some((value, vec![first_seq, second_seq]))
            }
            Derived::Mean { of, readings } => {
                let laid = self.piece.map_or(Seq(0), |piece| piece.laid);
                let (mut run, wanted) = (self.others(of), usize::from(*readings));
                run.retain(|(seq, _)| *seq > laid);
                run.push((self.taken.reading, self.taken.value));
                let last = run.get(run.len().checked_sub(wanted)?..)?;
                if last.iter().any(|(seq, _)| *seq <= laid) {
                    return None;
                }
                let (from, values): (Vec<Seq>, Vec<Quantity>) = last.iter().copied().unzip();
                Some((Quantity::mean(&values)?, from))
            }
        }
    }

    fn standing(&self, of: &CharacteristicId) -> Option<Input> {
        if of == self.characteristic {
            return Some((self.taken.reading, self.taken.value));
        }
        self.others(of).last().copied()
    }

    /// The readings that count, without this one: where it is moved it stands elsewhere still.
    fn others(&self, of: &CharacteristicId) -> Vec<Input> {
        let reading = |a: &&Attempt| a.from.is_empty() && a.seq != self.taken.reading;
        let counting = self.piece.into_iter().flat_map(|piece| piece.counting(of));
        counting.filter(reading).map(|a| (a.seq, a.value)).collect()
    }
}
