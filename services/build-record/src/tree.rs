//! The record as JSON: plans, pieces and corrections worked out, then every entry as stored.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;
use shared_types::{
    Characteristic, CharacteristicId, Correction, Derived, Fit, Follows, Form, GaugeSetup, Grounds,
    Hand, Length, PartPlan, PieceId, Quantity, Seq, Stage, StatedExpansion, Verdict, printable,
};

use crate::checks::{CheckRecord, SuspectRecord};
use crate::climate::TemperatureRecord;
use crate::decisions::{BegunRecord, DecisionRecord, FirstArticleRecord, first_articles};
use crate::fits::FitRecord;
use crate::ledger::{Change, Judged, Ledger, What};
use crate::studies::StudyRecord;
use crate::when::when;
use crate::{CAUTIONS, Source};

/// The value of the record's first field. A reader that finds another one must not guess.
pub const FORMAT: &str = "oddleg build record 1";

/// The record as JSON text. `entries[].body` is the stored text to the byte: the SHA-256 of 0x00 and
/// that text is the entry's leaf, and the tree over all leaves has the root named in `checkpoint`.
#[must_use]
pub fn json(source: &Source<'_>) -> String {
    let ledger = Ledger::new(source.rows);
    let attempts = ledger.attempts();
    let record = Record {
        format: FORMAT,
        build: ledger.setup.map_or("", |setup| setup.build.as_str()),
        cautions: CAUTIONS,
        checkpoint: source.checkpoint,
        plans: ledger
            .plans
            .iter()
            .map(|(&seq, plan)| Revision::new(&ledger, seq, plan))
            .collect(),
        gauges: ledger
            .setup
            .map_or(&[][..], |setup| setup.gauges.as_slice()),
        pieces: ledger
            .pieces
            .keys()
            .map(|piece| PieceRecord::new(&ledger, &attempts, piece))
            .collect(),
        fits: ledger
            .fittings
            .iter()
            .map(|(&entry, fitting)| FitRecord::new(&ledger, entry, fitting))
            .collect(),
        checks: ledger.checks.values().map(CheckRecord::new).collect(),
        studies: ledger
            .studies
            .iter()
            .map(|(&entry, study)| StudyRecord::new(entry, study))
            .collect(),
        suspects: ledger
            .suspects
            .iter()
            .filter_map(|(&entry, &by)| SuspectRecord::new(&ledger, entry, by))
            .collect(),
        decisions: ledger
            .decisions
            .iter()
            .map(|(&entry, decision)| DecisionRecord::new(entry, decision))
            .collect(),
        first_articles: first_articles(&ledger),
        begun_early: ledger
            .early
            .iter()
            .map(|(&entry, begun)| BegunRecord::new(entry, begun))
            .collect(),
        temperatures: &ledger.temperatures,
        changes: ledger.changes.iter().map(ChangeRecord::new).collect(),
        held: ledger
            .sent
            .iter()
            .filter(|(_, sent)| sent.waits)
            .map(|(&entry, sent)| HeldRecord {
                entry,
                at: when(sent.at_us),
                gauge: sent.observation.gauge.as_str(),
                raw: printable(&sent.observation.raw),
                came: crate::sheet::came(sent),
            })
            .collect(),
        entries: source
            .rows
            .iter()
            .map(|row| Stored {
                seq: row.entry.seq,
                operator: ledger.by.get(&row.entry.seq).copied(),
                body: &row.body,
            })
            .collect(),
    };
    serde_json::to_string_pretty(&record)
        .expect("the record has only text keys and values, which always have a JSON form")
}

