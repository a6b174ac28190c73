//! The first article: the piece of a part that is made first and measured at every stage before the others
//! are begun. The left and the right pieces of a pair have one each, since each hand is formed over blocks of
//! its own. What was released stays released until an entry it rests on is taken back.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::{
    CharacteristicId, Disposition, Entry, Event, Finding, Hand, PartId, PieceId, Seq, Shop, Stage,
};

/// Mating pieces in which a first article is tried where nothing else is stated: one fit may be chance.
pub const FIRST_ARTICLE_MATES: u32 = 2;

/// What a build asks of first articles.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FirstArticle {
    /// Whether other pieces wait for it.
    pub required: bool,
    /// In how many different mating pieces it is tried.
    pub mates: u32,
}

impl Default for FirstArticle {
    fn default() -> Self {
        Self {
            required: true,
            mates: FIRST_ARTICLE_MATES,
        }
    }
}

/// The pieces of one part, and of one hand where it is made in pairs.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Batch {
    /// The piece begun first that is not scrapped.
    pub first: Option<PieceId>,
    /// By what it is released.
    pub released: Option<Released>,
}

/// A first article that has passed every stage.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Released {
    /// The entry that completed it.
    pub seq: Seq,
    /// When.
    pub at_us: i64,
    /// The piece.
    pub piece: PieceId,
    /// The part's revision in force then.
    pub revision: Seq,
    /// The readings and dispositions it rests on.
    rests_on: Vec<Seq>,
}

/// Why a piece was begun before its first article was released.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Early {
    /// The entry that says so.
    pub seq: Seq,
    /// The reason stated.
    pub reason: String,
}

/// What a first article lacks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unreleased {
    /// The first article.
    pub first: PieceId,
    /// Open dimensions by stage: how many of how many.
    pub stages: Vec<(Stage, usize, usize)>,
    /// Where it goes into another part: which, the mating pieces it was right in, and how many are wanted.
    pub mates: Option<(PartId, usize, usize)>,
}

impl fmt::Display for Unreleased {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let stages = self.stages.iter();
        let mut lacks: Vec<String> = stages
            .map(|(stage, open, all)| format!("{open} of {all} at stage {stage}"))
            .collect();
        if let Some((into, found, wanted)) = &self.mates {
            lacks.push(format!(
                "its fit-up in {wanted} different {into} (found {found})"
            ));
        }
        f.write_str(&lacks.join(", "))
    }
}

/// Of which batch a piece is.
pub(crate) type BatchKey = (PartId, Option<Hand>);

fn key(piece: &PieceId) -> BatchKey {
    (piece.part().clone(), piece.hand())
}

impl Shop {
    /// The batch a piece belongs to; `None` before any of its pieces was begun.
    #[must_use]
    pub fn batch(&self, piece: &PieceId) -> Option<&Batch> {
        self.batches.get(&key(piece))
    }

    /// What a build asks of first articles.
    #[must_use]
    pub fn first_article(&self) -> FirstArticle {
        self.setup
            .as_ref()
            .map_or_else(FirstArticle::default, |s| s.first_article)
    }

    /// What the first article lacks before this piece may be begun without a reason; `None` where it may, or
    /// was begun already.
    #[must_use]
    pub fn waits_for(&self, piece: &PieceId) -> Option<Unreleased> {
        self.waits(piece).then(|| self.lacking(piece)).flatten()
    }

    /// Whether a piece waits for its first article, without working out what that one lacks.
    #[must_use]
    pub fn waits(&self, piece: &PieceId) -> bool {
        let begun = self.pieces.get(piece).is_some_and(|p| p.begun > Seq(0));
        let batch = self.batch(piece);
        !begun
            && self.first_article().required
            && batch.is_some_and(|batch| batch.released.is_none() && batch.first.is_some())
    }

