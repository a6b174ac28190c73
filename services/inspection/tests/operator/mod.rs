//! A simulated operator at two benches: measures what the screen asks, slips now and then, and looks at what is
//! held. Its readings go through `inspect` and the fold, as in the daemon; what became of each is tallied against
//! what was really measured.

#![allow(
    clippy::unwrap_used,
    reason = "an operator for tests: what cannot be made here is the test's own mistake"
)]

pub(crate) mod chance;
pub(crate) mod parts;
pub(crate) mod rates;
pub(crate) mod tally;

mod gauge;
mod world;

use std::sync::Arc;

use inspection::{Doubt, inspect};
use shared_types::*;

use chance::Chance;
use gauge::Gauge;
use tally::{Cause, Fate, Tally};
use world::World;

/// What the operator does about a held reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Attends {
    /// Looks at it, and says what it is.
    Carefully,
    /// Takes the first choice at once, which is a matcher that never holds.
    Recklessly,
}

/// What a reading is really of.
#[derive(Clone, Debug)]
struct Truth {
    cause: Cause,
    piece: PieceId,
    characteristic: CharacteristicId,
    /// How what the gauge shows is to be understood.
    form: Option<Form>,
}

impl Truth {
    /// What the screen asked for was measured.
    fn is_asked(&self) -> bool {
        matches!(self.cause, Cause::AsDue | Cause::AfterFail)
    }
}

struct Place {
    bench: BenchId,
    /// Caliper and angle gauge.
    gauges: [Gauge; 2],
    /// Another piece that lies there really, and for how many readings.
    really: Option<(PieceId, u8)>,
    /// Turns at this stage: a piece that cannot be finished is put away.
    turns: u32,
    /// Nothing is left to do there.
    idle: bool,
}

/// One day at the benches.
pub(crate) struct Day {
    chance: Chance,
    shop: Shop,
    world: World,
    places: [Place; 2],
    /// Pieces and stages still to be measured, the next last.
    to_do: Vec<(PieceId, Stage)>,
    attends: Attends,
    tally: Tally,
}

/// Works through a day and tells what became of its readings.
pub(crate) fn day(seed: u64, plans: &[Arc<PartPlan>], attends: Attends) -> Tally {
    let mut chance = Chance(seed);
    let inches = chance.one_in(3);
    let names = ["bench-1", "bench-2"].map(|name| BenchId::new(name).unwrap());
    let places = names.map(|bench| Place {
        gauges: gauge::pair(&bench, inches),
        bench,
        really: None,
        turns: 0,
        idle: false,
    });
    let mut day = Day {
        world: World::new(plans.to_vec(), &mut chance),
        shop: Shop::default(),
        to_do: Vec::new(),
        tally: Tally::default(),
        chance,
        places,
        attends,
    };
    day.open(plans);
    day.to_do = day.world.pieces(&mut day.chance);
    while day.tally.readings() < rates::READINGS_A_DAY && !day.places.iter().all(|p| p.idle) {
        let at = usize::try_from(day.chance.below(2)).unwrap();
        day.turn(at);
    }
    day.tally
}

impl Day {
    fn open(&mut self, plans: &[Arc<PartPlan>]) {
        let gauges = self
            .places
            .iter()
            .flat_map(|place| place.gauges.iter().map(|gauge| gauge.setup(&place.bench)));
        let setup = Setup {
            // The simulated operator makes whatever comes next.
            first_article: FirstArticle {
                required: false,
                ..FirstArticle::default()
            },
            build: "Saltmarsh floats (invented)".into(),
            units: DisplayUnits::Mm,
            benches: self
                .places
                .iter()
                .map(|place| (place.bench.clone(), place.bench.to_string()))
                .collect(),
            gauges: gauges.collect(),
            climate: shared_types::Climate::default(),
            decision: shared_types::Rule::Plain,
        };
        self.act(Event::Opened {
            version: "0".into(),
            setup,
        });
        for plan in plans {
            self.act(Event::Adopted(Arc::clone(plan)));
        }
        for bench in self.shop.benches.keys().cloned().collect::<Vec<_>>() {
            let name = "MK".into();
            self.act(Event::Operator { bench, name });
        }
    }

