//! What else may explain a reading that one characteristic explains, and how likely each is beside it.

use shared_types::{
    Became, Candidate, Characteristic, CharacteristicId, Due, Form, HeldReason, Last, PieceId,
    Stage, Unit,
};

use super::{Expected, Sight};
use crate::weight::{
    ANOTHER_OPEN, CLEAR, CLEAR_OUT, OTHER_BENCH, OTHER_LEG, OTHER_SIGN, OTHER_UNIT, PASSED_AGAIN,
    PRESSED_TWICE, PRESSED_TWICE_MOVED, Weight, Work, ZEROED_SQUARE, of_value, one_of, step,
};

/// An explanation, weighed.
#[derive(Clone, Debug)]
pub(super) struct Weighed {
    /// What it would be a reading of; `None` where it would be no new reading.
    pub(super) candidate: Option<Candidate>,
    /// Whether the value would then be within its limits.
    pub(super) within: bool,
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
        one: &Expected<'_>,
        expected: &[Expected<'_>],
        why: Due,
    ) -> Result<(), (HeldReason, Vec<Weighed>)> {
        let own = self.as_expected(one);
        let one = one.of;
        let mut rivals = self.rivals(one, expected);
        if why == Due::Picked {
            rivals.retain(|rival| {
                let of = rival.candidate.as_ref();
                of.is_some_and(|of| of.characteristic == one.id)
            });
        }
        let out = !self.within(one);
        if out && why != Due::Picked {
            rivals.extend(self.at_another_bench());
        }
        // By how much the rival would have to be less likely.
        rivals.retain(|rival| {
            let clear = if out && rival.within {
                CLEAR_OUT
            } else {
                CLEAR
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
    pub(super) fn clearest<'e>(
        &self,
        several: &[&'e Expected<'e>],
    ) -> Result<&'e Expected<'e>, Vec<Weighed>> {
        let mut weighed: Vec<(Weighed, &Expected<'_>)> = several
            .iter()
            .map(|one| (self.as_expected(one), *one))
            .collect();
        weighed.sort_by_key(|(weighed, _)| std::cmp::Reverse(weighed.weight));
        match weighed.as_slice() {
            [(best, one), (next, _), ..] if best.weight - next.weight >= CLEAR => Ok(one),
            [(_, one)] => Ok(one),
            _ => Err(weighed.into_iter().map(|(weighed, _)| weighed).collect()),
        }
    }

    /// It was measured as the screen asked.
    fn as_expected(&self, one: &Expected<'_>) -> Weighed {
        // It lies in the capture band, or it would not be asked about.
        let value = self.weight_of_value(one.of, one.work).unwrap_or(0);
        self.weighed(one.of, HeldReason::FitsTwo, one.prior + value)
    }

    fn rivals(&self, one: &Characteristic, expected: &[Expected<'_>]) -> Vec<Weighed> {
        let mut rivals: Vec<_> = self
            .others(Some(&one.id))
            .into_iter()
            .map(|(_, weighed)| weighed)
            .collect();
        rivals.extend(self.otherwise(expected));
        rivals.extend(
            self.pressed_twice()
                .filter(|(of, _)| of != &one.id)
                .map(|(_, weight)| Weighed {
                    candidate: None,
                    within: false,
                    reason: HeldReason::PressedTwice,
                    weight,
                }),
        );
        rivals
    }

    /// What is due on another bench was measured, with this bench's gauge. It cannot be assigned from here: a reading is
    /// never of a piece that did not lie on its gauge's bench.
    pub(super) fn at_another_bench(&self) -> Option<Weighed> {
        let here = |(piece, _): &(PieceId, Stage)| piece == self.piece;
        let due = self.shop.benches.values().filter_map(|bench| {
            let (piece, stage) = bench.on_bench.as_ref().filter(|lies| !here(lies))?;
            let (due, _) = bench.due.as_ref()?;
            let there = Sight {
                piece,
                stage: *stage,
                ..*self
            };
            let of = there.all().find(|c| &c.id == due && there.within(c))?;
            there.weight_of_value(of, Work::Usual)
        });
        Some(Weighed {
            candidate: None,
            within: true,
            reason: HeldReason::OtherBench,
            weight: OTHER_BENCH + due.max()?,
        })
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

    /// What is expected, or another open one, was measured, and the gauge does not show it as it stands.
    pub(super) fn otherwise(&self, expected: &[Expected<'_>]) -> Vec<Weighed> {
        let mut weighed = self.in_other_unit(expected);
        for form in Form::ALL {
            weighed.extend(self.in_other_form(form, expected));
        }
        weighed
    }

    /// The same digits in millimetres for inches or the other way round.
    fn in_other_unit(&self, expected: &[Expected<'_>]) -> Vec<Weighed> {
        let unit = match self.reading.unit {
            Unit::Millimetre => Unit::Inch,
            Unit::Inch => Unit::Millimetre,
            _ => return Vec::new(),
        };
        let Some(read) = self.reading.in_unit(unit) else {
            return Vec::new();
        };
        let other = Sight {
            value: read.value,
            reading: &read,
            ..*self
        };
        other.by_slip(expected, OTHER_UNIT, HeldReason::WrongUnit)
    }

    /// 90° or 180° minus what was shown, or with the other sign. Where that is the same value there is nothing to tell.
    fn in_other_form(&self, form: Form, expected: &[Expected<'_>]) -> Vec<Weighed> {
        let Some(value) = form.of(self.value).filter(|value| *value != self.value) else {
            return Vec::new();
        };
        let (slip, reason) = match form {
            Form::Complement => (ZEROED_SQUARE, HeldReason::OtherLeg),
            Form::Supplement => (OTHER_LEG, HeldReason::OtherLeg),
            Form::OtherSign => (OTHER_SIGN, HeldReason::OtherSign),
        };
        let other = Sight {
            value,
            form: Some(form),
            ..*self
        };
        other.by_slip(expected, slip, reason)
    }

    /// What is expected, or another open one, by a slip of such a weight that made this of the reading.
    fn by_slip(&self, expected: &[Expected<'_>], slip: Weight, reason: HeldReason) -> Vec<Weighed> {
        let mut weighed: Vec<_> = expected
            .iter()
            .filter_map(|e| {
                let weight = slip + e.prior + self.weight_of_value(e.of, e.work)?;
                Some(self.weighed(e.of, reason, weight))
            })
            .collect();
        if weighed.is_empty() {
            let within: Vec<_> = self.all().filter(|c| self.within(c)).collect();
            if within.is_empty() {
                // What is open is asked of the whole plan.
                return weighed;
            }
            let open: Vec<_> = self.open().map(|c| &c.id).collect();
            weighed = within
                .into_iter()
                .filter(|c| open.contains(&&c.id))
                .filter_map(|c| {
                    let value = self.weight_of_value(c, Work::Usual)?;
                    Some(self.weighed(c, reason, slip + ANOTHER_OPEN + value))
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
        of_value(&self.wanted(of), self.value, step, work).filter(|_| self.suits(of))
    }

    fn weighed(&self, of: &Characteristic, reason: HeldReason, weight: Weight) -> Weighed {
        let candidate = Candidate {
            characteristic: of.id.clone(),
            unit: self.reading.unit,
            form: self.form,
        };
        Weighed {
            candidate: Some(candidate),
            within: self.within(of),
            reason,
            weight,
        }
    }
}
