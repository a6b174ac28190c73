//! The state of the shop: a fold over the history. Nothing here is stored; replaying the entries
//! gives the same state, at start-up as on every screen.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::release::BatchKey;
use crate::{
    Adopted, Attempt, Batch, Became, Bench, BenchId, Characteristic, CharacteristicId, Checks,
    Decoded, Due, Entry, Event, Finding, GaugeId, GaugeSight, GaugeState, HELD_KEPT_MAX, Held,
    Last, Observation, PartId, Piece, PieceId, Seq, Setup, Stage, Studies, Verdict, Via, became,
};

/// The state of the shop after entry `seq`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Shop {
    /// The newest entry folded in.
    pub seq: Seq,
    /// The configuration in force; `None` before the first start.
    pub setup: Option<Arc<Setup>>,
    /// Parts in force.
    pub parts: BTreeMap<PartId, Adopted>,
    /// Gauges seen or configured.
    pub gauges: BTreeMap<GaugeId, GaugeSight>,
    /// Benches configured.
    pub benches: BTreeMap<BenchId, Bench>,
    /// Pieces measured or laid down.
    pub pieces: BTreeMap<PieceId, Piece>,
    /// First articles and what they release, by part and hand.
    pub(crate) batches: BTreeMap<BatchKey, Batch>,
    /// Held readings of gauges that belong to no bench.
    pub stray: BTreeMap<Seq, Held>,
}

impl Shop {
    /// The bench a gauge belongs to.
    #[must_use]
    pub fn bench_of(&self, gauge: &GaugeId) -> Option<&BenchId> {
        let setup = self.setup.as_ref()?;
        setup
            .gauges
            .iter()
            .find(|g| &g.id == gauge)
            .map(|g| &g.bench)
    }