#[derive(Serialize)]
struct Record<'a> {
    format: &'static str,
    build: &'a str,
    cautions: [&'static str; CAUTIONS.len()],
    checkpoint: &'a str,
    plans: Vec<Revision<'a>>,
    gauges: &'a [GaugeSetup],
    pieces: Vec<PieceRecord<'a>>,
    /// Every naming of a mating piece.
    fits: Vec<FitRecord<'a>>,
    /// Every check of a gauge.
    checks: Vec<CheckRecord<'a>>,
    /// Every study of a gauge.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    studies: Vec<StudyRecord<'a>>,
    /// Readings in doubt because a check of their gauge failed. Their verdicts stand until a person voids them.
    suspects: Vec<SuspectRecord<'a>>,
    /// What was decided about fails, and what was taken back of it.
    decisions: Vec<DecisionRecord<'a>>,
    /// Each part's first article, and whether the others are released by it.
    first_articles: Vec<FirstArticleRecord<'a>>,
    /// Pieces laid down for a stated reason before that.
    begun_early: Vec<BegunRecord<'a>>,
    /// Every temperature given.
    temperatures: &'a [TemperatureRecord<'a>],
    changes: Vec<ChangeRecord<'a>>,
    held: Vec<HeldRecord<'a>>,
    entries: Vec<Stored<'a>>,
}

#[derive(Serialize)]
struct Revision<'a> {
    revision: Seq,
    in_force: bool,
    /// The entry by which its part was withdrawn, where its file was gone at the end.
    #[serde(skip_serializing_if = "Option::is_none")]
    withdrawn: Option<Seq>,
    part: &'a str,
    title: &'a str,
    quantity: u32,
    /// Whether each number is a left and a right piece.
    pairs: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    fit: Option<&'a Fit>,
    alloy: &'a str,
    thickness: String,
    /// How much the sheet grows with its temperature, where that is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    expansion: Option<&'a StatedExpansion>,
    digest: &'a str,
    characteristics: Vec<Wanted<'a>>,
    guidance: Vec<String>,
}

impl<'a> Revision<'a> {
    fn new(ledger: &Ledger<'a>, seq: Seq, plan: &'a PartPlan) -> Self {
        Self {
            revision: seq,
            in_force: ledger.newest.get(&plan.part) == Some(&seq),
            part: plan.part.as_str(),
            title: &plan.title,
            withdrawn: ledger.withdrawn.get(&plan.part).copied(),
            quantity: plan.quantity,
            pairs: plan.mirrored.is_some(),
            fit: plan.fit.as_ref(),
            alloy: &plan.sheet.alloy,
            thickness: plan.sheet.thickness.to_string(),
            expansion: plan.sheet.expansion.as_ref(),
            digest: &plan.digest,
            characteristics: plan
                .characteristics
                .iter()
                .map(|c| Wanted::new(plan, c))
                .collect(),
            guidance: plan
                .warnings
                .iter()
                .map(|w| format!("{} ({})", w.what, w.source))
                .collect(),
        }
    }
}

#[derive(Serialize)]
struct Wanted<'a> {
    id: &'a str,
    number: u16,
    name: &'a str,
    stage: Stage,
    gauge: &'static str,
    nominal: String,
    lower: Option<String>,
    upper: Option<String>,
    tolerance: String,
    rule: &'a str,
    /// Its name on the right piece of a pair, where it has another.
    #[serde(skip_serializing_if = "Option::is_none")]
    name_right: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    derived: Option<&'a Derived>,
    #[serde(skip_serializing_if = "Option::is_none")]
    follows: Option<&'a Follows>,
}

impl<'a> Wanted<'a> {
    fn new(plan: &'a PartPlan, c: &'a Characteristic) -> Self {
        let right = plan.words(&c.id, Some(Hand::Right));
        let text = |limit: Option<Quantity>| limit.map(|l| l.to_string());
        Self {
            id: c.id.as_str(),
            number: c.number,
            name: &c.name,
            stage: c.stage,
            gauge: c.gauge.word(),
            nominal: c.nominal.to_string(),
            lower: text(c.limits.lower()),
            upper: text(c.limits.upper()),
            tolerance: c.tolerance.to_string(),
            rule: &c.rule,
            name_right: right.map(|words| words.name).filter(|name| *name != c.name),
            derived: c.derived.as_ref(),
            follows: c.follows.as_ref(),
        }
    }
}

type Attempts<'a> = BTreeMap<(&'a PieceId, &'a CharacteristicId), Vec<(Seq, Judged<'a>)>>;

#[derive(Serialize)]
struct PieceRecord<'a> {
    piece: String,
    /// The mating piece it is made for or tried in at the end.
    #[serde(skip_serializing_if = "Option::is_none")]
    mate: Option<&'a PieceId>,
    /// Nothing of it is open.
    complete: bool,
    /// The entry by which it was scrapped.
    #[serde(skip_serializing_if = "Option::is_none")]
    scrapped: Option<Seq>,
    /// What of it is open, of the plan in force; empty for a scrapped piece.
    open: Vec<String>,
    stages: Vec<StageRecord<'a>>,
}

