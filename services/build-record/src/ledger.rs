//! What became of every reading, worked out over the whole history: a reading judged today may be
//! voided or moved tomorrow, so nothing is known of a row before the last one has been read.

use std::collections::BTreeMap;
use std::sync::Arc;

use shared_types::{
    BenchId, Characteristic, CharacteristicId, Correction, Decoded, DerivedFinding, Entry, Event,
    Finding, FittedNominal, Form, GaugeSetup, Grounds, Observation, PartId, PartPlan, PieceId,
    Quantity, Seq, Setup, Shop, Stage, StudyAct, Verdict,
};

use crate::Row;
use crate::checks::{self, GaugeCheck};
use crate::climate::TemperatureRecord;
use crate::computed::{Computed, computed};
use crate::decisions::{Begun, Decision};
use crate::studies::{self, GaugeStudy};
use crate::who;

/// Everything a record needs, in the order it happened.
#[derive(Default)]
pub(crate) struct Ledger<'a> {
    /// The configuration in force at the end.
    pub(crate) setup: Option<&'a Setup>,
    /// Every revision ever in force, by its entry.
    pub(crate) plans: BTreeMap<Seq, &'a PartPlan>,
    /// The revision in force at the end.
    pub(crate) newest: BTreeMap<PartId, Seq>,
    /// Everything a gauge sent, by its entry.
    pub(crate) sent: BTreeMap<Seq, Sent<'a>>,
    /// Every correction a person made, in order.
    pub(crate) changes: Vec<Change<'a>>,
    /// Pieces laid down or measured.
    pub(crate) pieces: BTreeMap<&'a PieceId, ()>,
    /// The mating piece each piece is made for or tried in at the end.
    pub(crate) mates: BTreeMap<&'a PieceId, &'a PieceId>,
    /// Every naming of a mating piece, by its entry.
    pub(crate) fittings: BTreeMap<Seq, Fitting<'a>>,
    /// Parts whose file was gone at the end, and the entry that says so.
    pub(crate) withdrawn: BTreeMap<&'a PartId, Seq>,
    /// The values computed from readings that count.
    pub(crate) computed: BTreeMap<(&'a PieceId, &'a CharacteristicId), Vec<Computed<'a>>>,
    /// The reading that stands for a characteristic of a piece.
    pub(crate) standing: BTreeMap<(&'a PieceId, &'a CharacteristicId), Seq>,
    /// Every check of a gauge, by its entry.
    pub(crate) checks: BTreeMap<Seq, GaugeCheck<'a>>,
    /// Every study of a gauge, by the entry it was begun by.
    pub(crate) studies: BTreeMap<Seq, GaugeStudy<'a>>,
    /// Readings that count and are in doubt, each with the failed check that puts it there.
    pub(crate) suspects: BTreeMap<Seq, Seq>,
    /// What was decided about fails, by its entry.
    pub(crate) decisions: BTreeMap<Seq, Decision<'a>>,
    /// Pieces laid down for a stated reason before their first article was released.
    pub(crate) early: BTreeMap<Seq, Begun<'a>>,
    /// Who was named at the bench of an entry; only where somebody was.
    pub(crate) by: BTreeMap<Seq, &'a str>,
    /// The shop at the end, for what is asked of it on the screen as well.
    pub(crate) shop: Shop,
    /// Every temperature given.
    pub(crate) temperatures: Vec<TemperatureRecord<'a>>,
    benches: BTreeMap<&'a BenchId, AtBench<'a>>,
}

#[derive(Clone, Copy, Default)]
struct AtBench<'a> {
    operator: &'a str,
    lies: Option<(&'a PieceId, Stage)>,
}

/// One thing a gauge sent.
pub(crate) struct Sent<'a> {
    pub(crate) at_us: i64,
    pub(crate) observation: &'a Observation,
    pub(crate) finding: &'a Finding,
    /// The gauge as configured at that time; `None` for a gauge in no configuration.
    pub(crate) gauge: Option<&'a GaugeSetup>,
    pub(crate) operator: &'a str,
    /// What lay on the gauge's bench when it came.
    pub(crate) lies: Option<(&'a PieceId, Stage)>,
    /// Where it counts after all corrections.
    pub(crate) counts: Option<Judged<'a>>,
    /// Whether it waits for a person still.
    pub(crate) waits: bool,
    /// Indices into [`Ledger::changes`].
    pub(crate) changes: Vec<usize>,
}