    /// What the first article of a piece's batch lacks; `None` where there is none yet, where it is released,
    /// and where nothing is lacking.
    #[must_use]
    pub fn lacking(&self, piece: &PieceId) -> Option<Unreleased> {
        let batch = self.batch(piece).filter(|batch| batch.released.is_none())?;
        let first = batch.first.as_ref()?;
        let plan = self.parts.get(first.part())?.plan.as_ref();
        let open = self.left_open(first);
        let stages = plan.stages().filter_map(|stage| {
            let left = open.iter().filter(|o| o.characteristic.stage == stage);
            let left = left.count();
            (left > 0).then(|| (stage, left, plan.at(stage).count()))
        });
        let mates = self.mates_wanted(first).and_then(|(into, wanted)| {
            let found = self.mates_right(first).len();
            (found < wanted).then_some((into, found, wanted))
        });
        Some(Unreleased {
            first: first.clone(),
            stages: stages.collect(),
            mates,
        })
    }

    /// The characteristics whose nominal or limits are others now than when the batch was released, and those
    /// that were not there then; `None` where that revision is no longer kept in memory. What is released stays
    /// so: it is told, and a person decides.
    #[must_use]
    pub fn changed_since_release(&self, released: &Released) -> Option<Vec<CharacteristicId>> {
        let Some(adopted) = self.parts.get(released.piece.part()) else {
            return Some(Vec::new());
        };
        if adopted.seq == released.revision {
            return Some(Vec::new());
        }
        let was = adopted.former.iter().find(|f| f.seq == released.revision)?;
        let now = adopted.plan.characteristics.iter();
        let changed = now.filter(|c| was.wanted.get(&c.id) != Some(&(c.nominal, c.limits)));
        Some(changed.map(|c| c.id.clone()).collect())
    }

    /// In how many different mating pieces a first article is to be right: as stated, but no more than there are.
    fn mates_wanted(&self, first: &PieceId) -> Option<(PartId, usize)> {
        let plan = self.parts.get(first.part())?.plan.as_ref();
        let fit = plan.fit.as_ref()?;
        plan.at(Stage::FitUp).next()?;
        let stated = fit.first_article_mates;
        let stated = stated.unwrap_or(self.first_article().mates);
        let mating = self.parts.get(&fit.into);
        let there = mating.into_iter().flat_map(|a| a.plan.pieces());
        let there = there.filter(|mate| self.scrapped(mate).is_none()).count();
        let stated = usize::try_from(stated).unwrap_or(usize::MAX);
        // Every stage is passed, so it was tried in one at the least.
        Some((fit.into.clone(), stated.min(there).max(1)))
    }

    /// The mating pieces in which all of its fit-up is right.
    fn mates_right(&self, first: &PieceId) -> Vec<&PieceId> {
        let (Some(adopted), Some(state)) = (self.parts.get(first.part()), self.pieces.get(first))
        else {
            return Vec::new();
        };
        let plan = adopted.plan.as_ref();
        let tried = plan
            .at(Stage::FitUp)
            .flat_map(|c| state.measured.get(&c.id));
        let tried = tried.flat_map(|m| &m.attempts);
        let mut mates: Vec<&PieceId> = tried.filter_map(|a| a.into.as_ref()).collect();
        mates.sort();
        mates.dedup();
        mates.retain(|mate| {
            let mut all = plan.at(Stage::FitUp);
            all.all(|c| state.settled_in(plan, &c.id, Some(mate)))
        });
        mates
    }

    /// The entries a first article rests on, where it has passed every stage.
    fn passed(&self, first: &PieceId) -> Option<Vec<Seq>> {
        let plan = self.parts.get(first.part())?.plan.as_ref();
        let state = self.pieces.get(first).filter(|s| s.scrapped().is_none())?;
        let wanted = self.mates_wanted(first);
        let by_mate = wanted.is_some();
        let mut all = plan.characteristics.iter().rev();
        let here = |stage| !(by_mate && stage == Stage::FitUp);
        // From the end, where an unfinished piece has nothing yet.
        if !all.all(|c| !here(c.stage) || self.is_decided(plan, first, Some(state), c, None)) {
            return None;
        }
        let mates = match wanted {
            Some((_, wanted)) => Some(self.mates_right(first)).filter(|m| m.len() >= wanted)?,
            None => Vec::new(),
        };
        let mut rests_on = Vec::new();
        for c in &plan.characteristics {
            let of = if state.standing(&c.id).is_none() && c.stage == Stage::Blocks {
                self.tool(plan, first, &c.id)
            } else {
                Some(state)
            };
            let mates: Vec<Option<&PieceId>> = if here(c.stage) {
                vec![None]
            } else {
                mates.iter().copied().map(Some).collect()
            };
            for (of, mate) in of
                .into_iter()
                .flat_map(|of| mates.iter().map(move |m| (of, *m)))
            {
                let Some(stands) = of.standing_in(&c.id, mate) else {
                    continue;
                };
                rests_on.push(stands.seq);
                rests_on.extend(&stands.from);
                rests_on.extend(of.used_as_is(&c.id, stands).map(|d| d.seq));
            }
        }
        rests_on.sort_unstable();
        rests_on.dedup();
        Some(rests_on)
    }