    fn act(&mut self, event: Event) -> Finding {
        let seq = Seq(self.shop.seq.0 + 1);
        let at_us = i64::try_from(seq.0).unwrap();
        let finding = inspect(&self.shop, at_us, &event, Doubt::None).expect("a possible act");
        let fact = Fact {
            at_us,
            event,
            finding: finding.clone(),
        };
        self.shop.apply(&Entry { seq, fact });
        finding
    }

    fn turn(&mut self, at: usize) {
        let state = &self.shop.benches[&self.places[at].bench];
        let lies = state.on_bench.clone();
        let due = state.due.clone();
        self.places[at].turns += 1;
        let (Some((piece, stage)), Some((due, why))) = (lies, due) else {
            return self.lay(at);
        };
        if self.places[at].turns > 80 {
            return self.lay(at);
        }
        self.measure(at, &piece, stage, &due, why);
    }

    fn lay(&mut self, at: usize) {
        let Some((piece, stage)) = self.to_do.pop() else {
            self.places[at].idle = true;
            return;
        };
        let bench = self.places[at].bench.clone();
        let place = &mut self.places[at];
        (place.turns, place.really) = (0, None);
        let elsewhere = self
            .shop
            .benches
            .values()
            .any(|b| b.on_bench.as_ref().is_some_and(|(lies, _)| *lies == piece));
        if !elsewhere {
            self.act(Event::Laid {
                bench,
                piece,
                stage,
                reason: None,
            });
        }
    }

    fn measure(
        &mut self,
        at: usize,
        piece: &PieceId,
        stage: Stage,
        due: &CharacteristicId,
        why: Due,
    ) {
        let mut cause = Cause::AsDue;
        let mut target = due.clone();
        if why == Due::JustFailed {
            cause = Cause::AfterFail;
            let following = self.shop.following(piece, stage, due).map(|c| c.id.clone());
            match following.filter(|next| next != due) {
                Some(next) if self.chance.below(100) >= rates::AGAIN_IN_100 => target = next,
                _ => self.world.rework(&mut self.chance, piece, due),
            }
        }
        let open: Vec<CharacteristicId> =
            self.shop.open(piece, stage).map(|c| c.id.clone()).collect();
        let others: Vec<_> = open.iter().filter(|id| **id != target).cloned().collect();
        if self.chance.one_in(rates::PICKS) {
            if let Some(other) = self.chance.one_of(&others).cloned() {
                let bench = self.places[at].bench.clone();
                self.act(Event::Picked {
                    bench,
                    characteristic: other.clone(),
                });
                (cause, target) = (Cause::AsDue, other);
            }
        } else if self.chance.one_in(rates::OUT_OF_ORDER) {
            let next = others.iter().find(|id| {
                open.iter().position(|o| o == *id) > open.iter().position(|o| *o == target)
            });
            let other = if self.chance.one_in(2) {
                next.cloned()
            } else {
                None
            };
            if let Some(other) = other.or_else(|| self.chance.one_of(&others).cloned()) {
                (cause, target) = (Cause::OutOfOrder, other);
            }
        } else if self.chance.one_in(rates::WRONG_DIMENSION) {
            let all = self.world.measured_at(piece, stage, &target);
            if let Some(other) = self.chance.one_of(&all).cloned() {
                (cause, target) = (Cause::WrongDimension, other);
            }
        }
        let mut truth = Truth {
            cause,
            piece: piece.clone(),
            characteristic: target,
            form: None,
        };
        if self.places[at].really.is_none() && self.chance.one_in(rates::INTERRUPTED) {
            self.places[at].really = self.world.another(&mut self.chance, piece).map(|p| (p, 2));
        }
        if let Some((really, left)) = self.places[at].really.take() {
            // The dimension the screen asks for where that piece has it, else the like of it.
            let characteristic =
                self.world
                    .like(&mut self.chance, &really, stage, &truth.characteristic);
            if left > 1 {
                self.places[at].really = Some((really.clone(), left - 1));
            }
            truth = Truth {
                cause: Cause::OtherPiece,
                piece: really,
                characteristic,
                form: None,
            };
        }
        self.read(at, truth);
    }