/// A reading in its place.
#[derive(Clone, Copy)]
pub(crate) struct Judged<'a> {
    pub(crate) piece: &'a PieceId,
    pub(crate) characteristic: &'a CharacteristicId,
    pub(crate) revision: Seq,
    pub(crate) value: Quantity,
    pub(crate) verdict: Verdict,
    /// At fit-up: the mating piece it was tried in.
    pub(crate) into: Option<&'a PieceId>,
    /// The entry that moved nominal and limits.
    pub(crate) fitted: Option<Seq>,
    /// What it completed.
    pub(crate) derived: &'a [DerivedFinding],
    /// How it was corrected to 20 °C, or why not, where that was asked for.
    pub(crate) correction: Option<&'a Correction>,
    /// What the verdict rests on.
    pub(crate) grounds: Option<&'a Grounds>,
    /// The entry that put it there: the reading itself, or the correction.
    pub(crate) order: Seq,
}

/// A mating piece named, and what it made of nominals and limits.
pub(crate) struct Fitting<'a> {
    pub(crate) at_us: i64,
    pub(crate) piece: &'a PieceId,
    pub(crate) mate: &'a PieceId,
    pub(crate) nominals: &'a [FittedNominal],
}

/// One correction.
pub(crate) struct Change<'a> {
    pub(crate) seq: Seq,
    pub(crate) at_us: i64,
    pub(crate) bench: &'a BenchId,
    pub(crate) operator: &'a str,
    pub(crate) reading: Seq,
    pub(crate) what: What<'a>,
}

/// What a correction did.
pub(crate) enum What<'a> {
    /// What it is of, its unit where that is another one, and how its value is understood where not as it stands.
    Assigned(&'a CharacteristicId, Option<&'static str>, Option<Form>),
    Dismissed(&'a str),
    Voided(&'a str),
}

impl What<'_> {
    pub(crate) const fn word(&self) -> &'static str {
        match self {
            Self::Assigned(..) => "assigned",
            Self::Dismissed(_) => "dismissed",
            Self::Voided(_) => "voided",
        }
    }
}

impl<'a> Ledger<'a> {
    pub(crate) fn new(rows: &'a [Row]) -> Self {
        let mut ledger = Self::default();
        for row in rows {
            ledger.read(&row.entry);
            ledger.shop.apply(&row.entry);
        }
        ledger.settle();
        ledger
    }

    /// Whether it was tried in the mating piece at hand, or in none.
    pub(crate) fn at_hand(&self, judged: &Judged<'a>) -> bool {
        judged.into.is_none() || judged.into == self.mates.get(judged.piece).copied()
    }

    /// Nominal and limits it was judged by, where a mating piece has moved them.
    pub(crate) fn moved(
        &self,
        fitted: Option<Seq>,
        characteristic: &CharacteristicId,
    ) -> Option<(&Fitting<'a>, &'a FittedNominal)> {
        let fitting = self.fittings.get(&fitted?)?;
        let mut nominals = fitting.nominals.iter();
        let moved = nominals.find(|n| &n.characteristic == characteristic)?;
        Some((fitting, moved))
    }

    /// What nominal and limits came from, for a part that goes into another; empty for any other.
    pub(crate) fn source(&self, plan: &PartPlan, fitted: Option<Seq>) -> String {
        let named = fitted.and_then(|seq| Some((seq, self.fittings.get(&seq)?)));
        match (named, &plan.fit) {
            (Some((seq, fitting)), _) => {
                format!("by the measured opening of {}, entry {seq}", fitting.mate)
            }
            (None, Some(_)) => "by the plan".to_owned(),
            (None, None) => String::new(),
        }
    }