    /// A piece is laid down: begun, where it is laid down first and not at the blocks.
    pub(crate) fn begun(&mut self, seq: Seq, piece: &PieceId, stage: Stage, reason: Option<&str>) {
        let waits = self.waits_for(piece).is_some();
        let state = self.pieces.entry(piece.clone()).or_default();
        state.laid = seq;
        if stage == Stage::Blocks || state.begun > Seq(0) {
            return;
        }
        state.begun = seq;
        state.early = reason.filter(|_| waits).map(|reason| Early {
            seq,
            reason: reason.to_owned(),
        });
        let batch = self.batches.entry(key(piece)).or_default();
        batch.first.get_or_insert_with(|| piece.clone());
    }

    /// What an entry, folded in already, changes about first articles.
    pub(crate) fn release(&mut self, entry: &Entry) {
        let at = (entry.seq, entry.fact.at_us);
        match &entry.fact.event {
            Event::Voided { reading, .. } | Event::Assigned { reading, .. } => {
                self.taken_back(*reading, at);
            }
            Event::Disposed {
                piece, disposition, ..
            } => {
                if *disposition == Disposition::Scrap {
                    self.first_again(&key(piece));
                }
                self.try_release(&key(piece), at);
            }
            Event::Mated { piece, .. } => self.try_release(&key(piece), at),
            Event::Adopted(plan) => {
                for hand in [None, Some(Hand::Left), Some(Hand::Right)] {
                    self.try_release(&(plan.part.clone(), hand), at);
                }
            }
            _ => {}
        }
        if let Finding::Judged { piece, .. } = &entry.fact.finding {
            self.try_release(&key(piece), at);
        }
    }

    fn try_release(&mut self, key: &BatchKey, (seq, at_us): (Seq, i64)) {
        let Some(batch) = self.batches.get(key).filter(|b| b.released.is_none()) else {
            return;
        };
        let Some(first) = &batch.first else { return };
        let (Some(rests_on), Some(adopted)) = (self.passed(first), self.parts.get(first.part()))
        else {
            return;
        };
        let released = Released {
            seq,
            at_us,
            piece: first.clone(),
            revision: adopted.seq,
            rests_on,
        };
        if let Some(batch) = self.batches.get_mut(key) {
            batch.released = Some(released);
        }
    }

    /// An entry counts no more, or elsewhere: what rested on it is released only if it still has all it needs.
    fn taken_back(&mut self, gone: Seq, at: (Seq, i64)) {
        let keys: Vec<BatchKey> = self.batches.keys().cloned().collect();
        for key in keys {
            self.first_again(&key);
            let released = self.batches[&key].released.as_ref();
            if released.is_some_and(|r| r.rests_on.contains(&gone)) {
                let rests_on = released.and_then(|r| self.passed(&r.piece));
                let batch = self.batches.entry(key.clone()).or_default();
                batch.released = batch.released.take().and_then(|released| {
                    Some(Released {
                        rests_on: rests_on?,
                        ..released
                    })
                });
            }
            self.try_release(&key, at);
        }
    }

    /// The piece begun first that is not scrapped.
    fn first_again(&mut self, key: &BatchKey) {
        let any = PieceId::new(key.0.clone(), 1).expect("numbers begin at 1");
        let any = match key.1 {
            Some(hand) => any.handed(hand),
            None => any,
        };
        let begun = self.siblings(&any);
        let begun = begun.filter(|(_, state)| state.begun > Seq(0) && state.scrapped().is_none());
        let first = begun.min_by_key(|(_, state)| state.begun);
        let first = first.map(|(piece, _)| piece.clone());
        if let Some(batch) = self.batches.get_mut(key) {
            batch.first = first;
        }
    }
}
