//! Gauge studies: several hands measure several pieces several times, so that it is known how much of what a
//! gauge shows is the gauge. A fold over the history like all of the shop.

use serde::{Deserialize, Serialize};

use crate::{Quantity, Seq};

/// Pieces of one study: ten are usual; more than a person lays out in a row is a mistake.
pub const STUDY_PIECES: std::ops::RangeInclusive<u8> = 2..=30;
/// Hands of one study: one tells how a gauge repeats, two or more how hands differ as well.
pub const STUDY_APPRAISERS: std::ops::RangeInclusive<usize> = 1..=6;
/// How often each piece is measured by each hand: once tells nothing of repeating.
pub const STUDY_TRIALS: std::ops::RangeInclusive<u8> = 2..=10;
/// Readings of one study: an afternoon's work.
pub const STUDY_READINGS_MAX: usize = 600;
/// Studies kept in memory for one gauge: the one that holds and those it is compared with. All are in the history.
pub const STUDIES_KEPT_MAX: usize = 4;

/// What is to be measured, by whom and how often.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StudyPlan {
    /// What is measured: `width of ten hatch strips`.
    pub of: String,
    /// The width of the tolerance the gauge is to serve, where the study is for one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width: Option<Quantity>,
    /// How many pieces.
    pub pieces: u8,
    /// Who measures.
    pub appraisers: Vec<String>,
    /// How often each measures each piece.
    pub trials: u8,
}

/// What a person does about a study.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum StudyAct {
    /// The gauge's next readings are of this study, and of no piece of the build.
    Begun(StudyPlan),
    /// A study that was left, or of which a reading was voided, goes on.
    Resumed(Seq),
    /// The next readings are ordinary ones again.
    Left,
}

/// One place of a study's table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StudyCell {
    /// Which appraiser, from 0.
    pub appraiser: u8,
    /// Which piece, from 0.
    pub piece: u8,
    /// The how-manieth time, from 0.
    pub trial: u8,
}

/// How much one hand scatters on one piece with a gauge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Repeats {
    /// The study's entry.
    pub study: Seq,
    /// Standard deviation, rounded up to a picometre or milliarcsecond.
    pub sd: Quantity,
    /// Degrees of freedom behind it.
    pub freedom: u32,
}

/// A study and what was read in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Study {
    /// The entry it was begun by.
    pub seq: Seq,
    /// When it was begun.
    pub at_us: i64,
    /// What is measured.
    pub plan: StudyPlan,
    /// By appraiser, then piece, then trial.
    readings: Vec<Option<(Seq, Quantity)>>,
}

/// The studies of one gauge.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Studies {
    /// The study the next reading is of.
    under_way: Option<Seq>,
    /// Oldest first.
    kept: Vec<Study>,
}

impl StudyPlan {
    /// How many readings it takes.
    #[must_use]
    pub fn size(&self) -> usize {
        self.appraisers.len() * usize::from(self.pieces) * usize::from(self.trials)
    }

    fn place(&self, cell: StudyCell) -> Option<usize> {
        let (appraiser, piece) = (usize::from(cell.appraiser), usize::from(cell.piece));
        let (pieces, trials) = (usize::from(self.pieces), usize::from(self.trials));
        let inside =
            appraiser < self.appraisers.len() && piece < pieces && cell.trial < self.trials;
        inside.then(|| (appraiser * pieces + piece) * trials + usize::from(cell.trial))
    }
}

impl Study {
    fn new(seq: Seq, at_us: i64, plan: &StudyPlan) -> Self {
        Self {
            seq,
            at_us,
            plan: plan.clone(),
            readings: vec![None; plan.size()],
        }
    }

    /// What was read at a place of the table.
    #[must_use]
    pub fn at(&self, cell: StudyCell) -> Option<(Seq, Quantity)> {
        *self.readings.get(self.plan.place(cell)?)?
    }

    /// How many readings it has.
    #[must_use]
    pub fn done(&self) -> usize {
        self.readings.iter().flatten().count()
    }

    /// Whether nothing is missing.
    #[must_use]
    pub fn is_complete(&self) -> bool {
        self.readings.iter().all(Option::is_some)
    }