#[derive(Serialize)]
struct StageRecord<'a> {
    /// `null` for characteristics that no revision in this history has any more.
    stage: Option<Stage>,
    /// Every characteristic of the plan in force has a standing pass, or is used as it is.
    complete: bool,
    characteristics: Vec<MeasuredRecord<'a>>,
}

#[derive(Serialize)]
struct MeasuredRecord<'a> {
    id: &'a str,
    name: &'a str,
    in_plan: bool,
    standing: Option<Seq>,
    verdict: Option<Verdict>,
    /// The disposition by which what stands is used as it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    used_as_is: Option<Seq>,
    /// Measured until it passed: the readings that failed before the pass that stands, without a rework decided
    /// in between.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    until_it_passed: Vec<Seq>,
    attempts: Vec<AttemptRecord<'a>>,
    /// Of a computed characteristic: every value that counts, with the readings it comes from.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    computed: Vec<ComputedRecord<'a>>,
}

#[derive(Serialize)]
struct ComputedRecord<'a> {
    entry: Seq,
    value: String,
    verdict: Verdict,
    /// What the verdict rests on, in whole picometres and milliarcseconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    grounds: Option<&'a Grounds>,
    revision: Seq,
    from: &'a [Seq],
    stands: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    tried_in: Option<&'a PieceId>,
}

#[derive(Serialize)]
struct AttemptRecord<'a> {
    entry: Seq,
    at: String,
    value: String,
    /// The value as read, where the one judged is that at 20 °C.
    #[serde(skip_serializing_if = "Option::is_none")]
    as_read: Option<String>,
    /// How it was corrected to 20 °C, or why not, where that was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    correction: Option<String>,
    verdict: Verdict,
    /// What the verdict rests on, in whole picometres and milliarcseconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    grounds: Option<&'a Grounds>,
    revision: Seq,
    gauge: &'a str,
    operator: &'a str,
    /// At fit-up: the mating piece it was tried in.
    #[serde(skip_serializing_if = "Option::is_none")]
    tried_in: Option<&'a PieceId>,
    /// For a part that goes into another: the plan, or a mating piece as measured.
    #[serde(skip_serializing_if = "String::is_empty")]
    judged_by: String,
}

impl<'a> PieceRecord<'a> {
    fn new(ledger: &Ledger<'a>, attempts: &Attempts<'a>, piece: &'a PieceId) -> Self {
        let plan = ledger
            .newest
            .get(piece.part())
            .and_then(|seq| ledger.plans.get(seq).copied());
        let scrapped = ledger.shop.scrapped(piece);
        let open = ledger.shop.left_open(piece);
        let open = open.iter().filter(|_| scrapped.is_none());
        let mut listed = BTreeSet::new();
        let mut stages = Vec::new();
        if let Some(plan) = plan {
            for stage in plan.stages() {
                let characteristics: Vec<_> = plan
                    .at(stage)
                    .map(|c| {
                        listed.insert(&c.id);
                        let words = plan.words(&c.id, piece.hand());
                        let name = words.map_or(c.name.as_str(), |words| words.name);
                        MeasuredRecord::new(ledger, attempts, piece, &c.id, name, true)
                    })
                    .collect();
                let passed = |m: &MeasuredRecord<'_>| {
                    m.verdict == Some(Verdict::Pass) || m.used_as_is.is_some()
                };
                stages.push(StageRecord {
                    stage: Some(stage),
                    complete: characteristics.iter().all(passed),
                    characteristics,
                });
            }
        }
        let gone: Vec<_> = attempts
            .keys()
            .filter(|(of, id)| *of == piece && !listed.contains(*id))
            .map(|(_, id)| MeasuredRecord::new(ledger, attempts, piece, id, "", false))
            .collect();
        if !gone.is_empty() {
            stages.push(StageRecord {
                stage: None,
                complete: false,
                characteristics: gone,
            });
        }
        Self {
            piece: piece.to_string(),
            mate: ledger.mates.get(piece).copied(),
            complete: ledger.shop.is_complete(piece),
            scrapped: scrapped.map(|scrap| scrap.seq),
            open: open.map(|o| o.characteristic.id.to_string()).collect(),
            stages,
        }
    }
}

