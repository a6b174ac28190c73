//! Which characteristic a reading means.

use std::borrow::Cow;

use shared_types::{
    Candidate, Characteristic, CharacteristicId, Due, GaugeId, GaugeKind, HeldReason, PieceId,
    Place, Quantity, Reading, Shop, Stage, Unit,
};

use crate::capture::in_capture_band;

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
        piece: &piece,
        stage,
        kind: setup.kind,
        reading,
    };
    let meaning = sight.meaning(due);
    Explanation {
        on_bench: Some((piece, stage)),
        meaning,
    }
}

/// One reading looked at against one piece at one stage.
struct Sight<'a> {
    shop: &'a Shop,
    piece: &'a PieceId,
    stage: Stage,
    kind: Option<GaugeKind>,
    reading: &'a Reading,
}

impl Sight<'_> {
    fn meaning(&self, due: Option<&(CharacteristicId, Due)>) -> Meaning {
        let Some((due, why)) = due else {
            let within = self.all().filter(|c| self.within(c, self.reading.value));
            return Meaning::Unclear(HeldReason::NothingDue, self.candidates(within));
        };
        let expected = self.expected(due, *why);
        let value = self.reading.value;
        let fits: Vec<_> = expected
            .iter()
            .copied()
            .filter(|c| self.near(c, value))
            .collect();
        match fits.as_slice() {
            [one] => self.one(one, *why),
            [] => self.none(&expected),
            several => Meaning::Unclear(
                HeldReason::FitsTwo,
                self.candidates(several.iter().copied()),
            ),
        }
    }

    /// What may be measured now: the one due; after it has failed, also the one that follows, since
    /// nobody has said whether it was worked over and measured again or left for later.
    fn expected(&self, due: &CharacteristicId, why: Due) -> Vec<&Characteristic> {
        let mut expected: Vec<_> = self.all().filter(|c| &c.id == due).collect();
        if why == Due::JustFailed {
            let following = self.shop.following(self.piece, self.stage, due);
            expected.extend(following.filter(|c| &c.id != due));
        }
        expected
    }

    /// Near exactly one that is expected. Out of its limits but within those of another open one, it could
    /// be either; where a person picked the characteristic, the person has already said.
    fn one(&self, one: &Characteristic, why: Due) -> Meaning {
        let value = self.reading.value;
        if why != Due::Picked && !self.within(one, value) {
            let rivals: Vec<_> = self
                .open()
                .filter(|c| c.id != one.id && self.within(c, value))
                .collect();
            if !rivals.is_empty() {
                let either = std::iter::once(one).chain(rivals);
                return Meaning::Unclear(HeldReason::FitsTwo, self.candidates(either));
            }
        }
        Meaning::Of(one.id.clone())
    }

    /// Near nothing that is expected.
    fn none(&self, expected: &[&Characteristic]) -> Meaning {
        let value = self.reading.value;
        let mut others: Vec<_> = self.open().filter(|c| self.within(c, value)).collect();
        if others.is_empty() {
            others = self.open().filter(|c| self.near(c, value)).collect();
        }
        let slips = self.slips(expected);
        let reason = match (others.is_empty(), slips.is_empty()) {
            (true, true) => HeldReason::FitsNothing,
            (false, true) => HeldReason::FitsAnother,
            (true, false) => HeldReason::WrongUnit,
            (false, false) => HeldReason::FitsTwo,
        };
        let mut candidates = slips;
        candidates.extend(self.candidates(others.into_iter()));
        Meaning::Unclear(reason, candidates)
    }

    /// Explanations by a slip of the unit: the same digits in millimetres for inches or the other way round.
    /// Near what is expected, or within the limits of another open one.
    fn slips(&self, expected: &[&Characteristic]) -> Vec<Candidate> {
        let unit = match self.reading.unit {
            Unit::Millimetre => Unit::Inch,
            Unit::Inch => Unit::Millimetre,
            _ => return Vec::new(),
        };
        let Some(slipped) = self.reading.in_unit(unit) else {
            return Vec::new();
        };
        let candidate = |c: &Characteristic| Candidate {
            characteristic: c.id.clone(),
            unit,
        };
        let mut slips: Vec<_> = expected
            .iter()
            .filter(|c| self.near(c, slipped.value))
            .map(|c| candidate(c))
            .collect();
        if slips.is_empty() {
            slips = self
                .open()
                .filter(|c| self.within(c, slipped.value))
                .map(candidate)
                .collect();
        }
        slips
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

    fn near(&self, characteristic: &Characteristic, value: Quantity) -> bool {
        self.suits(characteristic) && in_capture_band(&self.wanted(characteristic), value)
    }

    fn within(&self, characteristic: &Characteristic, value: Quantity) -> bool {
        self.suits(characteristic)
            && self.wanted(characteristic).limits.place(value) == Some(Place::Within)
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
        })
        .collect()
    }
}