    /// Measures it with a gauge and sends what it shows.
    fn read(&mut self, at: usize, mut truth: Truth) {
        let other_bench = truth.is_asked() && self.chance.one_in(rates::OTHER_BENCH);
        let hand = if other_bench { 1 - at } else { at };
        if other_bench {
            truth.cause = Cause::OtherBench;
        }
        let value = self
            .world
            .value(&mut self.chance, &truth.piece, &truth.characteristic);
        let kind = usize::from(matches!(value, Quantity::Angle(_)));
        let gauge = &mut self.places[hand].gauges[kind];
        let trouble = gauge.wear(&mut self.chance);
        if truth.is_asked()
            && let Some(trouble) = trouble
        {
            truth.cause = trouble;
        }
        let turned = if kind == 1 && self.chance.one_in(rates::SUPPLEMENT) {
            Some((Cause::Supplement, Form::Supplement))
        } else if kind == 1 && self.chance.one_in(rates::COMPLEMENT) {
            Some((Cause::Complement, Form::Complement))
        } else {
            self.chance
                .one_in(rates::OTHER_SIGN)
                .then_some((Cause::OtherSign, Form::OtherSign))
        };
        let gauge = &self.places[hand].gauges[kind];
        let mut shown = gauge.shows(&mut self.chance, value);
        if truth.is_asked()
            && let Some((turned, form)) = turned
        {
            (truth.cause, truth.form) = (turned, Some(form));
            shown = match form {
                Form::Supplement => gauge.degrees(180) - shown,
                Form::Complement => gauge.degrees(90) - shown,
                Form::OtherSign => -shown,
            };
        }
        self.send(hand, kind, shown, truth.clone());
        if self.chance.one_in(rates::PRESSED_TWICE) {
            let moved = if self.chance.one_in(rates::PRESSED_TWICE_MOVED) {
                [1, -1][usize::try_from(self.chance.below(2)).unwrap()]
            } else {
                0
            };
            truth.cause = Cause::PressedTwice;
            self.send(hand, kind, shown + moved, truth);
        }
    }

    fn send(&mut self, at: usize, kind: usize, shown: i64, mut truth: Truth) {
        let gauge = &self.places[at].gauges[kind];
        let bench = self.places[at].bench.clone();
        let reading = gauge.reading(shown);
        if truth.cause == Cause::AsDue && !self.world.passes(&truth, reading.value) {
            truth.cause = if self.world.batch_off(&truth.piece) == 0 {
                Cause::AsDueOut
            } else {
                Cause::BatchOff
            };
        }
        // What a candidate says, or what was judged, must come to the same.
        let (unit, form) = (gauge.true_unit(), truth.form);
        let meant = Candidate {
            characteristic: truth.characteristic.clone(),
            unit,
            form,
        };
        let meant = meant.value(&reading);
        let event = Event::Observed(Observation {
            gauge: gauge.id.clone(),
            via: Via::Serial,
            raw: reading.digits.as_bytes().to_vec(),
            decoded: Decoded::Reading(reading.clone()),
        });
        let finding = self.act(event);
        let seq = self.shop.seq;
        let fate = self.fate(&finding, &truth, &reading, meant);
        match &finding {
            Finding::Held {
                candidates, reason, ..
            } => {
                let told = *reason == HeldReason::NotZeroed;
                if told {
                    let at_nought = self.places[at].gauges[kind].at_nought();
                    self.tally.not_zeroed(at_nought);
                }
                let first = candidates.first().cloned();
                if self.attends == Attends::Recklessly
                    && let Some(first) = first
                {
                    let assigned = self.act(Event::Assigned {
                        bench,
                        reading: seq,
                        characteristic: first.characteristic.clone(),
                        unit: Some(first.unit),
                        form: first.form,
                    });
                    let wrong_value = first.value(&reading) != meant;
                    let fate = self.fate(&assigned, &truth, &reading, meant);
                    let fate = if wrong_value { Fate::WrongTold } else { fate };
                    return self.tally.count(truth.cause, fate);
                }
                self.tally.count(truth.cause, fate);
                if told {
                    // Closes the jaws and sets it to nought.
                    self.places[at].gauges[kind].put_right();
                }
                self.attend(at, kind, seq, &truth, unit);
            }
            Finding::Judged { verdict, .. } => {
                self.tally.count(truth.cause, fate);
                if *verdict != Verdict::Pass && self.chance.one_in(rates::LOOKS_AFTER_FAIL) {
                    self.places[at].gauges[kind].put_right();
                }
            }
            Finding::Noted
            | Finding::Fitted { .. }
            | Finding::Checked { .. }
            | Finding::Studied { .. } => {
                panic!("concluded nothing of a reading")
            }
        }
    }

