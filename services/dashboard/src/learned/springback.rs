//! Springback learned: what was thought of each sheet and radius, what formed angles say, and the next block.
//!
//! Only bends worked over a form block teach, since only there is it known how far the sheet was turned. Of each flange
//! its first reading counts: a later one may be of a flange that was worked again by hand.

use std::collections::{BTreeMap, BTreeSet};

use shared_types::{
    Adopted, Angle, Bend, CharacteristicId, DisplayUnits, PartId, PieceId, Quantity, Seq, Sheet,
    Shop, Springback,
};
use trends::springback::{Fold, Formed, Learned, NextBlock, Prior, Scatter, learn};

use super::series::units;
use super::{Untold, shown};

const DEGREE_MAS: i64 = 3_600_000;

/// The doubt about a predicted springback, as a standard deviation: published formulas are good to a degree or two.
const PREDICTED_DOUBT_MAS: i64 = DEGREE_MAS * 3 / 2;
/// The doubt about a stated one, which a strip has shown (an estimate without source).
const STATED_DOUBT_MAS: i64 = DEGREE_MAS / 2;
/// How far bends worked by hand, and the gauge, are thought to scatter (an estimate without source) …
const SCATTER_MAS: i64 = DEGREE_MAS / 2;
/// … and how many readings that guess is worth: few, so that the readings soon say it themselves.
const SCATTER_WORTH: u32 = 4;
/// Of the interval of the next bevel.
pub(crate) const CONFIDENCE: f64 = 0.95;

/// All of them.
pub(crate) struct Springbacks {
    pub(crate) seq: Seq,
    pub(crate) units: DisplayUnits,
    pub(crate) folds: Vec<Folded>,
    /// Parts with bends that no form block of their plan is known for.
    pub(crate) unblocked: Vec<PartId>,
    /// Formed angles left out because the revision they were judged by is no longer kept in memory.
    pub(crate) left_out: usize,
}

/// One alloy and temper, thickness and radius.
pub(crate) struct Folded {
    pub(crate) fold: Fold,
    pub(crate) thought: Thought,
    pub(crate) reads: Vec<Read>,
    pub(crate) learned: Result<Told, Untold>,
}

/// What was believed before any reading.
#[derive(Clone, Debug)]
pub(crate) struct Thought {
    /// Bent through.
    pub(crate) angle: Angle,
    pub(crate) back: Angle,
    /// Stated in the file of that part; otherwise predicted.
    pub(crate) stated: Option<PartId>,
    /// Readings count from this entry on: what is stated has come from those before it, and would count twice.
    pub(crate) since: Seq,
    /// In force, and since which entry: the newest counts.
    rank: (bool, bool, Seq),
}

/// One flange as it was first read.
#[derive(Clone, Debug)]
pub(crate) struct Read {
    pub(crate) piece: PieceId,
    pub(crate) name: String,
    pub(crate) seq: Seq,
    pub(crate) formed: Formed,
    /// The piece on which the block was measured; `None` where its nominal stands for it.
    pub(crate) block_of: Option<PieceId>,
}

impl Thought {
    /// Whether a reading came after what was thought.
    pub(crate) fn counts(&self, read: &Read) -> bool {
        read.seq > self.since
    }
}

impl Read {
    /// By how much less it stayed bent than the block turned it.
    pub(crate) fn back(&self) -> Option<Angle> {
        Angle::from_mas(self.formed.tool.mas() - self.formed.bend.mas())
    }
}

/// What the readings teach.
pub(crate) struct Told {
    /// The scatter of bends about their own springback.
    pub(crate) scatter: Quantity,
    /// How many readings count.
    pub(crate) n: usize,
    pub(crate) next: Vec<Next>,
}

/// The next block for one bend angle.
pub(crate) struct Next {
    pub(crate) angle: Angle,
    /// The springback its plan was computed with.
    pub(crate) planned: Angle,
    pub(crate) block: NextBlock,
    pub(crate) parts: Vec<PartId>,
}

/// A revision of a part, in force or former.
#[derive(Clone, Copy)]
struct Revision<'a> {
    seq: Seq,
    sheet: &'a Sheet,
    bends: &'a [Bend],
    adopted: &'a Adopted,
}

/// Angles wanted of plans in force: for each, what they were computed with and whose they are.
type Wanted = BTreeMap<Angle, (Angle, BTreeSet<PartId>)>;

