//! The stored spelling of an event.

use std::sync::Arc;

use serde::{Deserialize, Serialize};
use shared_types::{
    BenchId, CharacteristicId, DisplayUnits, Event, FirstArticle, Form, GaugeId, GaugeKind,
    GaugeSetup, GaugeState, PartId, PieceId, Rule, Seq, Setup, Stage, Unit,
};

use super::SpellingError;
use super::climate::{ClimateSpelt, TemperatureSpelt};
use super::disposed::DisposedSpelt;
use super::frame::FrameSpelt;
use super::plan::PlanSpelt;
use super::study::StudySpelt;
use super::trust::{CheckBegunSpelt, CheckLeftSpelt, TrustSpelt};
use super::words::{Name, Text, Word};

/// The word is the kind a person sees in the `journal` view.
#[derive(Serialize, Deserialize)]
pub(super) enum EventSpelt<'a> {
    #[serde(rename = "observed", borrow)]
    Observed(FrameSpelt<'a>),
    #[serde(rename = "opened", borrow)]
    Opened(OpenedSpelt<'a>),
    #[serde(rename = "adopted", borrow)]
    Adopted(Box<PlanSpelt<'a>>),
    #[serde(rename = "withdrawn")]
    Withdrawn(WithdrawnSpelt),
    #[serde(rename = "mated")]
    Mated(MatedSpelt),
    #[serde(rename = "seen")]
    Seen(SeenSpelt),
    #[serde(rename = "operator", borrow)]
    Operator(OperatorSpelt<'a>),
    #[serde(rename = "laid", borrow)]
    Laid(LaidSpelt<'a>),
    #[serde(rename = "picked")]
    Picked(PickedSpelt),
    #[serde(rename = "assigned")]
    Assigned(AssignedSpelt),
    #[serde(rename = "dismissed", borrow)]
    Dismissed(ReasonSpelt<'a>),
    #[serde(rename = "check-begun", borrow)]
    CheckBegun(CheckBegunSpelt<'a>),
    #[serde(rename = "check-left")]
    CheckLeft(CheckLeftSpelt),
    #[serde(rename = "disposed", borrow)]
    Disposed(DisposedSpelt<'a>),
    #[serde(rename = "temperature")]
    Temperature(TemperatureSpelt),
    #[serde(rename = "study", borrow)]
    Study(StudySpelt<'a>),
    #[serde(rename = "voided", borrow)]
    Voided(ReasonSpelt<'a>),
}

/// `v` version, `b` build, `u` units, `h` benches with their titles, `g` gauges, `d` decision rule
/// (left out where plain), `c` how temperatures are used, `a` first articles: whether other pieces wait for them
/// and in how many mating pieces they are tried (left out where it is as usual).
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct OpenedSpelt<'a> {
    #[serde(borrow)]
    v: Text<'a>,
    #[serde(borrow)]
    b: Text<'a>,
    u: Word<DisplayUnits>,
    #[serde(borrow)]
    h: Vec<(Name<BenchId>, Text<'a>)>,
    #[serde(borrow)]
    g: Vec<GaugeSpelt<'a>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    c: Option<ClimateSpelt>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    d: Option<Name<Rule>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    a: Option<(bool, u32)>,
}

/// `i` id, `t` title, `b` bench, `k` kind (left out where it takes any), `n` serial number, `w` what it can be trusted with
/// (left out where nothing is stated).
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct GaugeSpelt<'a> {
    i: Name<GaugeId>,
    #[serde(borrow)]
    t: Text<'a>,
    b: Name<BenchId>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    k: Option<Word<GaugeKind>>,
    #[serde(borrow)]
    n: Text<'a>,
    #[serde(borrow, default, skip_serializing_if = "Option::is_none")]
    w: Option<TrustSpelt<'a>>,
}

/// `g` gauge, `s` state.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SeenSpelt {
    g: Name<GaugeId>,
    s: Word<GaugeState>,
}

/// `b` bench, `n` name.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct OperatorSpelt<'a> {
    b: Name<BenchId>,
    #[serde(borrow)]
    n: Text<'a>,
}

/// `b` bench, `p` piece, `s` stage, `y` why before the first article is released.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct LaidSpelt<'a> {
    b: Name<BenchId>,
    p: Name<PieceId>,
    s: Word<Stage>,
    #[serde(borrow, default, skip_serializing_if = "Option::is_none")]
    y: Option<Text<'a>>,
}

/// `p` part.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WithdrawnSpelt {
    p: Name<PartId>,
}

/// `b` bench, `p` piece, `m` the mating piece.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct MatedSpelt {
    b: Name<BenchId>,
    p: Name<PieceId>,
    m: Name<PieceId>,
}

/// `b` bench, `c` characteristic.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PickedSpelt {
    b: Name<BenchId>,
    c: Name<CharacteristicId>,
}

/// `b` bench, `r` the reading's entry, `c` characteristic, `u` unit where it is another one, `f` how the value is
/// understood where not as it stands.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct AssignedSpelt {
    b: Name<BenchId>,
    r: u64,
    c: Name<CharacteristicId>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    u: Option<Word<Unit>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    f: Option<Word<Form>>,
}

/// `b` bench, `r` the reading's entry, `y` why.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ReasonSpelt<'a> {
    b: Name<BenchId>,
    r: u64,
    #[serde(borrow)]
    y: Text<'a>,
}

