//! When a piece is complete: nothing of it is open.

use crate::{
    Attempt, Characteristic, CharacteristicId, Disposed, PartPlan, Piece, PieceId, Shop, Stage,
};

/// A dimension of a piece that is open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Open<'a> {
    /// Which.
    pub characteristic: &'a Characteristic,
    /// What stands, and is no pass; `None` where nothing does.
    pub stands: Option<&'a Attempt>,
    /// The rework decided since.
    pub rework: Option<&'a Disposed>,
}

impl Shop {
    /// What of a piece is open, in route order; empty for one that is complete. Of the blocks, which are tools
    /// and made once, nothing is where another piece of that part and hand has them right.
    #[must_use]
    pub fn left_open<'a>(&'a self, piece: &'a PieceId) -> Vec<Open<'a>> {
        let Some(adopted) = self.parts.get(piece.part()) else {
            return Vec::new();
        };
        let (plan, state) = (adopted.plan.as_ref(), self.pieces.get(piece));
        let open = plan.characteristics.iter();
        open.filter(|c| {
            !self.is_decided(plan, piece, state, c, state.and_then(|s| s.mate.as_ref()))
        })
        .map(|characteristic| {
            let stands = state.and_then(|state| state.standing(&characteristic.id));
            Open {
                characteristic,
                stands,
                rework: stands.and_then(|a| state?.rework(&characteristic.id, a.seq)),
            }
        })
        .collect()
    }

    /// Whether nothing of a piece is open. A scrapped piece never is complete.
    #[must_use]
    pub fn is_complete(&self, piece: &PieceId) -> bool {
        let (Some(adopted), Some(state)) = (self.parts.get(piece.part()), self.pieces.get(piece))
        else {
            return false;
        };
        let plan = adopted.plan.as_ref();
        state.scrapped().is_none()
            // From the end, where an unfinished piece has nothing yet.
            && plan.characteristics.iter().rev().all(|c| {
                self.is_decided(plan, piece, Some(state), c, state.mate.as_ref())
            })
    }

    /// Whether a piece is scrapped.
    #[must_use]
    pub fn scrapped(&self, piece: &PieceId) -> Option<&Disposed> {
        self.pieces.get(piece)?.scrapped()
    }

    pub(crate) fn is_decided(
        &self,
        plan: &PartPlan,
        piece: &PieceId,
        state: Option<&Piece>,
        c: &Characteristic,
        mate: Option<&PieceId>,
    ) -> bool {
        if state.is_some_and(|state| state.settled_in(plan, &c.id, mate)) {
            return true;
        }
        let untouched = state.is_none_or(|s| s.standing(&c.id).is_none());
        c.stage == Stage::Blocks && untouched && self.tool(plan, piece, &c.id).is_some()
    }

    /// Another piece of that part and hand under which a dimension of the blocks was found right. A scrapped
    /// one serves as well: the blocks are not scrapped with it.
    pub(crate) fn tool(
        &self,
        plan: &PartPlan,
        piece: &PieceId,
        characteristic: &CharacteristicId,
    ) -> Option<&Piece> {
        self.siblings(piece)
            .find(|(_, state)| state.settled(plan, characteristic))
            .map(|(_, state)| state)
    }

    /// The pieces known of the same part and hand, in order of their numbers.
    pub(crate) fn siblings<'a>(
        &'a self,
        piece: &PieceId,
    ) -> impl Iterator<Item = (&'a PieceId, &'a Piece)> {
        let (part, hand) = (piece.part().clone(), piece.hand());
        let from = PieceId::new(part.clone(), 1).expect("numbers begin at 1");
        self.pieces
            .range(from..)
            .take_while(move |(other, _)| other.part() == &part)
            .filter(move |(other, _)| other.hand() == hand)
    }
}
