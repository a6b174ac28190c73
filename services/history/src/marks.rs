//! The checkpoints a history is checked against, met one by one while its tree grows.

use rusqlite::Connection;
use shared_types::Seq;

use crate::fault::Whose;
use crate::merkle::Frontier;
use crate::schema::{Identity, whole};
use crate::writer::KEPT_EVERY;
use crate::{Checkpoint, Fault, Faults};

/// Checkpoints of one source, met in order of size while the tree grows.
pub(crate) struct Marks {
    whose: Whose,
    /// Largest first: the next one to meet is the last. With each the peaks kept beside it.
    ahead: Vec<(Checkpoint, Option<Vec<u8>>)>,
    /// The largest size that agreed.
    agreed: u64,
    /// How many agreed.
    pub(crate) met: u64,
    /// The first that does not agree brackets the fault; later ones say no more.
    reported: bool,
}

impl Marks {
    fn new(whose: Whose, mut ahead: Vec<(Checkpoint, Option<Vec<u8>>)>) -> Self {
        ahead.sort_by_key(|(checkpoint, _)| std::cmp::Reverse(checkpoint.size));
        Self {
            whose,
            ahead,
            agreed: 0,
            met: 0,
            reported: false,
        }
    }

    pub(crate) fn given(against: &[Checkpoint], identity: &Identity, faults: &mut Faults) -> Self {
        let ours = against
            .iter()
            .filter(|checkpoint| is_ours(checkpoint, Whose::Given, identity, faults))
            .map(|checkpoint| (checkpoint.clone(), None))
            .collect();
        let mut marks = Self::new(Whose::Given, ours);
        marks.meet(&Frontier::default(), faults);
        marks
    }

    pub(crate) fn kept(
        conn: &Connection,
        identity: &Identity,
        faults: &mut Faults,
    ) -> rusqlite::Result<Self> {
        let mut query = conn.prepare("SELECT size, note, peaks FROM checkpoint ORDER BY size")?;
        let mut rows = query.query([])?;
        let mut kept = Vec::new();
        let mut due = KEPT_EVERY;
        while let Some(row) = rows.next()? {
            let size = row.get::<_, i64>(0)?.unsigned_abs();
            while due < size {
                faults.add(gone(due));
                due += KEPT_EVERY;
            }
            if due == size {
                due += KEPT_EVERY;
            }
            match row.get::<_, String>(1)?.parse::<Checkpoint>() {
                Err(error) => faults.add(Fault::Kept {
                    size,
                    why: format!("cannot be read: {error}"),
                }),
                Ok(checkpoint) if checkpoint.size != size => faults.add(Fault::Kept {
                    size,
                    why: format!("says it is of {} entries", checkpoint.size),
                }),
                Ok(checkpoint) => {
                    if is_ours(&checkpoint, Whose::Kept, identity, faults) {
                        kept.push((checkpoint, Some(row.get(2)?)));
                    }
                }
            }
        }
        let newest: i64 = conn.query_row("SELECT coalesce(max(seq), 0) FROM entry", [], |row| {
            row.get(0)
        })?;
        while whole(due) <= newest {
            faults.add(gone(due));
            due += KEPT_EVERY;
        }
        Ok(Self::new(Whose::Kept, kept))
    }

    pub(crate) fn unsigned(&self) -> u64 {
        let unsigned = self.ahead.iter().filter(|(c, _)| c.signature.is_none());
        unsigned.map(|_| 1).sum()
    }

    /// Compares every checkpoint of the tree's present size with it.
    pub(crate) fn meet(&mut self, frontier: &Frontier, faults: &mut Faults) {
        while let Some((checkpoint, peaks)) = self
            .ahead
            .pop_if(|(checkpoint, _)| checkpoint.size == frontier.size())
        {
            let size = checkpoint.size;
            if checkpoint.root == frontier.root() {
                self.agreed = size;
                self.met += 1;
                if peaks.is_some_and(|peaks| peaks != frontier.to_bytes()) {
                    let why = "has other peaks kept beside it than its entries have".to_owned();
                    faults.add(Fault::Kept { size, why });
                }
            } else if !std::mem::replace(&mut self.reported, true) {
                faults.add(Fault::Rewritten {
                    agreed: self.agreed,
                    size,
                    whose: self.whose,
                });
            }
        }
    }

    /// What is still ahead covers entries that are not there. The largest says how many.
    pub(crate) fn end(&mut self, frontier: &Frontier, faults: &mut Faults) {
        if let Some((checkpoint, _)) = self.ahead.first() {
            faults.add(Fault::Cut {
                newest: Seq(frontier.size()),
                size: checkpoint.size,
                whose: self.whose,
            });
        }
    }
}

fn gone(size: u64) -> Fault {
    Fault::Kept {
        size,
        why: "is missing".to_owned(),
    }
}

/// Whether a checkpoint is of this history, and signed by its key where it is signed at all.
fn is_ours(
    checkpoint: &Checkpoint,
    whose: Whose,
    identity: &Identity,
    faults: &mut Faults,
) -> bool {
    let size = checkpoint.size;
    if checkpoint.origin != identity.origin {
        faults.add(Fault::Origin {
            size,
            whose,
            found: checkpoint.origin.clone(),
            expected: identity.origin.clone(),
        });
        return false;
    }
    if checkpoint.signature.is_some() && !checkpoint.is_signed_by(&identity.key) {
        faults.add(Fault::Signature { size, whose });
    }
    true
}