    /// The revision's plan and the characteristic in it.
    pub(crate) fn plan_of(&self, judged: &Judged<'a>) -> Option<&'a PartPlan> {
        self.plans.get(&judged.revision).copied()
    }

    /// Whether a reading, or a value computed from readings, stands.
    fn decided(&self, piece: &PieceId, characteristic: &CharacteristicId) -> bool {
        let computed = self.computed.get(&(piece, characteristic));
        self.standing.contains_key(&(piece, characteristic))
            || computed.is_some_and(|all| all.iter().any(|computed| computed.stands))
    }

    /// What no reading decides of the pieces there are, by the plans in force.
    pub(crate) fn undecided(
        &self,
    ) -> impl Iterator<Item = (&'a PieceId, &'a PartPlan, &'a Characteristic)> {
        self.pieces.keys().flat_map(move |&piece| {
            let plan = self
                .newest
                .get(piece.part())
                .and_then(|seq| self.plans.get(seq));
            plan.into_iter().flat_map(move |&plan| {
                let open = move |c: &&Characteristic| !self.decided(piece, &c.id);
                plan.characteristics
                    .iter()
                    .filter(open)
                    .map(move |c| (piece, plan, c))
            })
        })
    }

    fn read(&mut self, entry: &'a Entry) {
        let (seq, at_us) = (entry.seq, entry.fact.at_us);
        if let Some(name) = who::named(self, entry) {
            self.by.insert(seq, name);
        }
        match &entry.fact.event {
            Event::Opened { setup, .. } => self.setup = Some(setup),
            Event::Adopted(plan) => {
                self.plans.insert(seq, Arc::as_ref(plan));
                self.newest.insert(plan.part.clone(), seq);
                self.withdrawn.remove(&plan.part);
            }
            Event::Observed(observation) => self.observed(entry, observation),
            Event::GaugeSeen { .. }
            | Event::Picked { .. }
            | Event::CheckBegun { .. }
            | Event::CheckLeft { .. } => {}
            Event::Temperature { .. } => self.temperatures.extend(TemperatureRecord::new(entry)),
            Event::Study { bench, gauge, act } => {
                if let StudyAct::Begun(plan) = act {
                    let operator = self.benches.get(bench).map_or("", |b| b.operator);
                    let study = GaugeStudy::new(at_us, gauge, operator, plan);
                    self.studies.insert(seq, study);
                }
            }
            Event::Withdrawn(part) => {
                self.withdrawn.insert(part, seq);
            }
            Event::Mated { piece, mate, .. } => {
                let nominals = match &entry.fact.finding {
                    Finding::Fitted { nominals } => nominals.as_slice(),
                    _ => &[],
                };
                self.mates.insert(piece, mate);
                let fitting = Fitting {
                    at_us,
                    piece,
                    mate,
                    nominals,
                };
                self.fittings.insert(seq, fitting);
            }
            Event::Operator { bench, name } => {
                self.benches.entry(bench).or_default().operator = name;
            }
            Event::Laid {
                bench,
                piece,
                stage,
                reason,
            } => {
                if let Some(reason) = reason {
                    let operator = self.operator(bench);
                    let begun = Begun {
                        at_us,
                        bench,
                        operator,
                        piece,
                        stage: *stage,
                        reason,
                    };
                    self.early.insert(seq, begun);
                }
                self.pieces.insert(piece, ());
                self.benches.entry(bench).or_default().lies = Some((piece, *stage));
            }
            Event::Assigned {
                bench,
                reading,
                characteristic,
                unit,
                form,
            } => {
                let unit = unit.map(shared_types::Unit::sign);
                let what = What::Assigned(characteristic, unit, *form);
                self.change(seq, at_us, bench, *reading, what, &entry.fact.finding);
            }
            Event::Dismissed {
                bench,
                reading,
                reason,
            } => {
                let what = What::Dismissed(reason);
                self.change(seq, at_us, bench, *reading, what, &entry.fact.finding);
            }
            Event::Disposed { bench, piece, .. } => {
                self.pieces.insert(piece, ());
                let operator = self.operator(bench);
                if let Some(decision) = Decision::new(entry, operator) {
                    self.decisions.insert(seq, decision);
                }
            }
            Event::Voided {
                bench,
                reading,
                reason,
            } => {
                let what = What::Voided(reason);
                self.change(seq, at_us, bench, *reading, what, &entry.fact.finding);
            }
        }
    }

    /// Who is named at a bench; nobody where nobody was.
    pub(crate) fn operator(&self, bench: &BenchId) -> &'a str {
        self.benches.get(bench).map_or("", |b| b.operator)
    }

    fn observed(&mut self, entry: &'a Entry, observation: &'a Observation) {
        let finding = &entry.fact.finding;
        let gauge = self
            .setup
            .and_then(|setup| setup.gauges.iter().find(|g| g.id == observation.gauge));
        let bench = gauge
            .and_then(|gauge| self.benches.get(&gauge.bench).copied())
            .unwrap_or_default();
        let counts = self.judged(entry.seq, finding);
        if let Decoded::Reading(reading) = &observation.decoded
            && let Some(check) = checks::check(entry, observation, reading, bench.operator)
        {
            self.checks.insert(entry.seq, check);
        }
        if let Decoded::Reading(reading) = &observation.decoded
            && let Some((study, cell, value)) = studies::studied(entry, reading)
            && let Some(study) = self.studies.get_mut(&study)
        {
            study.read(entry.seq, cell, value);
        }
        let sent = Sent {
            at_us: entry.fact.at_us,
            observation,
            finding,
            gauge,
            operator: bench.operator,
            lies: bench.lies,
            counts,
            waits: matches!(finding, Finding::Held { .. }),
            changes: Vec::new(),
        };
        self.sent.insert(entry.seq, sent);
    }

