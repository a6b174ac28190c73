//! Where a fail ends: worked over and measured again, used as it is, or scrapped. Each by a person, with a
//! reason, and each can be taken back; every attempt stays.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::{
    Attempt, CharacteristicId, Due, Entry, Event, Piece, PieceId, Seq, Shop, UnknownWord, Verdict,
};

/// Dispositions kept in memory for one piece, more than a piece worth keeping ever has. Beyond it the oldest
/// is left out, but never a scrap: what was used as it is then counts as open again, which is the safe side.
pub const DISPOSED_KEPT_MAX: usize = 64;

/// What is done about a fail.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Disposition {
    /// It is worked over and measured again.
    Rework,
    /// It stays as it is. For the builder's own record: the plans, the designer and the inspector decide.
    UseAsIs,
    /// The piece is not used.
    Scrap,
}

/// All dispositions, in the order they are offered.
pub const DISPOSITIONS: [Disposition; 3] = [
    Disposition::Rework,
    Disposition::UseAsIs,
    Disposition::Scrap,
];

impl Disposition {
    /// Its word in a form and in JSON.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Rework => "rework",
            Self::UseAsIs => "use-as-is",
            Self::Scrap => "scrap",
        }
    }

    /// As a person says it.
    #[must_use]
    pub const fn spoken(self) -> &'static str {
        match self {
            Self::Rework => "rework",
            Self::UseAsIs => "use as is",
            Self::Scrap => "scrap",
        }
    }
}

impl fmt::Display for Disposition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.spoken())
    }
}

impl FromStr for Disposition {
    type Err = UnknownWord;
    fn from_str(text: &str) -> Result<Self, UnknownWord> {
        let mut all = DISPOSITIONS.into_iter();
        all.find(|disposition| disposition.word() == text)
            .ok_or_else(|| UnknownWord {
                found: text.to_owned(),
                expected: "rework, use-as-is, scrap",
            })
    }
}

/// A disposition that stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Disposed {
    /// Its entry.
    pub seq: Seq,
    /// Of which characteristic; `None` for the whole piece.
    pub characteristic: Option<CharacteristicId>,
    /// The reading that stood when the person decided.
    pub reading: Option<Seq>,
    /// What is done.
    pub disposition: Disposition,
    /// Who decided.
    pub by: String,
    /// Why.
    pub reason: String,
}

impl Piece {
    /// The disposition by which the piece is not used; nothing more is measured on it.
    #[must_use]
    pub fn scrapped(&self) -> Option<&Disposed> {
        let mut all = self.disposed.iter();
        all.find(|disposed| disposed.disposition == Disposition::Scrap)
    }

    /// The disposition by which this very reading is used as it is. A later reading is another, and open.
    #[must_use]
    pub fn used_as_is(
        &self,
        characteristic: &CharacteristicId,
        attempt: &Attempt,
    ) -> Option<&Disposed> {
        let of_it = |disposed: &&Disposed| {
            disposed.disposition == Disposition::UseAsIs
                && disposed.reading == Some(attempt.seq)
                && disposed.characteristic.as_ref() == Some(characteristic)
        };
        self.disposed.iter().rev().find(of_it)
    }

    /// The newest rework that was decided for a characteristic, or for the whole piece, after entry `after`.
    #[must_use]
    pub fn rework(&self, characteristic: &CharacteristicId, after: Seq) -> Option<&Disposed> {
        let of_it = |disposed: &&Disposed| {
            let of = disposed.characteristic.as_ref();
            disposed.disposition == Disposition::Rework
                && disposed.seq > after
                && of.is_none_or(|of| of == characteristic)
        };
        self.disposed.iter().rev().find(of_it)
    }

    /// Whether a characteristic is right now: what stands is a pass, or is used as it is.
    #[must_use]
    pub fn is_right(&self, characteristic: &CharacteristicId) -> bool {
        self.is_right_in(characteristic, self.mate.as_ref())
    }

    /// The readings that failed before the pass that stands, and after which no rework was decided: it was
    /// measured until it passed. Oldest first.
    #[must_use]
    pub fn until_it_passed(&self, characteristic: &CharacteristicId) -> Vec<&Attempt> {
        let passed = self.standing(characteristic);
        let Some(passed) = passed.filter(|a| a.verdict == Verdict::Pass && a.from.is_empty())
        else {
            return Vec::new();
        };
        let reworked = |fail: &Attempt| {
            let rework = self.rework(characteristic, fail.seq);
            rework.is_some_and(|rework| rework.seq < passed.seq)
        };
        // An undecided reading is repeated by its rule: that is no fail.
        let failed = |a: &Attempt| !matches!(a.verdict, Verdict::Pass | Verdict::Undecided);
        self.counting(characteristic)
            .take_while(|a| a.seq != passed.seq)
            .filter(|a| failed(a) && a.from.is_empty() && !reworked(a))
            .collect()
    }

    pub(crate) fn dispose(&mut self, disposed: Disposed) {
        if self.disposed.len() == DISPOSED_KEPT_MAX {
            let is_scrap = |d: &Disposed| d.disposition == Disposition::Scrap;
            let oldest = self.disposed.iter().position(|d| !is_scrap(d));
            self.disposed.remove(oldest.unwrap_or(0));
        }
        self.disposed.push(disposed);
    }
}

impl Shop {
    /// A disposition is in the history: the route goes on where it left nothing to measure.
    pub(crate) fn disposed(&mut self, entry: &Entry) {
        let Event::Disposed {
            bench: _,
            piece,
            characteristic,
            reading,
            disposition,
            by,
            reason,
        } = &entry.fact.event
        else {
            return;
        };
        let disposed = Disposed {
            seq: entry.seq,
            characteristic: characteristic.clone(),
            reading: *reading,
            disposition: *disposition,
            by: by.clone(),
            reason: reason.clone(),
        };
        let state = self.pieces.entry(piece.clone()).or_default();
        state.dispose(disposed);
        if *disposition == Disposition::UseAsIs {
            self.on_from(piece, characteristic.as_ref());
        }
        self.settle_due();
    }

    /// Where that characteristic of the piece is due on a bench and needs no reading any more, the one after it is.
    fn on_from(&mut self, piece: &PieceId, characteristic: Option<&CharacteristicId>) {
        let lies = self.benches.iter().find_map(|(id, bench)| {
            let (lies, stage) = bench.on_bench.as_ref()?;
            let (due, _) = bench.due.as_ref()?;
            (lies == piece && Some(due) == characteristic).then(|| (id.clone(), *stage))
        });
        let (Some((bench, stage)), Some(after)) = (lies, characteristic) else {
            return;
        };
        let following = self.following(piece, stage, after);
        let due = following.map(|c| (c.id.clone(), Due::Route));
        self.benches.entry(bench).or_default().due = due;
    }
}