#[derive(Default)]
struct Gathered {
    thoughts: Vec<Thought>,
    reads: Vec<Read>,
    wanted: Wanted,
}

impl Springbacks {
    /// What the shop knows.
    pub(crate) fn gather(shop: &Shop) -> Self {
        let mut folds: BTreeMap<Fold, Gathered> = BTreeMap::new();
        let (mut unblocked, mut left_out) = (Vec::new(), 0);
        for (part, adopted) in &shop.parts {
            let revisions = revisions(adopted);
            for revision in &revisions {
                for (bend, springback) in blocked(revision.bends) {
                    let gathered = folds.entry(revision.fold(bend)).or_default();
                    gathered.think(part, revision, bend, springback);
                }
            }
            let bends = &adopted.plan.bends;
            if bends.iter().any(|bend| bend.springback.is_none()) {
                unblocked.push(part.clone());
            }
            let formed: BTreeSet<&CharacteristicId> = revisions
                .iter()
                .flat_map(|revision| blocked(revision.bends))
                .map(|(_, springback)| &springback.formed)
                .collect();
            for piece in shop.pieces.keys().filter(|piece| piece.part() == part) {
                for id in &formed {
                    match read(shop, &revisions, piece, id) {
                        Some(Ok((fold, read))) => folds.entry(fold).or_default().reads.push(read),
                        Some(Err(Forgotten)) => left_out += 1,
                        None => {}
                    }
                }
            }
        }
        Self {
            seq: shop.seq,
            units: units(shop),
            folds: folds
                .into_iter()
                .filter_map(|(fold, gathered)| gathered.learned(fold))
                .collect(),
            unblocked,
            left_out,
        }
    }
}

impl Gathered {
    fn think(&mut self, part: &PartId, at: &Revision<'_>, bend: &Bend, springback: &Springback) {
        let current = at.adopted.seq == at.seq && at.adopted.withdrawn.is_none();
        self.thoughts.push(Thought {
            angle: bend.angle,
            back: springback.back,
            stated: springback.stated.then(|| part.clone()),
            since: if springback.stated { at.seq } else { Seq(0) },
            rank: (current, springback.stated, at.seq),
        });
        if current {
            let planned = (springback.back, BTreeSet::new());
            let wanted = self.wanted.entry(bend.angle).or_insert(planned);
            wanted.1.insert(part.clone());
        }
    }

    /// Nothing where nothing was thought of the fold, which cannot be: its readings come with a bend.
    fn learned(mut self, fold: Fold) -> Option<Folded> {
        // In force before former, stated before predicted, newer before older.
        let mut thought = self.thoughts.iter().max_by_key(|t| t.rank)?.clone();
        // Stated the same in revisions before.
        let same = self.thoughts.iter().filter(|t| {
            (&t.stated, t.angle, t.back) == (&thought.stated, thought.angle, thought.back)
        });
        thought.since = same.map(|t| t.since).min().unwrap_or(thought.since);
        self.reads.sort_by_key(|read| read.seq);
        let learned = told(&thought, &self.reads, self.wanted);
        Some(Folded {
            fold,
            thought,
            reads: self.reads,
            learned,
        })
    }
}

fn told(thought: &Thought, reads: &[Read], wanted: Wanted) -> Result<Told, Untold> {
    let angle = |mas: i64| Angle::from_mas(mas).ok_or(Untold::OutOfRange);
    let doubt_mas = match thought.stated {
        Some(_) => STATED_DOUBT_MAS,
        None => PREDICTED_DOUBT_MAS,
    };
    let prior = Prior {
        tool: angle(thought.angle.mas() + thought.back.mas())?,
        back: thought.back,
        doubt: angle(doubt_mas)?,
        scatter: Scatter::Guessed {
            sd: angle(SCATTER_MAS)?,
            worth: SCATTER_WORTH,
        },
    };
    let counting = reads.iter().filter(|read| thought.counts(read));
    let bends: Vec<Formed> = counting.map(|read| read.formed).collect();
    let learned: Learned = learn(&prior, &bends)?;
    let next = wanted.into_iter().map(|(angle, (planned, parts))| {
        let block = learned.next_block(angle, CONFIDENCE);
        Ok(Next {
            angle,
            planned,
            block: block.ok_or(Untold::OutOfRange)?,
            parts: parts.into_iter().collect(),
        })
    });
    Ok(Told {
        next: next.collect::<Result<_, Untold>>()?,
        scatter: shown(learned.scatter_mas, Quantity::Angle(Angle::ZERO))?,
        n: learned.n,
    })
}

