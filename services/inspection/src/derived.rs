//! What a reading completes: characteristics computed from the readings that stand.
//!
//! A difference is of the two readings that stand, whenever they were taken. A mean is of the last
//! readings since the piece was last laid down: between two times on the bench it may have been worked
//! over, and a mean over both would be of no piece there ever was.

use shared_types::{
    Attempt, CharacteristicId, Contribution, Derived, DerivedFinding, PartPlan, Piece, Quantity,
    Seq, Shop, SpreadWord, Uncertainty,
};

use crate::grounds::Asked;
use crate::known::{Known, lasting_and_repeating, rule};
use crate::verdict::Taken;

/// One value that goes into a computation.
type Input = (Seq, Quantity);

/// What `taken` completes as a reading of `characteristic`.
pub(crate) fn completed(
    shop: &Shop,
    plan: &PartPlan,
    taken: &Taken<'_>,
    characteristic: &CharacteristicId,
    uncertainty: Option<&Uncertainty>,
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
        uncertainty,
    };
    let computed = plan.characteristics.iter().filter_map(|c| {
        let derived = c.derived.as_ref()?;
        let (value, from) = inputs.value(derived)?;
        // Limits of a length for a difference of angles: the part file is refused before it comes here.
        let (wanted, _) = shop.wanted(taken.piece, taken.mate, c);
        let asked = Asked {
            rule: rule(shop, c.decision),
            limits: &wanted.limits,
            value,
            gauge: None,
            known: inputs.known(derived, &from, value),
            run: &[],
        };
        let (verdict, grounds) = asked.decide()?;
        Some(DerivedFinding {
            characteristic: c.id.clone(),
            value,
            verdict,
            from,
            grounds,
        })
    });
    computed.collect()
}

/// The readings as they stand once this one is in its place.
struct Inputs<'a> {
    piece: Option<&'a Piece>,
    taken: &'a Taken<'a>,
    characteristic: &'a CharacteristicId,
    /// What is known of this reading.
    uncertainty: Option<&'a Uncertainty>,
}

impl Inputs<'_> {
    /// The uncertainty of what is computed from readings; none where that of one of them is not known.
    fn known(&self, derived: &Derived, from: &[Seq], value: Quantity) -> Option<Known> {
        let each: Vec<(Seq, Quantity, Quantity, Option<u32>)> = from
            .iter()
            .map(|seq| {
                let known = self.known_of(*seq)?;
                let (lasting, repeating) = lasting_and_repeating(known)?;
                Some((*seq, lasting, repeating, known.freedom))
            })
            .collect::<Option<_>>()?;
        let square = |q: Quantity| u128::from(q.raw().unsigned_abs()).pow(2);
        let root = |sum: u128| {
            let root = sum.isqrt();
            let up = root + u128::from(root * root < sum);
            value.with_raw(i64::try_from(up).ok()?)
        };
        let repeating: u128 = each
            .iter()
            .map(|(_, _, repeating, _)| square(*repeating))
            .sum();
        let (lasting, repeating) = match derived {
            // Of two sizes a gauge's errors are two errors, each within its limit: neither do they cancel, nor must they
            // be the largest both.
            Derived::Difference { .. } => {
                let lasting = each.iter().map(|(_, lasting, ..)| square(*lasting));
                (root(lasting.sum())?, root(repeating)?)
            }
            // What lasts is the same in every reading and does not become smaller by averaging.
            Derived::Mean { .. } => {
                let n = i64::try_from(each.len()).ok()?;
                let sum: i64 = each.iter().map(|(_, lasting, ..)| lasting.raw()).sum();
                let lasting = value.with_raw((sum + n - 1) / n)?;
                let n = u128::try_from(n).ok()?;
                (lasting, root(repeating.div_ceil(n * n))?)
            }
        };
        let freedom = each.iter().filter_map(|(.., freedom)| *freedom).min();
        let mut parts = each.iter().map(|(seq, lasting, repeating, _)| {
            Some(Contribution {
                name: format!("reading {seq}"),
                standard: root(square(*lasting) + square(*repeating))?,
                spread: SpreadWord::Normal,
                averages: false,
            })
        });
        let parts = parts.by_ref().collect::<Option<_>>()?;
        Known::of_parts(lasting, repeating, freedom, parts)
    }

    fn known_of(&self, seq: Seq) -> Option<&Uncertainty> {
        if seq == self.taken.reading {
            return self.uncertainty;
        }
        let measured = self
            .piece
            .into_iter()
            .flat_map(|piece| piece.measured.values());
        let mut attempts = measured.flat_map(|measured| &measured.attempts);
        let attempt = attempts.find(|a| a.seq == seq && a.from.is_empty())?;
        attempt.grounds.as_ref()?.uncertainty.as_ref()
    }

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
