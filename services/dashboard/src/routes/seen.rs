//! A bench as programs see it: JSON with exact text for values, as in the record.

use serde::Serialize;
use shared_types::{
    Became, BenchId, Characteristic, CharacteristicId, Correction, Derived, Due, Follows, Form,
    GaugeId, GaugeState, Held, Last, PartPlan, PieceId, SensorId, Seq, Shop, Stage, Temperature,
    TemperatureOf, Temperatures, Verdict, printable,
};

use super::grounded::GroundsState;
use super::trusted::GaugeTrust;
use crate::clock::rfc3339;

/// The whole of it.
#[derive(Serialize)]
pub(super) struct BenchState {
    seq: Seq,
    bench: BenchId,
    operator: String,
    piece: Option<PieceId>,
    spoken: Option<String>,
    title: Option<String>,
    stage: Option<Stage>,
    /// The mating piece it is made for or tried in.
    mate: Option<PieceId>,
    /// Whether its part's file is no longer in the build.
    withdrawn: bool,
    /// Standing values judged by other limits than those in force.
    outdated: Vec<CharacteristicId>,
    /// Nothing of the piece is open.
    complete: bool,
    /// The entry by which it was scrapped.
    scrapped: Option<Seq>,
    /// Why it was begun before its first article was released.
    begun_early: Option<String>,
    /// What the other pieces of its part wait for.
    first_article_lacks: Option<String>,
    due: Option<DueState>,
    last: Option<LastState>,
    held: Vec<HeldState>,
    held_older: u64,
    /// The temperatures given last; whether they still hold depends on the time.
    temperatures: Vec<FeltState>,
    progress: Vec<Progress>,
    gauges: Vec<GaugeOnBench>,
}

/// A temperature as it was given.
#[derive(Serialize)]
struct FeltState {
    of: TemperatureOf,
    value: Temperature,
    seq: Seq,
    at: String,
    /// Left out where it was typed.
    #[serde(skip_serializing_if = "Option::is_none")]
    sensor: Option<SensorId>,
}

impl FeltState {
    fn all(temperatures: &Temperatures) -> Vec<Self> {
        let slots = [
            (TemperatureOf::Piece, &temperatures.piece),
            (TemperatureOf::Gauge, &temperatures.gauge),
            (TemperatureOf::Both, &temperatures.both),
        ];
        slots
            .into_iter()
            .filter_map(|(of, felt)| {
                let felt = felt.as_ref()?;
                Some(Self {
                    of,
                    value: felt.value,
                    seq: felt.seq,
                    at: rfc3339(felt.at_us),
                    sensor: felt.sensor.clone(),
                })
            })
            .collect()
    }
}

/// A gauge of the bench, as it was last seen.
#[derive(Serialize)]
struct GaugeOnBench {
    id: GaugeId,
    title: String,
    state: GaugeState,
    last: Option<String>,
    readings: u64,
    held: u64,
    garbled: u64,
    suppressed: u64,
    #[serde(flatten)]
    trust: GaugeTrust,
}

fn gauges(shop: &Shop, bench: &BenchId) -> Vec<GaugeOnBench> {
    let setup = shop.setup.as_ref();
    let at_bench = setup
        .into_iter()
        .flat_map(|s| &s.gauges)
        .filter(|g| &g.bench == bench);
    at_bench
        .map(|gauge| {
            let sight = shop.gauges.get(&gauge.id);
            GaugeOnBench {
                id: gauge.id.clone(),
                title: gauge.title.clone(),
                state: sight.map_or(GaugeState::Unknown, |s| s.state),
                last: sight
                    .and_then(|s| s.last.as_ref())
                    .map(|r| r.value.to_string()),
                readings: sight.map_or(0, |s| s.readings),
                held: sight.map_or(0, |s| s.held),
                garbled: sight.map_or(0, |s| s.garbled),
                suppressed: sight.map_or(0, |s| s.suppressed),
                trust: GaugeTrust::new(shop, gauge),
            }
        })
        .collect()
}

#[derive(Serialize)]
struct DueState {
    why: &'static str,
    #[serde(flatten)]
    wanted: Wanted,
}

/// A characteristic as JSON.
#[derive(Serialize)]
pub(super) struct Wanted {
    id: CharacteristicId,
    number: u16,
    name: String,
    stage: Stage,
    gauge: &'static str,
    nominal: String,
    lower: Option<String>,
    upper: Option<String>,
    tolerance: String,
    rule: String,
    how: String,
    if_small: String,
    if_large: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    derived: Option<Derived>,
    #[serde(skip_serializing_if = "Option::is_none")]
    follows: Option<Follows>,
}