fn revisions(adopted: &Adopted) -> Vec<Revision<'_>> {
    let former = adopted.former.iter().map(|former| Revision {
        seq: former.seq,
        sheet: &former.sheet,
        bends: &former.bends,
        adopted,
    });
    let now = Revision {
        seq: adopted.seq,
        sheet: &adopted.plan.sheet,
        bends: &adopted.plan.bends,
        adopted,
    };
    former.chain([now]).collect()
}

fn blocked(bends: &[Bend]) -> impl Iterator<Item = (&Bend, &Springback)> {
    bends
        .iter()
        .filter_map(|bend| Some((bend, bend.springback.as_ref()?)))
}

impl Revision<'_> {
    fn fold(&self, bend: &Bend) -> Fold {
        Fold {
            alloy: self.sheet.alloy.trim().to_owned(),
            thickness: self.sheet.thickness,
            radius: bend.radius,
        }
    }

    /// What this revision wanted of a characteristic.
    fn nominal(&self, id: &CharacteristicId) -> Option<Quantity> {
        if self.seq == self.adopted.seq {
            return Some(self.adopted.plan.characteristic(id)?.nominal);
        }
        let former = self.adopted.former.iter().find(|f| f.seq == self.seq)?;
        Some(former.wanted.get(id)?.0)
    }
}

/// A revision that is no longer kept in memory.
struct Forgotten;

/// The first reading of a flange that counts, with the block it was worked over; nothing where it was not read.
fn read(
    shop: &Shop,
    revisions: &[Revision<'_>],
    piece: &PieceId,
    id: &CharacteristicId,
) -> Option<Result<(Fold, Read), Forgotten>> {
    let state = shop.pieces.get(piece)?;
    let first = state.counting(id).min_by_key(|attempt| attempt.seq)?;
    let Some(revision) = revisions.iter().find(|r| r.seq == first.revision) else {
        return Some(Err(Forgotten));
    };
    let (bend, springback) =
        blocked(revision.bends).find(|(_, springback)| &springback.formed == id)?;
    let (between, block_of) = block(shop, revisions, revision, piece, springback, first.seq)?;
    let formed = Formed {
        tool: turned(between)?,
        bend: turned(first.value)?,
    };
    let plan = &revision.adopted.plan;
    let name = plan
        .words(id, piece.hand())
        .map_or(id.as_str(), |words| words.name);
    let read = Read {
        piece: piece.clone(),
        name: name.to_owned(),
        seq: first.seq,
        formed,
        block_of,
    };
    Some(Ok((revision.fold(bend), read)))
}

/// The angle of the block a flange was worked over: as measured last before it, with this piece if it was, else with
/// another of the part and hand, since one block serves them all; else its nominal.
fn block(
    shop: &Shop,
    revisions: &[Revision<'_>],
    revision: &Revision<'_>,
    piece: &PieceId,
    springback: &Springback,
    before: Seq,
) -> Option<(Quantity, Option<PieceId>)> {
    let nominal = revision.nominal(&springback.block)?;
    // One that was to have another angle is another block.
    let same = |of: Seq| {
        let of = revisions.iter().find(|r| r.seq == of);
        of.and_then(|of| of.nominal(&springback.block)) == Some(nominal)
    };
    let alike = shop
        .pieces
        .iter()
        .filter(|(other, _)| other.part() == piece.part() && other.hand() == piece.hand());
    let measured = alike.flat_map(|(other, state)| {
        let attempts = state.counting(&springback.block);
        attempts
            .filter(|attempt| attempt.seq < before && same(attempt.revision))
            .map(move |attempt| (other == piece, attempt.seq, attempt.value, other))
    });
    let last = measured.max_by_key(|(own, seq, ..)| (*own, *seq));
    Some(last.map_or((nominal, None), |(.., value, other)| {
        (value, Some(other.clone()))
    }))
}

/// From the angle between two faces to the angle turned through.
fn turned(between: Quantity) -> Option<Angle> {
    match between {
        Quantity::Angle(between) => Angle::from_mas(180 * DEGREE_MAS - between.mas()),
        Quantity::Length(_) => None,
    }
}