    /// What is to be measured next: all pieces by one hand, then by the next, then again; the pieces each time in
    /// another order, so that nobody remembers what a piece measured and what drifts with time falls on all alike.
    #[must_use]
    pub fn next(&self) -> Option<StudyCell> {
        let appraisers = u8::try_from(self.plan.appraisers.len()).ok()?;
        let rounds = (0..self.plan.trials)
            .flat_map(|trial| (0..appraisers).map(move |appraiser| (trial, appraiser)));
        rounds
            .flat_map(|(trial, appraiser)| {
                let order = shuffled(
                    self.plan.pieces,
                    [self.seq.0, trial.into(), appraiser.into()],
                );
                order.into_iter().map(move |piece| StudyCell {
                    appraiser,
                    piece,
                    trial,
                })
            })
            .find(|cell| self.at(*cell).is_none())
    }

    /// Values by appraiser, piece and trial; `None` while any is missing.
    #[must_use]
    pub fn table(&self) -> Option<Vec<Vec<Vec<Quantity>>>> {
        let values: Option<Vec<Quantity>> = self
            .readings
            .iter()
            .map(|r| r.map(|(_, value)| value))
            .collect();
        let values = values?;
        let (pieces, trials) = (usize::from(self.plan.pieces), usize::from(self.plan.trials));
        let by_piece =
            |of_one: &[Quantity]| of_one.chunks(trials).map(<[Quantity]>::to_vec).collect();
        Some(values.chunks(pieces * trials).map(by_piece).collect())
    }

    /// How the gauge repeats: the pooled standard deviation of readings of one piece by one hand. Sums over differences
    /// are exact; only the root is rounded, up. `None` while a reading is missing.
    #[must_use]
    pub fn repeats(&self) -> Option<Repeats> {
        let trials = usize::from(self.plan.trials);
        let values: Option<Vec<Quantity>> = self
            .readings
            .iter()
            .map(|r| r.map(|(_, value)| value))
            .collect();
        let values = values?;
        let first = *values.first()?;
        let mut squares: u128 = 0;
        for cell in values.chunks(trials) {
            let off = |value: &Quantity| i128::from(value.raw()) - i128::from(cell[0].raw());
            let sum: i128 = cell.iter().map(off).sum();
            let sum_of_squares: i128 = cell.iter().map(|value| off(value).pow(2)).sum();
            // n Σd² − (Σd)², never below zero.
            squares += (i128::from(self.plan.trials) * sum_of_squares - sum.pow(2)).unsigned_abs();
        }
        let cells = values.len() / trials;
        let freedom = u32::try_from(cells * (trials - 1)).ok()?;
        let variance = squares.div_ceil(u128::from(self.plan.trials) * u128::from(freedom));
        let root = variance.isqrt();
        let up = root + u128::from(root * root < variance);
        Some(Repeats {
            study: self.seq,
            sd: first.with_raw(i64::try_from(up).ok()?)?,
            freedom,
        })
    }

    fn cell_of(&self, reading: Seq) -> Option<usize> {
        let is_it = |r: &Option<(Seq, Quantity)>| r.is_some_and(|(seq, _)| seq == reading);
        self.readings.iter().position(is_it)
    }
}

impl Studies {
    /// The study the next reading is of.
    #[must_use]
    pub fn under_way(&self) -> Option<&Study> {
        self.kept
            .iter()
            .find(|study| Some(study.seq) == self.under_way)
    }

    /// Those kept, oldest first, at most [`STUDIES_KEPT_MAX`].
    pub fn all(&self) -> impl DoubleEndedIterator<Item = &Study> {
        self.kept.iter()
    }

    /// The study begun by entry `seq`.
    #[must_use]
    pub fn get(&self, seq: Seq) -> Option<&Study> {
        self.kept.iter().find(|study| study.seq == seq)
    }

    /// How the gauge repeats, by its last complete study.
    #[must_use]
    pub fn repeats(&self) -> Option<Repeats> {
        self.kept.iter().rev().find_map(Study::repeats)
    }

    /// Whether an entry is a reading that counts in one of them.
    #[must_use]
    pub fn has(&self, reading: Seq) -> bool {
        self.kept
            .iter()
            .any(|study| study.cell_of(reading).is_some())
    }