impl<'a> EventSpelt<'a> {
    pub(super) fn of(event: &'a Event) -> Self {
        match event {
            Event::Observed(observation) => Self::Observed(FrameSpelt::of(observation)),
            Event::Opened { version, setup } => Self::Opened(OpenedSpelt::of(version, setup)),
            Event::Adopted(plan) => Self::Adopted(Box::new(PlanSpelt::of(plan))),
            Event::Withdrawn(part) => Self::Withdrawn(WithdrawnSpelt {
                p: Name(part.clone()),
            }),
            Event::Mated { bench, piece, mate } => Self::Mated(MatedSpelt {
                b: Name(bench.clone()),
                p: Name(piece.clone()),
                m: Name(mate.clone()),
            }),
            Event::GaugeSeen { gauge, state } => Self::Seen(SeenSpelt {
                g: Name(gauge.clone()),
                s: Word(*state),
            }),
            Event::Operator { bench, name } => Self::Operator(OperatorSpelt {
                b: Name(bench.clone()),
                n: name.as_str().into(),
            }),
            Event::Laid {
                bench,
                piece,
                stage,
                reason,
            } => Self::Laid(LaidSpelt {
                b: Name(bench.clone()),
                p: Name(piece.clone()),
                s: Word(*stage),
                y: reason.as_deref().map(Text::from),
            }),
            Event::Disposed { .. } => Self::Disposed(DisposedSpelt::of(event)),
            Event::Picked {
                bench,
                characteristic,
            } => Self::Picked(PickedSpelt {
                b: Name(bench.clone()),
                c: Name(characteristic.clone()),
            }),
            Event::Assigned {
                bench,
                reading,
                characteristic,
                unit,
                form,
            } => Self::Assigned(AssignedSpelt {
                b: Name(bench.clone()),
                r: reading.0,
                c: Name(characteristic.clone()),
                u: unit.map(Word),
                f: form.map(Word),
            }),
            Event::Dismissed {
                bench,
                reading,
                reason,
            } => Self::Dismissed(ReasonSpelt::of(bench, *reading, reason)),
            Event::CheckBegun {
                bench,
                gauge,
                reference,
            } => Self::CheckBegun(CheckBegunSpelt::of(bench, gauge, reference)),
            Event::CheckLeft { bench, gauge } => Self::CheckLeft(CheckLeftSpelt::of(bench, gauge)),
            Event::Temperature {
                bench,
                of,
                value,
                sensor,
            } => Self::Temperature(TemperatureSpelt::of(bench, *of, *value, sensor.as_ref())),
            Event::Study { bench, gauge, act } => Self::Study(StudySpelt::of(bench, gauge, act)),
            Event::Voided {
                bench,
                reading,
                reason,
            } => Self::Voided(ReasonSpelt::of(bench, *reading, reason)),
        }
    }