    /// Says what a held reading is: the truth where it is of the piece that was laid down, else that it is nothing.
    fn attend(&mut self, at: usize, kind: usize, reading: Seq, truth: &Truth, unit: Unit) {
        let bench = self.places[at].bench.clone();
        if self.chance.one_in(rates::LOOKS_AT_GAUGE) {
            self.places[at].gauges[kind].put_right();
            self.places[at].really = None;
        }
        let lies = self.shop.benches[&bench].on_bench.as_ref();
        let good = matches!(
            truth.cause,
            Cause::AsDue
                | Cause::AsDueOut
                | Cause::BatchOff
                | Cause::AfterFail
                | Cause::OutOfOrder
                | Cause::WrongDimension
                | Cause::UnitBumped
                | Cause::Supplement
                | Cause::Complement
                | Cause::OtherSign
        ) && lies.is_some_and(|(piece, _)| *piece == truth.piece);
        let event = if good {
            Event::Assigned {
                bench,
                reading,
                characteristic: truth.characteristic.clone(),
                unit: Some(unit),
                form: truth.form,
            }
        } else {
            Event::Dismissed {
                bench,
                reading,
                reason: "measured wrongly".into(),
            }
        };
        self.act(event);
    }

    fn fate(
        &self,
        finding: &Finding,
        truth: &Truth,
        reading: &Reading,
        meant: Option<Quantity>,
    ) -> Fate {
        match finding {
            Finding::Judged {
                piece,
                characteristic,
                verdict,
                value,
                ..
            } => {
                // A gauge that is not at nought gives a wrong value of the right dimension: no matter of matching.
                if *piece == truth.piece
                    && *characteristic == truth.characteristic
                    && Some(*value) == meant
                {
                    Fate::Right
                } else if *verdict == Verdict::Pass
                    || self.world.looks_like(truth, (piece, characteristic))
                {
                    Fate::WrongAlike
                } else {
                    Fate::WrongTold
                }
            }
            Finding::Held {
                reason, candidates, ..
            } => {
                let offered = candidates
                    .iter()
                    .any(|c| c.characteristic == truth.characteristic && c.value(reading) == meant);
                let seen = matches!(
                    (truth.cause, reason),
                    (Cause::PressedTwice, HeldReason::PressedTwice)
                        | (Cause::OtherBench, HeldReason::OtherBench)
                );
                if offered || seen {
                    Fate::HeldWithTruth
                } else {
                    Fate::Held
                }
            }
            Finding::Noted
            | Finding::Fitted { .. }
            | Finding::Checked { .. }
            | Finding::Studied { .. } => {
                panic!("concluded nothing of a reading")
            }
        }
    }
}
