//! The revisions of a part: the one in force, and what those before it wanted.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

use crate::{
    Attempt, Bend, Characteristic, CharacteristicId, Fitting, Limits, PartPlan, PieceId, Quantity,
    Seq, Sheet, Shop,
};

/// Former revisions kept in memory for one part. A reading judged by an older one is shown as judged by
/// other limits, which is the safe side; every revision stays in the history.
pub const FORMER_KEPT_MAX: usize = 16;

/// A part's revision in force.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Adopted {
    /// The entry it stands in.
    pub seq: Seq,
    /// When it came into force.
    pub at_us: i64,
    /// The revision.
    pub plan: Arc<PartPlan>,
    /// The entry by which the part was withdrawn, where its file is no longer in the build.
    pub withdrawn: Option<Seq>,
    /// The revisions before it, oldest first, at most [`FORMER_KEPT_MAX`].
    pub former: Vec<Former>,
}

/// What a revision that is no longer in force wanted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Former {
    /// The entry it stands in.
    pub seq: Seq,
    /// When it came into force.
    pub at_us: i64,
    /// Nominal and limits of each characteristic.
    pub wanted: BTreeMap<CharacteristicId, (Quantity, Limits)>,
    /// Its sheet: what was formed then was formed from it.
    pub sheet: Sheet,
    /// Its bends.
    pub bends: Vec<Bend>,
}

/// A standing value that was judged by another nominal or other limits than those in force.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outdated {
    /// Of which characteristic.
    pub characteristic: CharacteristicId,
    /// The reading's entry.
    pub seq: Seq,
    /// Since when.
    pub why: Changed,
}

/// What has changed since a value was judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Changed {
    /// The part's revision. When the one it was judged by came into force; `None` where that is no longer
    /// kept in memory.
    Plan(Option<i64>),
    /// What its nominals follow: another naming of the mating piece, or its reading, counts now.
    Fit,
}

impl Adopted {
    pub(crate) fn succeed(before: Option<Self>, seq: Seq, at_us: i64, plan: Arc<PartPlan>) -> Self {
        let mut former = Vec::new();
        if let Some(before) = before {
            former = before.former;
            if former.len() == FORMER_KEPT_MAX {
                former.remove(0);
            }
            let wanted = before.plan.characteristics.iter();
            former.push(Former {
                seq: before.seq,
                at_us: before.at_us,
                wanted: wanted
                    .map(|c| (c.id.clone(), (c.nominal, c.limits)))
                    .collect(),
                sheet: before.plan.sheet.clone(),
                bends: before.plan.bends.clone(),
            });
        }
        Self {
            seq,
            at_us,
            plan,
            withdrawn: None,
            former,
        }
    }
}

impl Shop {
    /// What a named mating piece makes of a piece's nominals now; `None` where the plan's own hold.
    #[must_use]
    pub fn fitting(&self, piece: &PieceId, mate: Option<&PieceId>) -> Option<&Fitting> {
        let adopted = self.parts.get(piece.part())?;
        // A revision that came after the naming wants other nominals: until the mating piece is named
        // again, the plan's own hold.
        self.pieces.get(piece)?.fitting(mate?, adopted.seq)
    }

    /// A characteristic as it is judged on a piece for that mating piece, and the entry that moved it.
    #[must_use]
    pub fn wanted<'a>(
        &self,
        piece: &PieceId,
        mate: Option<&PieceId>,
        characteristic: &'a Characteristic,
    ) -> (Cow<'a, Characteristic>, Option<Seq>) {
        let moved = characteristic.follows.as_ref().and_then(|_| {
            let fitting = self.fitting(piece, mate)?;
            let nominals = &fitting.nominals;
            let moved = nominals
                .iter()
                .find(|n| n.characteristic == characteristic.id)?;
            Some((moved, fitting.seq))
        });
        match moved {
            None => (Cow::Borrowed(characteristic), None),
            Some((moved, seq)) => {
                let mut wanted = characteristic.clone();
                wanted.nominal = moved.nominal;
                wanted.limits = moved.limits;
                (Cow::Owned(wanted), Some(seq))
            }
        }
    }

    /// The mating piece a piece is made for or tried in now.
    #[must_use]
    pub fn mate(&self, piece: &PieceId) -> Option<&PieceId> {
        self.pieces.get(piece)?.mate.as_ref()
    }

    /// The plan in force as it is for one piece: in the words and views of its hand, with nominals and
    /// limits as its mating piece has moved them.
    #[must_use]
    pub fn plan_for(&self, piece: &PieceId) -> Option<Cow<'_, PartPlan>> {
        let adopted = self.parts.get(piece.part())?;
        let mut plan = adopted.plan.of_hand(piece.hand());
        let fitting = self.fitting(piece, self.mate(piece));
        for moved in fitting.iter().flat_map(|fitting| &fitting.nominals) {
            let plan = plan.to_mut();
            let mut all = plan.characteristics.iter_mut();
            if let Some(c) = all.find(|c| c.id == moved.characteristic) {
                c.nominal = moved.nominal;
                c.limits = moved.limits;
            }
        }
        Some(plan)
    }

    /// The standing values of a piece that were judged by another nominal or other limits than those in
    /// force now. They stay as judged until somebody measures again.
    #[must_use]
    pub fn outdated(&self, piece: &PieceId) -> Vec<Outdated> {
        let (Some(adopted), Some(state)) = (self.parts.get(piece.part()), self.pieces.get(piece))
        else {
            return Vec::new();
        };
        // The usual case, for a whole shop at a glance.
        if adopted.former.is_empty() && state.fittings.is_empty() {
            return Vec::new();
        }
        let plan = adopted.plan.characteristics.iter();
        plan.filter_map(|c| {
            let attempt = state.standing(&c.id)?;
            let mate = attempt.into.as_ref().or(state.mate.as_ref());
            let (now, _) = self.wanted(piece, mate, c);
            let (was, why) = self.judged_by(piece, adopted, c, attempt);
            (was != Some((now.nominal, now.limits))).then(|| Outdated {
                characteristic: c.id.clone(),
                seq: attempt.seq,
                why,
            })
        })
        .collect()
    }

    /// Nominal and limits a value of a piece was judged by; `None` where they are no longer kept in memory.
    #[must_use]
    pub fn wanted_then(
        &self,
        piece: &PieceId,
        characteristic: &Characteristic,
        attempt: &Attempt,
    ) -> Option<(Quantity, Limits)> {
        let adopted = self.parts.get(piece.part())?;
        self.judged_by(piece, adopted, characteristic, attempt).0
    }

    /// Nominal and limits a value was judged by, and what has changed if they are others now.
    fn judged_by(
        &self,
        piece: &PieceId,
        adopted: &Adopted,
        c: &Characteristic,
        attempt: &Attempt,
    ) -> (Option<(Quantity, Limits)>, Changed) {
        let former = adopted.former.iter().find(|f| f.seq == attempt.revision);
        let why = if attempt.revision == adopted.seq {
            Changed::Fit
        } else {
            Changed::Plan(former.map(|f| f.at_us))
        };
        let was = match attempt.fitted {
            Some(seq) => self.pieces.get(piece).and_then(|state| {
                let fitting = state.fittings.iter().find(|f| f.seq == seq)?;
                let moved = fitting.nominals.iter().find(|n| n.characteristic == c.id)?;
                Some((moved.nominal, moved.limits))
            }),
            None if attempt.revision == adopted.seq => Some((c.nominal, c.limits)),
            None => former.and_then(|f| f.wanted.get(&c.id).copied()),
        };
        (was, why)
    }
}