    pub(super) fn read(self) -> Result<Event, SpellingError> {
        Ok(match self {
            Self::Observed(frame) => Event::Observed(frame.read()?),
            Self::Opened(opened) => opened.read()?,
            Self::Adopted(plan) => Event::Adopted(Arc::new(plan.read()?)),
            Self::Withdrawn(withdrawn) => Event::Withdrawn(withdrawn.p.0),
            Self::Mated(mated) => Event::Mated {
                bench: mated.b.0,
                piece: mated.p.0,
                mate: mated.m.0,
            },
            Self::Seen(seen) => Event::GaugeSeen {
                gauge: seen.g.0,
                state: seen.s.0,
            },
            Self::Operator(operator) => Event::Operator {
                bench: operator.b.0,
                name: operator.n.into(),
            },
            Self::Laid(laid) => Event::Laid {
                bench: laid.b.0,
                piece: laid.p.0,
                stage: laid.s.0,
                reason: laid.y.map(String::from),
            },
            Self::Disposed(disposed) => disposed.read(),
            Self::Picked(picked) => Event::Picked {
                bench: picked.b.0,
                characteristic: picked.c.0,
            },
            Self::Assigned(assigned) => Event::Assigned {
                bench: assigned.b.0,
                reading: Seq(assigned.r),
                characteristic: assigned.c.0,
                unit: assigned.u.map(|unit| unit.0),
                form: assigned.f.map(|form| form.0),
            },
            Self::Dismissed(act) => Event::Dismissed {
                bench: act.b.0,
                reading: Seq(act.r),
                reason: act.y.into(),
            },
            Self::CheckBegun(begun) => begun.read(),
            Self::CheckLeft(left) => left.read(),
            Self::Temperature(temperature) => temperature.read(),
            Self::Study(study) => study.read(),
            Self::Voided(act) => Event::Voided {
                bench: act.b.0,
                reading: Seq(act.r),
                reason: act.y.into(),
            },
        })
    }
}

impl<'a> ReasonSpelt<'a> {
    fn of(bench: &BenchId, reading: Seq, reason: &'a str) -> Self {
        Self {
            b: Name(bench.clone()),
            r: reading.0,
            y: reason.into(),
        }
    }
}

impl<'a> OpenedSpelt<'a> {
    fn of(version: &'a str, setup: &'a Setup) -> Self {
        Self {
            v: version.into(),
            b: setup.build.as_str().into(),
            u: Word(setup.units),
            h: setup
                .benches
                .iter()
                .map(|(bench, title)| (Name(bench.clone()), title.as_str().into()))
                .collect(),
            g: setup
                .gauges
                .iter()
                .map(|gauge| GaugeSpelt {
                    i: Name(gauge.id.clone()),
                    t: gauge.title.as_str().into(),
                    b: Name(gauge.bench.clone()),
                    k: gauge.kind.map(Word),
                    n: gauge.serial_number.as_str().into(),
                    w: TrustSpelt::of(&gauge.trust),
                })
                .collect(),
            a: (setup.first_article != FirstArticle::default()).then(|| {
                let asked = setup.first_article;
                (asked.required, asked.mates)
            }),
            c: ClimateSpelt::of(&setup.climate),
            d: (setup.decision != Rule::Plain).then_some(Name(setup.decision)),
        }
    }

    fn read(self) -> Result<Event, SpellingError> {
        let gauges = self.g.into_iter().map(|gauge| {
            let trust = gauge.w.map(TrustSpelt::read).transpose()?;
            Ok(GaugeSetup {
                id: gauge.i.0,
                title: gauge.t.into(),
                bench: gauge.b.0,
                kind: gauge.k.map(|kind| kind.0),
                serial_number: gauge.n.into(),
                trust: trust.unwrap_or_default(),
            })
        });
        let benches = self.h.into_iter().map(|(id, title)| (id.0, title.into()));
        Ok(Event::Opened {
            version: self.v.into(),
            setup: Setup {
                build: self.b.into(),
                units: self.u.0,
                benches: benches.collect(),
                gauges: gauges.collect::<Result<_, SpellingError>>()?,
                climate: self.c.map(ClimateSpelt::read).unwrap_or_default(),
                first_article: self
                    .a
                    .map(|(required, mates)| FirstArticle { required, mates })
                    .unwrap_or_default(),
                decision: self.d.map_or(Rule::Plain, |rule| rule.0),
            },
        })
    }
}