    pub(crate) fn act(&mut self, seq: Seq, at_us: i64, act: &StudyAct) {
        match act {
            StudyAct::Begun(plan) => {
                if self.kept.len() == STUDIES_KEPT_MAX {
                    self.kept.remove(0);
                }
                self.kept.push(Study::new(seq, at_us, plan));
                self.under_way = Some(seq);
            }
            StudyAct::Resumed(study) => self.under_way = Some(*study),
            StudyAct::Left => self.under_way = None,
        }
    }

    pub(crate) fn leave(&mut self) {
        self.under_way = None;
    }

    pub(crate) fn read(&mut self, study: Seq, cell: StudyCell, reading: Seq, value: Quantity) {
        let Some(of) = self.kept.iter_mut().find(|s| s.seq == study) else {
            return;
        };
        if let Some(place) = of.plan.place(cell).and_then(|at| of.readings.get_mut(at)) {
            *place = Some((reading, value));
        }
        if of.is_complete() {
            self.under_way = None;
        }
    }

    pub(crate) fn forget(&mut self, reading: Seq) {
        for study in &mut self.kept {
            if let Some(at) = study.cell_of(reading) {
                study.readings[at] = None;
            }
        }
    }
}

/// 0 to `count` in an order that depends on `seed` alone: splitmix64 (Steele, Lea and Flood 2014) and a Fisher–Yates
/// shuffle, so that the same history always asks for the same piece.
fn shuffled(count: u8, seed: [u64; 3]) -> Vec<u8> {
    let mut state = seed.iter().fold(0_u64, |state, part| {
        mixed(state ^ part.wrapping_add(0x9e37_79b9_7f4a_7c15))
    });
    let mut order: Vec<u8> = (0..count).collect();
    for last in (1..count).rev() {
        state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let other = mixed(state) % (u64::from(last) + 1);
        order.swap(usize::from(last), usize::try_from(other).unwrap_or(0));
    }
    order
}

fn mixed(z: u64) -> u64 {
    let z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan() -> StudyPlan {
        StudyPlan {
            of: "strips".to_owned(),
            width: None,
            pieces: 5,
            appraisers: vec!["AB".to_owned(), "CD".to_owned()],
            trials: 3,
        }
    }

    #[test]
    fn every_place_is_asked_for_once_each_round_a_whole_set_of_pieces_in_its_own_order() {
        let mut study = Study::new(Seq(7), 0, &plan());
        let mut asked = Vec::new();
        while let Some(cell) = study.next() {
            let place = study.plan.place(cell).unwrap();
            assert!(study.readings[place].is_none());
            study.readings[place] = Some((
                Seq(100 + asked.len() as u64),
                Quantity::parse("1 mm").unwrap(),
            ));
            asked.push(cell);
        }
        assert_eq!(asked.len(), 30);
        let orders: Vec<Vec<u8>> = asked
            .chunks(5)
            .map(|round| round.iter().map(|cell| cell.piece).collect())
            .collect();
        for (at, order) in orders.iter().enumerate() {
            let mut sorted = order.clone();
            sorted.sort_unstable();
            assert_eq!(sorted, [0, 1, 2, 3, 4], "round {at}");
            let round = &asked[at * 5..at * 5 + 5];
            assert!(
                round
                    .iter()
                    .all(|c| c.appraiser == round[0].appraiser && c.trial == round[0].trial)
            );
        }
        assert!(orders.windows(2).any(|two| two[0] != two[1]));
    }

    /// One hand, two pieces, three trials, worked by hand: pieces read 1, 2, 3 and 4, 4, 4 mm. Within-piece squares are
    /// 2 and 0, with 4 degrees of freedom: s² = 0.5 mm², s = 0.707106781186548 mm (rounded up to the picometre).
    #[test]
    fn repeatability_is_the_pooled_deviation_within_piece_and_hand() {
        let plan = StudyPlan {
            pieces: 2,
            appraisers: vec!["AB".to_owned()],
            ..plan()
        };
        let mut study = Study::new(Seq(1), 0, &plan);
        for (place, text) in ["1 mm", "2 mm", "3 mm", "4 mm", "4 mm", "4 mm"]
            .into_iter()
            .enumerate()
        {
            assert_eq!(study.repeats(), None, "not while a reading is missing");
            study.readings[place] = Some((Seq(place as u64 + 2), Quantity::parse(text).unwrap()));
        }
        let repeats = study.repeats().unwrap();
        assert_eq!((repeats.sd.raw(), repeats.freedom), (707_106_782, 4));
    }
}
