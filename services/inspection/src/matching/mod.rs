//! Which characteristic a reading means.
//!
//! A reading is taken only where what is expected explains it and nothing else comes near: it must lie in the
//! capture band of exactly one expected characteristic, and be clearly likelier so than by any slip known
//! (`rivals`). A reading that only another open one explains waits for one tap: whoever measures the wrong
//! dimension, or the wrong piece, sends such a reading about as often as one who leaves the route on purpose.

mod rivals;

use std::borrow::Cow;

use shared_types::{
    Candidate, Characteristic, CharacteristicId, Due, Form, GaugeId, GaugeKind, HeldReason, Last,
    PieceId, Place, Quantity, Reading, Shop, Stage,
};

use crate::capture::in_capture_band;
use crate::weight::{AGAIN_AFTER_FAIL, AS_DUE, CLEAR, NEXT_AFTER_FAIL, Weight, Work};
use rivals::{Weighed, candidates};

/// What a reading means, as far as it is clear.
pub(crate) enum Meaning {
    /// Of this characteristic, and nothing else comes into question.
    Of(CharacteristicId),
    /// Unclear, with what it may be.
    Unclear(HeldReason, Vec<Candidate>),
}

/// A reading explained.
pub(crate) struct Explanation {
    /// What lies on the gauge's bench.
    pub(crate) on_bench: Option<(PieceId, Stage)>,
    /// What the reading means there.
    pub(crate) meaning: Meaning,
}

/// Explains a reading by what lies on the gauge's bench and what is due there.
pub(crate) fn explain(shop: &Shop, gauge: &GaugeId, reading: &Reading) -> Explanation {
    let unclear = |on_bench, reason| Explanation {
        on_bench,
        meaning: Meaning::Unclear(reason, Vec::new()),
    };
    let setup = shop
        .setup
        .as_ref()
        .and_then(|s| s.gauges.iter().find(|g| &g.id == gauge));
    let Some(setup) = setup else {
        return unclear(None, HeldReason::UnknownGauge);
    };
    let bench = shop.benches.get(&setup.bench);
    let Some((piece, stage)) = bench.and_then(|b| b.on_bench.clone()) else {
        return unclear(None, HeldReason::NothingOnBench);
    };
    let due = bench.and_then(|b| b.due.as_ref());
    let sight = Sight {
        shop,
        last: bench.and_then(|b| b.last.as_ref()),
        gauge,
        piece: &piece,
        stage,
        kind: setup.kind,
        reading,
        value: reading.value,
        form: None,
    };
    let meaning = sight.meaning(due);
    Explanation {
        on_bench: Some((piece, stage)),
        meaning,
    }
}

/// What may be measured now, and how likely it is beside what else may be.
struct Expected<'a> {
    of: &'a Characteristic,
    prior: Weight,
    work: Work,
}

/// One reading looked at against one piece at one stage.
struct Sight<'a> {
    shop: &'a Shop,
    /// What was sent last at that bench.
    last: Option<&'a Last>,
    gauge: &'a GaugeId,
    piece: &'a PieceId,
    stage: Stage,
    kind: Option<GaugeKind>,
    reading: &'a Reading,
    /// Its value, by `form` where that is not as it stands.
    value: Quantity,
    form: Option<Form>,
}

