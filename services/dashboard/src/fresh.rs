//! The newest committed entries, handed over in memory, so that a busy history need not be read and
//! decoded again for the screens. A shortcut and nothing more: what is no longer here is read from disk.

use std::collections::VecDeque;
use std::sync::{Mutex, MutexGuard, PoisonError};

use shared_types::{Entry, Seq};

/// Entries kept for a follower that is a little behind: two full batches of the spine, well under a
/// megabyte.
const ENTRIES_MAX: usize = 1024;

/// Committed entries that the screens have not folded in yet.
#[derive(Debug, Default)]
pub struct Fresh(Mutex<VecDeque<Entry>>);

impl Fresh {
    /// Takes entries that follow those taken before. They must be on disk: they are shown from now on.
    /// It never waits for a screen: where too many are left lying the oldest are let go.
    pub fn push(&self, committed: impl Iterator<Item = Entry>) {
        let mut entries = self.entries();
        for entry in committed {
            if entries.len() == ENTRIES_MAX {
                entries.pop_front();
            }
            entries.push_back(entry);
        }
    }

    /// The entries that follow `seq` in exchange for `taken`, which is empty, where all of them are still
    /// here; older ones are forgotten. Nothing is copied, and both buffers keep their room.
    pub(crate) fn take_after(&self, seq: Seq, taken: &mut VecDeque<Entry>) {
        let mut entries = self.entries();
        while entries.front().is_some_and(|entry| entry.seq <= seq) {
            entries.pop_front();
        }
        if entries.front().is_some_and(|e| e.seq.0 == seq.0 + 1) {
            std::mem::swap(&mut *entries, taken);
        }
    }

    /// Nothing that holds it can panic halfway through a change.
    fn entries(&self) -> MutexGuard<'_, VecDeque<Entry>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::{BenchId, Event, Fact, Finding};

    fn entries(range: std::ops::RangeInclusive<u64>) -> impl Iterator<Item = Entry> {
        range.map(|seq| Entry {
            seq: Seq(seq),
            fact: Fact {
                at_us: 0,
                event: Event::Operator {
                    bench: BenchId::new("bench-1").unwrap(),
                    name: String::new(),
                },
                finding: Finding::Noted,
            },
        })
    }

    fn after(fresh: &Fresh, seq: u64) -> Vec<u64> {
        let mut taken = VecDeque::new();
        fresh.take_after(Seq(seq), &mut taken);
        taken.iter().map(|entry| entry.seq.0).collect()
    }

    #[test]
    fn what_follows_is_given_once_and_never_with_a_gap() {
        let fresh = Fresh::default();
        assert!(after(&fresh, 0).is_empty());
        fresh.push(entries(5..=8));
        assert!(after(&fresh, 3).is_empty(), "entry 4 is not here");
        assert_eq!(after(&fresh, 6), [7, 8]);
        assert!(after(&fresh, 6).is_empty());
    }

    #[test]
    fn a_follower_too_far_behind_is_sent_to_the_disk_and_then_served_again() {
        let fresh = Fresh::default();
        fresh.push(entries(1..=3000));
        assert!(after(&fresh, 1).is_empty());
        assert_eq!(after(&fresh, 2999), [3000]);
        assert_eq!(fresh.entries().len(), 0);
    }
}
