//! What else may explain a reading that one characteristic explains, and how likely each is beside it.

use shared_types::{
    Became, Candidate, Characteristic, CharacteristicId, Due, HeldReason, Last, Unit,
};

use super::Sight;
use crate::weight::{
    AGAIN_AFTER_FAIL, ANOTHER_OPEN, AS_DUE, CLEAR, CLEAR_OUT, NEXT_AFTER_FAIL, OTHER_UNIT,
    PASSED_AGAIN, PRESSED_TWICE, PRESSED_TWICE_MOVED, Weight, Work, of_value, one_of, step,
};

/// An explanation, weighed.
#[derive(Clone, Debug)]
pub(super) struct Weighed {
    /// What it would be a reading of; `None` where it would be no new reading.
    pub(super) candidate: Option<Candidate>,
    /// Why a reading waits that this may explain.
    pub(super) reason: HeldReason,
    /// How likely it is.
    pub(super) weight: Weight,
}

/// The candidates among explanations, likeliest first, each once.
pub(super) fn candidates(mut of: Vec<Weighed>) -> Vec<Candidate> {
    of.sort_by_key(|weighed| std::cmp::Reverse(weighed.weight));
    let mut candidates: Vec<Candidate> = Vec::new();
    for candidate in of.into_iter().filter_map(|weighed| weighed.candidate) {
        if !candidates.contains(&candidate) {
            candidates.push(candidate);
        }
    }
    candidates
}