impl Sight<'_> {
    fn meaning(&self, due: Option<&(CharacteristicId, Due)>) -> Meaning {
        let Some((due, why)) = due else {
            let within = self.all().filter(|c| self.within(c));
            return Meaning::Unclear(HeldReason::NothingDue, self.candidates(within));
        };
        let expected = self.expected(due, *why);
        let fits: Vec<_> = expected.iter().filter(|e| self.near(e.of)).collect();
        if fits.is_empty() {
            return self.none(&expected);
        }
        match self.clearest(&fits) {
            Ok(one) => self.one(one, &expected, *why),
            Err(several) => Meaning::Unclear(HeldReason::FitsTwo, candidates(several)),
        }
    }

    /// What may be measured now: the one due; after it has failed, also the one that follows, since
    /// nobody has said whether it was worked over and measured again or left for later.
    fn expected(&self, due: &CharacteristicId, why: Due) -> Vec<Expected<'_>> {
        let (prior, work) = match why {
            Due::Route | Due::Picked => (AS_DUE, Work::Usual),
            Due::JustFailed => (AGAIN_AFTER_FAIL, Work::Over),
        };
        let due_now = self.all().filter(|c| &c.id == due);
        let mut expected: Vec<_> = due_now.map(|of| Expected { of, prior, work }).collect();
        if why == Due::JustFailed {
            let following = self.shop.following(self.piece, self.stage, due);
            let following = following.filter(|c| &c.id != due);
            expected.extend(following.map(|of| Expected {
                of,
                prior: NEXT_AFTER_FAIL,
                work: Work::Usual,
            }));
        }
        expected
    }

    /// Near exactly one that is expected. Out of its limits but within those of another open one, it could
    /// be either, and so it could where a slip explains it about as well. Where a person picked the characteristic,
    /// the person has said which it is, but not that the gauge shows it rightly.
    fn one(&self, asked: &Expected<'_>, expected: &[Expected<'_>], why: Due) -> Meaning {
        let one = asked.of;
        if why != Due::Picked && !self.within(one) {
            let rivals = self.open().filter(|c| c.id != one.id && self.within(c));
            let mut either = self.candidates(rivals);
            if !either.is_empty() {
                either.splice(0..0, self.candidates(std::iter::once(one)));
                return Meaning::Unclear(HeldReason::FitsTwo, either);
            }
        }
        match self.clearly(asked, expected, why) {
            Ok(()) => Meaning::Of(one.id.clone()),
            Err((reason, may_be)) => Meaning::Unclear(reason, candidates(may_be)),
        }
    }

    /// Near nothing that is expected.
    fn none(&self, expected: &[Expected<'_>]) -> Meaning {
        let within = |weighed: &Weighed| {
            let of = weighed.candidate.as_ref().map(|c| &c.characteristic);
            self.all().any(|c| Some(&c.id) == of && self.within(c))
        };
        let (others, passed): (Vec<_>, Vec<_>) =
            self.others(None).into_iter().partition(|(open, _)| *open);
        let [mut others, mut passed] = [others, passed].map(|of| {
            of.into_iter()
                .map(|(_, weighed)| weighed)
                .collect::<Vec<_>>()
        });
        if others.iter().any(within) {
            others.retain(within);
        }
        let mut slips = self.otherwise(expected);
        let likeliest = others.iter().map(|other| other.weight).max();
        slips.retain(|slip| likeliest.is_none_or(|weight| weight - slip.weight < CLEAR));
        let slip = slips.iter().max_by_key(|slip| slip.weight);
        let mut reason = match (others.is_empty(), slip) {
            (true, None) => HeldReason::FitsNothing,
            (false, None) => HeldReason::FitsAnother,
            (true, Some(slip)) => slip.reason,
            (false, Some(_)) => HeldReason::FitsTwo,
        };
        let mut may_be = others;
        may_be.extend(slips);
        if let Some((_, twice)) = self.pressed_twice()
            && may_be.iter().all(|other| other.weight < twice)
        {
            reason = HeldReason::PressedTwice;
        }
        if may_be.is_empty()
            && reason == HeldReason::FitsNothing
            && self.at_another_bench().is_some()
        {
            reason = HeldReason::OtherBench;
        }
        if may_be.is_empty() {
            // Nothing open: perhaps one that has passed, measured again.
            passed.retain(within);
            may_be = passed;
        }
        Meaning::Unclear(reason, candidates(may_be))
    }

    fn all(&self) -> impl Iterator<Item = &Characteristic> {
        let adopted = self.shop.parts.get(self.piece.part());
        adopted
            .into_iter()
            .flat_map(|adopted| adopted.plan.at(self.stage))
            .filter(|c| c.derived.is_none())
    }

    fn open(&self) -> impl Iterator<Item = &Characteristic> {
        self.shop.open(self.piece, self.stage)
    }

    /// A gauge is asked only for what it can measure.
    fn suits(&self, characteristic: &Characteristic) -> bool {
        self.kind.is_none_or(|kind| kind == characteristic.gauge)
    }

    fn near(&self, characteristic: &Characteristic) -> bool {
        self.suits(characteristic) && in_capture_band(&self.wanted(characteristic), self.value)
    }

    fn within(&self, characteristic: &Characteristic) -> bool {
        self.suits(characteristic)
            && self.wanted(characteristic).limits.place(self.value) == Some(Place::Within)
    }

    /// As the mating piece has moved it.
    fn wanted<'c>(&self, characteristic: &'c Characteristic) -> Cow<'c, Characteristic> {
        let mate = self.shop.mate(self.piece);
        self.shop.wanted(self.piece, mate, characteristic).0
    }

    fn candidates<'a>(&self, of: impl Iterator<Item = &'a Characteristic>) -> Vec<Candidate> {
        of.map(|c| Candidate {
            characteristic: c.id.clone(),
            unit: self.reading.unit,
            form: self.form,
        })
        .collect()
    }
}
