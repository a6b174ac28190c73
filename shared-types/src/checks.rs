//! How far a gauge can be trusted now: its checks, and the readings they put in doubt. A fold over the
//! history like all of the shop.

use std::collections::BTreeMap;

use crate::{BenchId, CharacteristicId, PartId, PieceId, Quantity, Reference, Seq, Verdict};

/// Checks kept in memory for one gauge: daily ones for most of a year. What reaches further back is in the record.
pub const CHECKS_KEPT_MAX: usize = 256;

/// Readings kept in memory for one gauge, to be listed where they are suspect. Beyond them it is said how many
/// more there are; the record lists all.
pub const SUSPECTS_KEPT_MAX: usize = 256;

/// One check of a gauge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Check {
    /// The entry of its reading.
    pub seq: Seq,
    /// When it came.
    pub at_us: i64,
    /// What it was checked against.
    pub reference: String,
    /// The reference's size.
    pub wanted: Quantity,
    /// What the gauge said.
    pub value: Quantity,
    /// How far off it may be there.
    pub limit: Quantity,
    /// What came of it.
    pub verdict: Verdict,
}

impl Check {
    /// How far the gauge was off, with its sign.
    #[must_use]
    pub fn error(&self) -> Option<Quantity> {
        self.value.minus(self.wanted)
    }

    /// Whether the gauge was right.
    #[must_use]
    pub fn is_good(&self) -> bool {
        self.verdict == Verdict::Pass
    }

    /// Whether it ends the doubt another check raises. A gauge that is right at zero may still be wrong at
    /// 25 mm, so a good zero speaks against a bad zero only.
    #[must_use]
    pub fn clears(&self, failed: &Self) -> bool {
        self.is_good() && (self.wanted.raw() != 0 || failed.wanted.raw() == 0)
    }
}

/// A check that waits for its reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checking {
    /// Where it was begun.
    pub bench: BenchId,
    /// Against what.
    pub reference: Reference,
}

/// A reading that counts, as far as it is needed to find it again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Counted {
    /// When it came.
    pub at_us: i64,
    /// Of which piece.
    pub piece: PieceId,
    /// Of which characteristic.
    pub characteristic: CharacteristicId,
    /// The value judged.
    pub value: Quantity,
    /// Its verdict, which stands.
    pub verdict: Verdict,
}

/// The checks of one gauge, and its readings between them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Checks {
    /// A check that waits for its reading.
    pub checking: Option<Checking>,
    /// The checks that count, oldest first, each with the number of readings between it and the next.
    kept: Vec<(Check, u64)>,
    /// Readings before the first of them.
    before: u64,
    /// Whether there were earlier checks, and the one of them that failed and was not followed by a good one.
    cut: Option<Option<Check>>,
    readings: BTreeMap<Seq, Counted>,
    /// By how much readings of a part are off that a person has said to be the part's own.
    pub(crate) usual: Option<(PartId, Quantity)>,
}

/// Readings in doubt because a check of their gauge failed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Suspects<'a> {
    /// The newest of them, oldest first.
    pub listed: Vec<(Seq, &'a Counted)>,
    /// How many there are beside those.
    pub more: u64,
    /// Whether there may be others, before the checks kept in memory.
    pub maybe_older: bool,
}

impl Checks {
    /// The checks that count, oldest first, at most [`CHECKS_KEPT_MAX`].
    pub fn all(&self) -> impl DoubleEndedIterator<Item = &Check> {
        self.kept.iter().map(|(check, _)| check)
    }

    /// The last check.
    #[must_use]
    pub fn last(&self) -> Option<&Check> {
        self.all().next_back()
    }

    /// The last failed check that no good one has cleared since: the gauge is not to be trusted now.
    #[must_use]
    pub fn failing(&self) -> Option<&Check> {
        let carried = self.cut.iter().flatten();
        let mut failing = None;
        for check in carried.chain(self.all()) {
            match failing {
                _ if !check.is_good() => failing = Some(check),
                Some(failed) if check.clears(failed) => failing = None,
                _ => {}
            }
        }
        failing
    }

    /// The readings that count since the last check, the newest first, at most [`SUSPECTS_KEPT_MAX`].
    pub fn since_check(&self) -> impl Iterator<Item = (Seq, &Counted)> {
        let last = self.last().map(|check| check.seq);
        let readings = self.readings.iter().rev();
        readings
            .map(|(seq, counted)| (*seq, counted))
            .take_while(move |(seq, _)| last.is_none_or(|last| *seq > last))
    }