impl Wanted {
    pub(super) fn new(c: &Characteristic) -> Self {
        Self {
            id: c.id.clone(),
            number: c.number,
            name: c.name.clone(),
            stage: c.stage,
            gauge: c.gauge.word(),
            nominal: c.nominal.to_string(),
            lower: c.limits.lower().map(|l| l.to_string()),
            upper: c.limits.upper().map(|l| l.to_string()),
            tolerance: c.tolerance.to_string(),
            rule: c.rule.clone(),
            how: c.how.clone(),
            if_small: c.if_small.clone(),
            if_large: c.if_large.clone(),
            derived: c.derived.clone(),
            follows: c.follows.clone(),
        }
    }
}

#[derive(Serialize)]
struct LastState {
    seq: Seq,
    at: String,
    gauge: String,
    value: Option<String>,
    became: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    characteristic: Option<CharacteristicId>,
    #[serde(skip_serializing_if = "Option::is_none")]
    verdict: Option<Verdict>,
    /// What the verdict rests on.
    #[serde(skip_serializing_if = "Option::is_none")]
    grounds: Option<GroundsState>,
    /// The value as read, where the one judged is that at 20 °C.
    #[serde(skip_serializing_if = "Option::is_none")]
    as_read: Option<String>,
    /// How it was corrected to 20 °C, or why not, where that was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    correction: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reason: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    raw: Option<String>,
}

impl LastState {
    fn new(last: &Last) -> Self {
        let mut state = Self {
            seq: last.seq,
            at: rfc3339(last.at_us),
            gauge: last.gauge.to_string(),
            value: last.reading.as_ref().map(|r| r.value.to_string()),
            became: "judged",
            characteristic: None,
            verdict: None,
            grounds: None,
            as_read: None,
            correction: None,
            reason: None,
            raw: None,
        };
        match &last.became {
            Became::Judged {
                characteristic,
                value,
                verdict,
                correction,
                grounds,
                ..
            } => {
                let as_read = correction.as_ref().and_then(Correction::as_read);
                state.as_read = as_read.map(|read| read.to_string());
                state.correction = correction.as_ref().map(ToString::to_string);
                state.value = Some(value.to_string());
                state.characteristic = Some(characteristic.clone());
                state.verdict = Some(*verdict);
                state.grounds = grounds.as_deref().map(GroundsState::new);
            }
            Became::Held(reason) => {
                state.became = "held";
                state.reason = Some(reason.to_string());
            }
            Became::Checked {
                reference, verdict, ..
            } => {
                state.became = "checked";
                state.verdict = Some(*verdict);
                state.reason = Some(format!("checked against {reference}"));
            }
            Became::Studied { study, .. } => {
                state.became = "studied";
                state.reason = Some(format!("of the gauge study of entry {study}"));
            }
            Became::Dismissed => state.became = "dismissed",
            Became::Voided => state.became = "voided",
            Became::Garbled(why, raw) => {
                state.became = "garbled";
                state.reason = Some(why.to_string());
                state.raw = Some(printable(raw));
            }
        }
        state
    }
}

#[derive(Serialize)]
struct HeldState {
    seq: Seq,
    at: String,
    gauge: String,
    value: String,
    reason: String,
    candidates: Vec<CandidateState>,
    /// Where the gauge may not be at nought: by how much, and the entries before that say so.
    #[serde(skip_serializing_if = "Option::is_none")]
    offset: Option<OffsetState>,
}

#[derive(Serialize)]
struct OffsetState {
    by: String,
    readings: Vec<Seq>,
}

#[derive(Serialize)]
struct CandidateState {
    characteristic: CharacteristicId,
    unit: &'static str,
    /// Left out where the value is understood as it stands.
    #[serde(skip_serializing_if = "Option::is_none")]
    form: Option<&'static str>,
    /// The value it would be.
    value: Option<String>,
}

impl HeldState {
    fn new(seq: Seq, held: &Held) -> Self {
        Self {
            seq,
            at: rfc3339(held.at_us),
            gauge: held.gauge.to_string(),
            value: held.reading.value.to_string(),
            reason: held.reason.to_string(),
            candidates: held
                .candidates
                .iter()
                .map(|c| CandidateState {
                    characteristic: c.characteristic.clone(),
                    unit: c.unit.sign(),
                    form: c.form.map(Form::name),
                    value: c.value(&held.reading).map(|value| value.to_string()),
                })
                .collect(),
            offset: held.offset.as_ref().map(|offset| OffsetState {
                by: offset.by.to_string(),
                readings: offset.readings.clone(),
            }),
        }
    }
}

