//! What a mating piece that is named makes of a piece: which readings count, and by what it is judged.

use crate::{Finding, Fitting, PieceId, Seq, Shop};

impl Shop {
    pub(crate) fn mated(&mut self, seq: Seq, piece: &PieceId, mate: &PieceId, finding: &Finding) {
        let nominals = match finding {
            Finding::Fitted { nominals } => nominals.clone(),
            _ => Vec::new(),
        };
        let fitting = Fitting {
            seq,
            mate: mate.clone(),
            nominals,
        };
        self.pieces.entry(piece.clone()).or_default().mated(fitting);
        // Tried in another, other readings count: the route is gone through anew.
        for bench in self.benches.values_mut() {
            if bench
                .on_bench
                .as_ref()
                .is_some_and(|(lies, _)| lies == piece)
            {
                bench.due = None;
            }
        }
        self.settle_due();
    }
}
