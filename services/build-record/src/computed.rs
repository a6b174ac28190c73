//! Values computed from readings: which still count after all corrections, and which stand.

use std::collections::{BTreeMap, BTreeSet};

use shared_types::{CharacteristicId, DerivedFinding, PieceId, Seq};

use crate::ledger::{Judged, Ledger};

/// One value computed from readings.
pub(crate) struct Computed<'a> {
    /// The reading that completed it, in its place.
    pub(crate) by: Judged<'a>,
    /// That reading's entry.
    pub(crate) reading: Seq,
    /// What was computed.
    pub(crate) derived: &'a DerivedFinding,
    /// Whether it is what the readings give that stand now.
    pub(crate) stands: bool,
}

type Place<'a> = (&'a PieceId, &'a CharacteristicId);

/// All that count of each characteristic, in the order they were computed. One falls with any reading it
/// was computed from.
pub(crate) fn computed<'a>(ledger: &Ledger<'a>) -> BTreeMap<Place<'a>, Vec<Computed<'a>>> {
    let attempts = ledger.attempts();
    let mut all: BTreeMap<Place<'a>, Vec<Computed<'a>>> = BTreeMap::new();
    for (&reading, sent) in &ledger.sent {
        let Some(by) = sent.counts else { continue };
        for derived in by.derived {
            let fell = |seq: &Seq| ledger.fell(*seq, by.order);
            if !derived.from.iter().any(fell) {
                let list = all.entry((by.piece, &derived.characteristic)).or_default();
                list.push(Computed {
                    by,
                    reading,
                    derived,
                    stands: false,
                });
            }
        }
    }
    for list in all.values_mut() {
        list.sort_by_key(|computed| (computed.by.order, computed.reading));
        let mut newest = list.iter_mut().rev();
        if let Some(stands) = newest.find(|c| is_current(ledger, &attempts, c)) {
            stands.stands = true;
        }
    }
    all
}

/// Whether what it was computed from are the last readings of what they are of, in the mating piece at hand.
fn is_current(
    ledger: &Ledger<'_>,
    attempts: &BTreeMap<Place<'_>, Vec<(Seq, Judged<'_>)>>,
    computed: &Computed<'_>,
) -> bool {
    let from = &computed.derived.from;
    let counts = from.iter().filter_map(|seq| ledger.sent.get(seq)?.counts);
    let places: BTreeSet<Place<'_>> = counts.map(|c| (c.piece, c.characteristic)).collect();
    let mut found = 0;
    for list in places.iter().filter_map(|place| attempts.get(place)) {
        let counting = list.iter().rev().filter(|(_, j)| ledger.at_hand(j));
        let last = counting.take_while(|(seq, _)| from.contains(seq));
        found += last.count();
    }
    found == from.len() && ledger.at_hand(&computed.by)
}