    /// By how much readings of a part are off that a person has said to be the part's own, since a check failed.
    #[must_use]
    pub fn usual(&self, part: &PartId) -> Option<Quantity> {
        let (of, by) = self.usual.as_ref()?;
        (of == part).then_some(*by)
    }

    /// The readings in doubt: those between a failed check and the good ones on either side of it.
    #[must_use]
    pub fn suspects(&self) -> Suspects<'_> {
        let spans = self.suspect_spans();
        let counts = std::iter::once(self.before).chain(self.kept.iter().map(|(_, after)| *after));
        let all: u64 = counts
            .zip(&spans)
            .filter(|(_, suspect)| **suspect)
            .map(|(count, _)| count)
            .sum();
        let listed: Vec<_> = self
            .readings
            .iter()
            .filter(|(seq, _)| spans[self.span_of(**seq)])
            .map(|(seq, counted)| (*seq, counted))
            .collect();
        let more = all.saturating_sub(u64::try_from(listed.len()).unwrap_or(u64::MAX));
        Suspects {
            listed,
            more,
            maybe_older: self.cut.is_some() && spans[0],
        }
    }

    /// Whether the readings before the first check and after each are in doubt.
    fn suspect_spans(&self) -> Vec<bool> {
        let mut spans = vec![false; self.kept.len() + 1];
        let forward = |spans: &mut [bool], from: usize, failed: &Check| {
            for (at, span) in spans.iter_mut().enumerate().skip(from) {
                *span = true;
                if self
                    .kept
                    .get(at)
                    .is_some_and(|(next, _)| next.clears(failed))
                {
                    break;
                }
            }
        };
        if let Some(Some(failed)) = &self.cut {
            forward(&mut spans, 0, failed);
        }
        for (at, (failed, _)) in self.kept.iter().enumerate() {
            if failed.is_good() {
                continue;
            }
            forward(&mut spans, at + 1, failed);
            for back in (0..=at).rev() {
                spans[back] = true;
                if back > 0 && self.kept[back - 1].0.clears(failed) {
                    break;
                }
            }
        }
        spans
    }

    /// In which span a reading lies: how many checks came before it.
    fn span_of(&self, reading: Seq) -> usize {
        self.kept.partition_point(|(check, _)| check.seq < reading)
    }

    fn span(&mut self, reading: Seq) -> &mut u64 {
        match self.span_of(reading) {
            0 => &mut self.before,
            after => &mut self.kept[after - 1].1,
        }
    }

    pub(crate) fn checked(&mut self, check: Check) {
        self.checking = None;
        if !check.is_good() {
            self.usual = None;
        }
        if self.kept.len() == CHECKS_KEPT_MAX {
            let (oldest, after) = self.kept.remove(0);
            let carried = self.cut.take().flatten();
            let carried = match carried {
                _ if !oldest.is_good() => Some(oldest.clone()),
                Some(failed) if oldest.clears(&failed) => None,
                carried => carried,
            };
            self.cut = Some(carried);
            self.before = after;
            self.readings = self.readings.split_off(&oldest.seq);
        }
        self.kept.push((check, 0));
    }

    pub(crate) fn counted(&mut self, reading: Seq, counted: Counted) {
        if self.readings.insert(reading, counted).is_none() {
            *self.span(reading) += 1;
        }
        while self.readings.len() > SUSPECTS_KEPT_MAX {
            self.readings.pop_first();
        }
    }

    /// When a reading kept here came.
    pub(crate) fn at_us(&self, reading: Seq) -> Option<i64> {
        self.readings.get(&reading).map(|counted| counted.at_us)
    }

    /// Takes a reading or a check out. A reading too old to be kept stays in the number of those in doubt,
    /// which is the safe side.
    pub(crate) fn forget(&mut self, entry: Seq) {
        if self.readings.remove(&entry).is_some() {
            let span = self.span(entry);
            *span = span.saturating_sub(1);
        }
        let Some(at) = self.kept.iter().position(|(check, _)| check.seq == entry) else {
            return;
        };
        let (_, after) = self.kept.remove(at);
        match at {
            0 => self.before += after,
            _ => self.kept[at - 1].1 += after,
        }
    }
}