    fn judged(&mut self, order: Seq, finding: &'a Finding) -> Option<Judged<'a>> {
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
            return None;
        };
        self.pieces.insert(piece, ());
        Some(Judged {
            piece,
            characteristic,
            revision: *revision,
            value: *value,
            verdict: *verdict,
            into: into.as_ref(),
            fitted: *fitted,
            derived,
            correction: correction.as_ref(),
            grounds: grounds.as_deref(),
            order,
        })
    }

    fn change(
        &mut self,
        seq: Seq,
        at_us: i64,
        bench: &'a BenchId,
        reading: Seq,
        what: What<'a>,
        finding: &'a Finding,
    ) {
        let counts = self.judged(seq, finding);
        let operator = self.operator(bench);
        if let (What::Voided(_), Some(decision)) = (&what, self.decisions.get_mut(&reading)) {
            decision.voided = Some(seq);
        }
        if let (What::Voided(_), Some(check)) = (&what, self.checks.get_mut(&reading)) {
            check.voided = Some(seq);
        }
        if matches!(what, What::Voided(_)) {
            for study in self.studies.values_mut() {
                study.forget(reading);
            }
        }
        if let Some(sent) = self.sent.get_mut(&reading) {
            sent.counts = counts;
            sent.waits = false;
            sent.changes.push(self.changes.len());
        }
        self.changes.push(Change {
            seq,
            at_us,
            bench,
            operator,
            reading,
            what,
        });
    }

    /// A mean that lost one of its readings after it was judged proves nothing any more, as on the bench screen.
    fn without_fallen_means(&mut self) {
        let fallen: Vec<Seq> = self
            .sent
            .iter()
            .filter_map(|(&reading, sent)| {
                let judged = sent.counts?;
                let mean = judged.grounds?.mean.as_ref()?;
                let fell = |seq: &Seq| self.fell(*seq, judged.order);
                mean.of.iter().any(fell).then_some(reading)
            })
            .collect();
        for reading in fallen {
            if let Some(judged) = self.sent.get_mut(&reading).and_then(|s| s.counts.as_mut()) {
                judged.verdict = Verdict::Undecided;
            }
        }
    }

    /// Whether a reading was voided, or said to be of another, after entry `order`.
    pub(crate) fn fell(&self, reading: Seq, order: Seq) -> bool {
        self.sent.get(&reading).is_none_or(|sent| {
            let mut changes = sent.changes.iter().map(|&index| self.changes[index].seq);
            changes.any(|change| change > order)
        })
    }

    /// The reading put in its place last is the one that stands, as on the bench screen.
    fn settle(&mut self) {
        self.without_fallen_means();
        let mut placed: Vec<(Seq, Seq, Judged<'a>)> = self
            .sent
            .iter()
            .filter_map(|(&reading, sent)| sent.counts.map(|j| (j.order, reading, j)))
            .collect();
        placed.sort_by_key(|(order, reading, _)| (*order, *reading));
        for (_, reading, judged) in placed {
            if self.at_hand(&judged) {
                self.standing
                    .insert((judged.piece, judged.characteristic), reading);
            }
        }
        self.computed = computed(self);
        let doubts = checks::doubts(&self.checks);
        let counting = self.sent.iter().filter(|(_, sent)| sent.counts.is_some());
        self.suspects = counting
            .filter_map(|(&reading, sent)| {
                let doubts = doubts.get(&sent.observation.gauge)?;
                Some((reading, checks::doubted(doubts, reading)?))
            })
            .collect();
    }

    /// The readings that count for a characteristic of a piece, in the order they were put there.
    pub(crate) fn attempts(
        &self,
    ) -> BTreeMap<(&'a PieceId, &'a CharacteristicId), Vec<(Seq, Judged<'a>)>> {
        let mut attempts: BTreeMap<_, Vec<(Seq, Judged<'a>)>> = BTreeMap::new();
        for (&reading, sent) in &self.sent {
            if let Some(judged) = sent.counts {
                attempts
                    .entry((judged.piece, judged.characteristic))
                    .or_default()
                    .push((reading, judged));
            }
        }
        for list in attempts.values_mut() {
            list.sort_by_key(|(reading, judged)| (judged.order, *reading));
        }
        attempts
    }
}