/// One characteristic's standing reading.
#[derive(Serialize)]
struct Progress {
    id: CharacteristicId,
    number: u16,
    value: Option<String>,
    verdict: Option<Verdict>,
    #[serde(skip_serializing_if = "Option::is_none")]
    grounds: Option<GroundsState>,
    times: u64,
    /// The disposition by which it is used as it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    used_as_is: Option<Seq>,
    /// It was measured until it passed: what failed before, without a rework decided in between.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    until_it_passed: Vec<Seq>,
    /// Of a computed value, the entries of the readings it comes from.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    from: Vec<Seq>,
}

/// Every characteristic of a piece at a stage.
fn progress(shop: &Shop, plan: &PartPlan, piece: &PieceId, stage: Stage) -> Vec<Progress> {
    let measured = shop.pieces.get(piece);
    plan.at(stage)
        .map(|c| {
            let standing = measured.and_then(|m| m.standing(&c.id));
            let used = standing.and_then(|s| measured?.used_as_is(&c.id, s));
            let until = measured.map_or_else(Vec::new, |m| m.until_it_passed(&c.id));
            Progress {
                used_as_is: used.map(|disposed| disposed.seq),
                until_it_passed: until.iter().map(|a| a.seq).collect(),
                id: c.id.clone(),
                number: c.number,
                value: standing.map(|s| s.value.to_string()),
                verdict: standing.map(|s| s.verdict),
                grounds: standing
                    .and_then(|s| s.grounds.as_deref())
                    .map(GroundsState::new),
                from: standing.map_or_else(Vec::new, |s| s.from.clone()),
                times: measured
                    .and_then(|m| m.measured.get(&c.id))
                    .map_or(0, |m| m.times),
            }
        })
        .collect()
}

impl BenchState {
    pub(super) fn new(shop: &Shop, bench: BenchId) -> Self {
        let state = shop.benches.get(&bench).cloned().unwrap_or_default();
        let (piece, stage) = state.on_bench.clone().unzip();
        let plan = piece.as_ref().and_then(|piece| shop.plan_for(piece));
        let plan = plan.as_deref();
        let adopted = piece.as_ref().and_then(|p| shop.parts.get(p.part()));
        let outdated = piece.as_ref().map_or_else(Vec::new, |p| shop.outdated(p));
        let due = state.due.as_ref().and_then(|(id, why)| {
            let wanted = Wanted::new(plan?.characteristic(id)?);
            let why = match why {
                Due::Route => "route",
                Due::Picked => "picked",
                Due::JustFailed => "just-failed",
            };
            Some(DueState { why, wanted })
        });
        let progress = match (plan, &piece, stage) {
            (Some(plan), Some(piece), Some(stage)) => progress(shop, plan, piece, stage),
            _ => Vec::new(),
        };
        Self {
            seq: shop.seq,
            gauges: gauges(shop, &bench),
            operator: state.operator.clone(),
            spoken: piece.as_ref().map(PieceId::spoken),
            mate: piece.as_ref().and_then(|p| shop.mate(p)).cloned(),
            withdrawn: adopted.is_some_and(|a| a.withdrawn.is_some()),
            outdated: outdated.into_iter().map(|o| o.characteristic).collect(),
            title: plan.map(|plan| plan.title.clone()),
            complete: piece.as_ref().is_some_and(|p| shop.is_complete(p)),
            scrapped: piece.as_ref().and_then(|p| Some(shop.scrapped(p)?.seq)),
            begun_early: piece.as_ref().and_then(|p| {
                let early = shop.pieces.get(p)?.early.as_ref()?;
                Some(early.reason.clone())
            }),
            first_article_lacks: piece.as_ref().and_then(|p| {
                let lacks = shop.lacking(p)?;
                Some(lacks.to_string())
            }),
            due,
            last: state.last.as_ref().map(LastState::new),
            held: state
                .held
                .iter()
                .map(|(seq, held)| HeldState::new(*seq, held))
                .collect(),
            held_older: state.held_older,
            temperatures: FeltState::all(&state.temperatures),
            progress,
            bench,
            piece,
            stage,
        }
    }
}