impl<'a> MeasuredRecord<'a> {
    fn new(
        ledger: &Ledger<'a>,
        attempts: &Attempts<'a>,
        piece: &'a PieceId,
        id: &'a CharacteristicId,
        name: &'a str,
        in_plan: bool,
    ) -> Self {
        let attempts = attempts.get(&(piece, id)).map_or(&[][..], Vec::as_slice);
        let last = attempts.iter().rev().find(|(_, j)| ledger.at_hand(j));
        let computed = ledger.computed.get(&(piece, id));
        let computed = computed.map_or(&[][..], Vec::as_slice);
        let stands = computed.iter().find(|c| c.stands);
        let state = ledger.shop.pieces.get(piece);
        let used_as_is = state.and_then(|state| {
            let stands = state.standing(id)?;
            Some(state.used_as_is(id, stands)?.seq)
        });
        let until = state.map_or_else(Vec::new, |state| state.until_it_passed(id));
        Self {
            id: id.as_str(),
            name,
            in_plan,
            used_as_is,
            until_it_passed: until.iter().map(|a| a.seq).collect(),
            standing: last.map(|(seq, _)| *seq).or(stands.map(|c| c.reading)),
            verdict: last
                .map(|(_, judged)| judged.verdict)
                .or(stands.map(|c| c.derived.verdict)),
            computed: computed
                .iter()
                .map(|c| ComputedRecord {
                    entry: c.reading,
                    value: c.derived.value.to_string(),
                    verdict: c.derived.verdict,
                    grounds: c.derived.grounds.as_deref(),
                    revision: c.by.revision,
                    from: &c.derived.from,
                    stands: c.stands,
                    tried_in: c.by.into,
                })
                .collect(),
            attempts: attempts
                .iter()
                .map(|(seq, judged)| {
                    let sent = &ledger.sent[seq];
                    AttemptRecord {
                        entry: *seq,
                        at: when(sent.at_us),
                        value: judged.value.to_string(),
                        as_read: as_read(judged).map(|read| read.to_string()),
                        correction: judged.correction.map(ToString::to_string),
                        verdict: judged.verdict,
                        grounds: judged.grounds,
                        revision: judged.revision,
                        gauge: sent.observation.gauge.as_str(),
                        operator: sent.operator,
                        tried_in: judged.into,
                        judged_by: ledger
                            .plan_of(judged)
                            .map_or_else(String::new, |plan| ledger.source(plan, judged.fitted)),
                    }
                })
                .collect(),
        }
    }
}

pub(crate) fn as_read(judged: &Judged<'_>) -> Option<Length> {
    judged.correction.and_then(Correction::as_read)
}

#[derive(Serialize)]
struct ChangeRecord<'a> {
    entry: Seq,
    at: String,
    bench: &'a str,
    operator: &'a str,
    reading: Seq,
    what: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    characteristic: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    form: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reason: Option<&'a str>,
}

impl<'a> ChangeRecord<'a> {
    fn new(change: &Change<'a>) -> Self {
        let (characteristic, unit, form, reason) = match &change.what {
            What::Assigned(id, unit, form) => (Some(id.as_str()), *unit, *form, None),
            What::Dismissed(reason) | What::Voided(reason) => (None, None, None, Some(*reason)),
        };
        Self {
            entry: change.seq,
            at: when(change.at_us),
            bench: change.bench.as_str(),
            operator: change.operator,
            reading: change.reading,
            what: change.what.word(),
            characteristic,
            unit,
            form: form.map(Form::name),
            reason,
        }
    }
}

#[derive(Serialize)]
struct HeldRecord<'a> {
    entry: Seq,
    at: String,
    gauge: &'a str,
    raw: String,
    came: String,
}

#[derive(Serialize)]
struct Stored<'a> {
    seq: Seq,
    /// Who was named at its bench at that time.
    #[serde(skip_serializing_if = "Option::is_none")]
    operator: Option<&'a str>,
    body: &'a str,
}