    /// The open characteristics of a piece at a stage, in route order: those to be measured whose standing
    /// reading is not a pass, or that something computed still asks for.
    pub fn open<'a>(
        &'a self,
        piece: &'a PieceId,
        stage: Stage,
    ) -> impl Iterator<Item = &'a Characteristic> {
        let state = self.pieces.get(piece);
        let scrapped = state.is_some_and(|state| state.scrapped().is_some());
        let adopted = self.parts.get(piece.part()).filter(|_| !scrapped);
        adopted.into_iter().flat_map(move |adopted| {
            let plan = adopted.plan.as_ref();
            plan.at(stage).filter(move |c| {
                c.derived.is_none() && state.is_none_or(|state| !state.settled(plan, &c.id))
            })
        })
    }

    /// The open characteristic that follows `after` in the route, coming round again at its end;
    /// `after` itself only where nothing else is open.
    #[must_use]
    pub fn following<'a>(
        &'a self,
        piece: &'a PieceId,
        stage: Stage,
        after: &CharacteristicId,
    ) -> Option<&'a Characteristic> {
        let number = self
            .parts
            .get(piece.part())
            .and_then(|adopted| adopted.plan.characteristic(after))
            .map_or(0, |c| c.number);
        self.open(piece, stage)
            .find(|c| c.number > number)
            .or_else(|| self.open(piece, stage).next())
    }

    /// The bench whose held or standing readings include entry `reading`, for a piece that still counts it.
    #[must_use]
    pub fn attempt(&self, reading: Seq) -> Option<(&PieceId, &CharacteristicId, &Attempt)> {
        self.pieces.iter().find_map(|(piece, state)| {
            state.measured.iter().find_map(|(id, measured)| {
                let mut attempts = measured.attempts.iter().rev();
                let attempt = attempts.find(|a| a.seq == reading && a.from.is_empty())?;
                Some((piece, id, attempt))
            })
        })
    }

    /// Folds the next entry in. Entries come in order, each once.
    pub fn apply(&mut self, entry: &Entry) {
        self.seq = entry.seq;
        let finding = &entry.fact.finding;
        match &entry.fact.event {
            Event::Opened { setup, .. } => self.opened(setup),
            Event::Adopted(plan) => {
                let before = self.parts.remove(&plan.part);
                let (at_us, plan) = (entry.fact.at_us, Arc::clone(plan));
                let part = plan.part.clone();
                let adopted = Adopted::succeed(before, entry.seq, at_us, plan);
                self.parts.insert(part, adopted);
                self.settle_due();
            }
            Event::Withdrawn(part) => {
                if let Some(adopted) = self.parts.get_mut(part) {
                    adopted.withdrawn = Some(entry.seq);
                }
            }
            Event::Observed(observation) => self.observed(entry, observation),
            Event::GaugeSeen { gauge, state } => self.sight(gauge).state = *state,
            Event::CheckBegun { .. } | Event::CheckLeft { .. } => {
                self.check_acts(&entry.fact.event);
            }
            Event::Study { gauge, act, .. } => {
                let studies = &mut self.sight(gauge).studies;
                studies.act(entry.seq, entry.fact.at_us, act);
            }
            Event::Operator { bench, name } => {
                self.benches
                    .entry(bench.clone())
                    .or_default()
                    .operator
                    .clone_from(name);
            }
            Event::Laid {
                bench,
                piece,
                stage,
                reason,
            } => {
                self.begun(entry.seq, piece, *stage, reason.as_deref());
                let due = self
                    .open(piece, *stage)
                    .next()
                    .map(|c| (c.id.clone(), Due::Route));
                let bench = self.benches.entry(bench.clone()).or_default();
                if bench.on_bench.as_ref().is_none_or(|(lay, _)| lay != piece) {
                    bench.temperatures.another_piece();
                }
                bench.on_bench = Some((piece.clone(), *stage));
                bench.due = due;
                bench.last = None;
            }
            Event::Mated { piece, mate, .. } => self.mated(entry.seq, piece, mate, finding),
            Event::Temperature { .. } => self.felt(entry),
            Event::Picked {
                bench,
                characteristic,
            } => {
                self.benches.entry(bench.clone()).or_default().due =
                    Some((characteristic.clone(), Due::Picked));
            }
            Event::Assigned { bench, reading, .. } => {
                self.assigned(bench, *reading, finding);
            }
            Event::Dismissed { bench, reading, .. } => {
                self.take_held(bench, *reading);
                self.relabel_last(bench, *reading, &Became::Dismissed);
            }
            Event::Voided { bench, reading, .. } => {
                self.forget(*reading);
                self.relabel_last(bench, *reading, &Became::Voided);
                self.settle_due();
            }
            Event::Disposed { .. } => self.disposed(entry),
        }
        self.release(entry);
    }

    fn opened(&mut self, setup: &Setup) {
        for (bench, _) in &setup.benches {
            self.benches.entry(bench.clone()).or_default();
        }
        self.benches
            .retain(|id, _| setup.benches.iter().any(|(bench, _)| bench == id));
        for gauge in &setup.gauges {
            self.sight(&gauge.id);
        }
        // What a gauge was before the stop says nothing about now.
        for sight in self.gauges.values_mut() {
            sight.state = GaugeState::Unknown;
            // Nobody remembers over a stop that the next reading was to be a check.
            sight.checks.checking = None;
            // Nor that it was to be of a study; that can be taken up again.
            sight.studies.leave();
        }
        self.setup = Some(Arc::new(setup.clone()));
    }

    pub(crate) fn sight(&mut self, gauge: &GaugeId) -> &mut GaugeSight {
        self.gauges.entry(gauge.clone()).or_insert(GaugeSight {
            state: GaugeState::Unknown,
            last: None,
            last_at_us: None,
            readings: 0,
            held: 0,
            garbled: 0,
            suppressed: 0,
            trouble: None,
            checks: Checks::default(),
            studies: Studies::default(),
        })
    }

    fn observed(&mut self, entry: &Entry, observation: &Observation) {
        let at_us = entry.fact.at_us;
        let finding = &entry.fact.finding;
        let sight = self.sight(&observation.gauge);
        sight.last_at_us = Some(at_us);
        let reading = match &observation.decoded {
            Decoded::Reading(reading) => {
                sight.readings += 1;
                sight.held += u64::from(matches!(finding, Finding::Held { .. }));
                sight.last = Some(reading.clone());
                sight.trouble = None;
                self.checked(entry, observation, reading);
                if let Finding::Studied { study, cell } = finding {
                    let studies = &mut self.sight(&observation.gauge).studies;
                    studies.read(*study, *cell, entry.seq, reading.value);
                }
                Some(reading)
            }
            Decoded::Garbled(why) => {
                sight.garbled += 1;
                sight.trouble = why.of_the_gauge().or(sight.trouble);
                None
            }
            Decoded::Flood { why, count } => {
                sight.garbled = sight.garbled.saturating_add(*count);
                sight.trouble = why.of_the_gauge().or(sight.trouble);
                None
            }
            Decoded::Suppressed(suppressed) => {
                sight.suppressed = sight.suppressed.saturating_add(suppressed.count);
                None
            }
        };
        let from = Some((observation.gauge.clone(), at_us));
        self.counts(from, entry.seq, finding);
        let sight = self.sight(&observation.gauge);
        // A gauge that speaks is there, whatever its bridge last said.
        if observation.via != Via::Typed && sight.state != GaugeState::Connected {
            sight.state = GaugeState::Connected;
        }
        if matches!(observation.decoded, Decoded::Suppressed(_)) {
            // It must not take the last reading off the screen.
            return;
        }
        let Some(bench) = self.bench_of(&observation.gauge).cloned() else {
            if let (Some(reading), Finding::Held { .. }) = (reading, &entry.fact.finding) {
                let held = became::held(self, entry, &observation.gauge, reading);
                self.stray.insert(entry.seq, held);
                while self.stray.len() > HELD_KEPT_MAX {
                    self.stray.pop_first();
                }
            }
            return;
        };
        let became = became::of_observed(observation, &entry.fact.finding);
        let waits = match (reading, &entry.fact.finding) {
            (Some(reading), Finding::Held { .. }) => {
                Some(became::held(self, entry, &observation.gauge, reading))
            }
            _ => None,
        };
        let state = self.benches.entry(bench.clone()).or_default();
        if let Some(held) = waits {
            state.held.insert(entry.seq, held);
            while state.held.len() > HELD_KEPT_MAX {
                state.held.pop_first();
                state.held_older += 1;
            }
        }
        state.last = Some(Last {
            seq: entry.seq,
            at_us,
            gauge: observation.gauge.clone(),
            reading: reading.cloned(),
            became,
        });
        self.judged(&bench, entry.seq, &entry.fact.finding);
    }

    pub(crate) fn judged(&mut self, bench: &BenchId, reading: Seq, finding: &Finding) {
        let Finding::Judged {
            piece,
            characteristic,
            revision,
            value,
            verdict,
            into,
            fitted,
            derived,
            correction,
            grounds,
        } = finding
        else {
            return;
        };
        let in_route = self.in_route(bench, piece, characteristic);
        let attempt = Attempt {
            seq: reading,
            revision: *revision,
            value: *value,
            verdict: *verdict,
            into: into.clone(),
            fitted: *fitted,
            from: Vec::new(),
            correction: *correction,
            grounds: grounds.clone(),
        };
        let state = self.pieces.entry(piece.clone()).or_default();
        for computed in derived {
            let attempt = Attempt {
                value: computed.value,
                verdict: computed.verdict,
                from: computed.from.clone(),
                correction: None,
                grounds: computed.grounds.clone(),
                ..attempt.clone()
            };
            state.push(&computed.characteristic, attempt);
        }
        state.push(characteristic, attempt);
        let became = became::of_finding(finding);
        self.relabel_last(bench, reading, &became);
        if !in_route {
            // A person put it where it belongs; what is due stays due unless that settled it.
            self.settle_due();
            return;
        }
        let lies = self.benches.get(bench).and_then(|b| b.on_bench.clone());
        let Some((_, stage)) = lies else { return };
        let more = || self.open(piece, stage).any(|c| &c.id == characteristic);
        let due = if *verdict == Verdict::Pass && more() {
            // A mean of several readings: they are taken one after the other.
            Some((characteristic.clone(), Due::Route))
        } else if *verdict == Verdict::Pass {
            self.following(piece, stage, characteristic)
                .map(|c| (c.id.clone(), Due::Route))
        } else {
            Some((characteristic.clone(), Due::JustFailed))
        };
        self.benches.entry(bench.clone()).or_default().due = due;
    }

    /// Whether a reading of `characteristic` is the route's next step: the one due, or after a fail the one that follows.
    fn in_route(
        &self,
        bench: &BenchId,
        piece: &PieceId,
        characteristic: &CharacteristicId,
    ) -> bool {
        let Some(Bench {
            on_bench: Some((lies, stage)),
            due: Some((due, why)),
            ..
        }) = self.benches.get(bench)
        else {
            return false;
        };
        let follows = || {
            let following = self.following(piece, *stage, due);
            *why == Due::JustFailed && following.is_some_and(|c| &c.id == characteristic)
        };
        lies == piece && (due == characteristic || follows())
    }

    fn relabel_last(&mut self, bench: &BenchId, reading: Seq, became: &Became) {
        let last = self.benches.get_mut(bench).and_then(|b| b.last.as_mut());
        if let Some(last) = last.filter(|last| last.seq == reading) {
            last.became = became.clone();
        }
    }

    /// Takes a reading out of wherever it is held or counts.
    pub(crate) fn forget(&mut self, reading: Seq) {
        self.stray.remove(&reading);
        for bench in self.benches.values_mut() {
            bench.held.remove(&reading);
        }
        for piece in self.pieces.values_mut() {
            piece.forget(reading);
        }
        for gauge in self.gauges.values_mut() {
            gauge.checks.forget(reading);
            gauge.studies.forget(reading);
        }
    }

    fn take_held(&mut self, bench: &BenchId, reading: Seq) {
        self.stray.remove(&reading);
        if let Some(bench) = self.benches.get_mut(bench) {
            bench.held.remove(&reading);
        }
    }

    /// Where the due characteristic is gone, passed or was never set, the route goes on.
    pub(crate) fn settle_due(&mut self) {
        let benches: Vec<BenchId> = self.benches.keys().cloned().collect();
        for id in benches {
            let bench = &self.benches[&id];
            let Some((piece, stage)) = bench.on_bench.clone() else {
                continue;
            };
            let still = bench.due.as_ref().is_some_and(|(due, why)| {
                *why == Due::Picked && self.known(&piece, stage, due)
                    || self.open(&piece, stage).any(|c| &c.id == due)
            });
            if !still {
                let due = self
                    .open(&piece, stage)
                    .next()
                    .map(|c| (c.id.clone(), Due::Route));
                self.benches.entry(id).or_default().due = due;
            }
        }
    }

    fn known(&self, piece: &PieceId, stage: Stage, characteristic: &CharacteristicId) -> bool {
        let adopted = self.parts.get(piece.part());
        adopted
            .filter(|_| self.scrapped(piece).is_none())
            .and_then(|adopted| adopted.plan.characteristic(characteristic))
            .is_some_and(|c| c.stage == stage && c.derived.is_none())
    }
}