impl Sight<'_> {
    /// Whether `one`, which is expected, is clearly what the reading means; if not, why it waits, and what it
    /// may be as far as that is not clearly beaten.
    pub(super) fn clearly(
        &self,
        one: &Characteristic,
        expected: &[&Characteristic],
        why: Due,
    ) -> Result<(), (HeldReason, Vec<Weighed>)> {
        let own = self.as_expected(one, expected, why);
        let mut rivals = self.rivals(one, expected);
        let within = |c: &CharacteristicId| {
            self.all()
                .any(|all| &all.id == c && self.within(all, self.reading.value))
        };
        let out = !within(&one.id);
        // By how much the rival would have to be less likely.
        rivals.retain(|rival| {
            let of = rival.candidate.as_ref();
            let clear = match of {
                Some(of) if out && within(&of.characteristic) => CLEAR_OUT,
                _ => CLEAR,
            };
            own.weight - rival.weight < clear
        });
        let Some(best) = rivals.iter().max_by_key(|rival| rival.weight) else {
            return Ok(());
        };
        let reason = best.reason;
        rivals.insert(0, own);
        Err((reason, rivals))
    }

    /// Which of several that are expected is clearly likelier than the others, if one is; else all of them.
    pub(super) fn clearest<'c>(
        &self,
        several: &[&'c Characteristic],
        expected: &[&Characteristic],
        why: Due,
    ) -> Result<&'c Characteristic, Vec<Weighed>> {
        let mut weighed: Vec<(Weighed, &Characteristic)> = several
            .iter()
            .map(|c| (self.as_expected(c, expected, why), *c))
            .collect();
        weighed.sort_by_key(|(weighed, _)| std::cmp::Reverse(weighed.weight));
        match weighed.as_slice() {
            [(best, one), (next, _), ..] if best.weight - next.weight >= CLEAR => Ok(one),
            [(_, one)] => Ok(one),
            _ => Err(weighed.into_iter().map(|(weighed, _)| weighed).collect()),
        }
    }

    /// `one` was measured as the screen asked.
    fn as_expected(&self, one: &Characteristic, expected: &[&Characteristic], why: Due) -> Weighed {
        let first = expected.first().is_some_and(|first| first.id == one.id);
        let (prior, work) = match (why, first) {
            (Due::Route | Due::Picked, _) => (AS_DUE, Work::Usual),
            (Due::JustFailed, true) => (AGAIN_AFTER_FAIL, Work::Over),
            (Due::JustFailed, false) => (NEXT_AFTER_FAIL, Work::Usual),
        };
        // It lies in the capture band, or it would not be asked about.
        let value = self.weight_of_value(one, work).unwrap_or(0);
        self.weighed(one, HeldReason::FitsTwo, prior + value)
    }

    fn rivals(&self, one: &Characteristic, expected: &[&Characteristic]) -> Vec<Weighed> {
        let mut rivals: Vec<_> = self
            .others(Some(&one.id))
            .into_iter()
            .map(|(_, weighed)| weighed)
            .collect();
        rivals.extend(self.in_other_unit(expected));
        rivals.extend(
            self.pressed_twice()
                .filter(|(of, _)| of != &one.id)
                .map(|(_, weight)| Weighed {
                    candidate: None,
                    reason: HeldReason::PressedTwice,
                    weight,
                }),
        );
        rivals
    }

    /// Another one of the stage was measured: those still open and those passed, each with whether it is open.
    pub(super) fn others(&self, than: Option<&CharacteristicId>) -> Vec<(bool, Weighed)> {
        let near: Vec<_> = self
            .all()
            .filter(|c| Some(&c.id) != than)
            .filter_map(|c| Some((c, self.weight_of_value(c, Work::Usual)?)))
            .collect();
        if near.is_empty() {
            // What is open is asked of the whole plan, and most readings are near one dimension only.
            return Vec::new();
        }
        let share = one_of(i64::try_from(self.all().count()).unwrap_or(i64::MAX));
        let open: Vec<_> = self.open().map(|c| &c.id).collect();
        near.into_iter()
            .map(|(c, value)| {
                let open = open.contains(&&c.id);
                let prior = if open { ANOTHER_OPEN } else { PASSED_AGAIN };
                let weight = prior - share + value;
                (open, self.weighed(c, HeldReason::FitsTwo, weight))
            })
            .collect()
    }

    /// The same digits in millimetres for inches or the other way round, of what is expected or of another open one.
    pub(super) fn in_other_unit(&self, expected: &[&Characteristic]) -> Vec<Weighed> {
        let unit = match self.reading.unit {
            Unit::Millimetre => Unit::Inch,
            Unit::Inch => Unit::Millimetre,
            _ => return Vec::new(),
        };
        let Some(read) = self.reading.in_unit(unit) else {
            return Vec::new();
        };
        let other = Sight {
            reading: &read,
            ..*self
        };
        let mut weighed: Vec<_> = expected
            .iter()
            .filter_map(|c| {
                let weight = OTHER_UNIT + other.weight_of_value(c, Work::Usual)?;
                Some(other.weighed(c, HeldReason::WrongUnit, weight))
            })
            .collect();
        if weighed.is_empty() {
            weighed = other
                .open()
                .filter(|c| other.within(c, read.value))
                .filter_map(|c| {
                    let value = other.weight_of_value(c, Work::Usual)?;
                    let weight = OTHER_UNIT + ANOTHER_OPEN + value;
                    Some(other.weighed(c, HeldReason::WrongUnit, weight))
                })
                .collect();
        }
        weighed
    }

    /// What the last reading was of, and how likely it is that its button was pressed twice: the same gauge
    /// sends the same digits again, or the next to them, though something else has become due.
    pub(super) fn pressed_twice(&self) -> Option<(CharacteristicId, Weight)> {
        let Some(Last {
            gauge,
            reading: Some(reading),
            became:
                Became::Judged {
                    piece,
                    characteristic,
                    ..
                },
            ..
        }) = self.last
        else {
            return None;
        };
        if gauge != self.gauge || piece != self.piece || reading.unit != self.reading.unit {
            return None;
        }
        let moved = self.reading.value.minus(reading.value)?.raw().abs();
        let weight = match moved {
            0 => PRESSED_TWICE,
            moved if moved <= step(self.reading) => PRESSED_TWICE_MOVED,
            _ => return None,
        };
        Some((characteristic.clone(), weight))
    }

    fn weight_of_value(&self, of: &Characteristic, work: Work) -> Option<Weight> {
        let step = step(self.reading);
        of_value(&self.wanted(of), self.reading.value, step, work).filter(|_| self.suits(of))
    }

    fn weighed(&self, of: &Characteristic, reason: HeldReason, weight: Weight) -> Weighed {
        let candidate = Candidate {
            characteristic: of.id.clone(),
            unit: self.reading.unit,
        };
        Weighed {
            candidate: Some(candidate),
            reason,
            weight,
        }
    }
}
