//! The stored spelling of what a gauge can be trusted with, and of the acts by which it is checked. Whatever is
//! not stated of a gauge is left out.

use serde::{Deserialize, Serialize};
use shared_types::{
    BenchId, Day, Event, Faces, GaugeId, LimitOfError, Reference, StatedPart, StatedSpread, Trust,
};

use super::SpellingError;
use super::climate::E9;
use super::words::{Name, Text, Value, Word};

/// `r` resolution, `l` limit of error, `u` calibrated until, `y` days between checks, `a` references,
/// `s` seconds after which it is silent,
/// `p` stated parts of its uncertainty, `g` the instruments it is typed from, `x` expansion.
#[derive(Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct TrustSpelt<'a> {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    r: Option<Value>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    l: Option<LimitSpelt>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    u: Option<Name<Day>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    y: Option<u32>,
    #[serde(borrow, default, skip_serializing_if = "Vec::is_empty")]
    a: Vec<ReferenceSpelt<'a>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    s: Option<u32>,
    #[serde(borrow, default, skip_serializing_if = "Vec::is_empty")]
    p: Vec<StatedSpelt<'a>>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    g: Vec<Name<GaugeId>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    x: Option<E9>,
}

/// `n` name, `q` value, `d` distribution, `s` source, `f` degrees of freedom, `r` whether it repeats.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct StatedSpelt<'a> {
    #[serde(borrow)]
    n: Text<'a>,
    q: Value,
    d: Name<StatedSpread>,
    #[serde(borrow)]
    s: Text<'a>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    f: Option<u32>,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    r: bool,
}

#[derive(Serialize, Deserialize)]
enum LimitSpelt {
    #[serde(rename = "is")]
    Stated(Value),
    #[serde(rename = "din-862")]
    Din862,
}

/// `n` name, `q` size, `f` faces, left out where they are the outside ones.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ReferenceSpelt<'a> {
    #[serde(borrow)]
    n: Text<'a>,
    q: Value,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    f: Option<Word<Faces>>,
}

impl<'a> TrustSpelt<'a> {
    /// `None` where nothing is stated: the gauge is then spelt as it was before any could be.
    pub(super) fn of(trust: &'a Trust) -> Option<Self> {
        (*trust != Trust::default()).then(|| Self {
            r: trust.resolution.map(Value::from),
            l: trust.limit_of_error.map(|limit| match limit {
                LimitOfError::Stated(limit) => LimitSpelt::Stated(limit.into()),
                LimitOfError::Din862 => LimitSpelt::Din862,
            }),
            u: trust.calibrated_until.map(Name),
            y: trust.check_every_days,
            a: trust.references.iter().map(ReferenceSpelt::of).collect(),
            s: trust.silent_after_s,
            p: trust.uncertainty.iter().map(StatedSpelt::of).collect(),
            g: trust.typed_from.iter().cloned().map(Name).collect(),
            x: trust.expansion.map(E9::of),
        })
    }

    pub(super) fn read(self) -> Result<Trust, SpellingError> {
        Ok(Trust {
            resolution: self.r.map(Into::into),
            limit_of_error: self.l.map(|limit| match limit {
                LimitSpelt::Stated(limit) => LimitOfError::Stated(limit.into()),
                LimitSpelt::Din862 => LimitOfError::Din862,
            }),
            calibrated_until: self.u.map(|day| day.0),
            check_every_days: self.y,
            references: self.a.into_iter().map(ReferenceSpelt::read).collect(),
            silent_after_s: self.s,
            uncertainty: self.p.into_iter().map(StatedSpelt::read).collect(),
            typed_from: self.g.into_iter().map(|gauge| gauge.0).collect(),
            expansion: self.x.map(E9::read).transpose()?,
        })
    }
}

impl<'a> StatedSpelt<'a> {
    fn of(part: &'a StatedPart) -> Self {
        Self {
            n: part.name.as_str().into(),
            q: part.value.into(),
            d: Name(part.spread),
            s: part.source.as_str().into(),
            f: part.freedom,
            r: part.repeats,
        }
    }

    fn read(self) -> StatedPart {
        StatedPart {
            name: self.n.into(),
            value: self.q.into(),
            spread: self.d.0,
            source: self.s.into(),
            freedom: self.f,
            repeats: self.r,
        }
    }
}

impl<'a> ReferenceSpelt<'a> {
    fn of(reference: &'a Reference) -> Self {
        Self {
            n: reference.name.as_str().into(),
            q: reference.value.into(),
            f: (reference.faces != Faces::Outside).then_some(Word(reference.faces)),
        }
    }

    fn read(self) -> Reference {
        Reference {
            name: self.n.into(),
            value: self.q.into(),
            faces: self.f.map_or(Faces::Outside, |faces| faces.0),
        }
    }
}

/// `b` bench, `g` gauge, `r` the reference's name.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CheckBegunSpelt<'a> {
    b: Name<BenchId>,
    g: Name<GaugeId>,
    #[serde(borrow)]
    r: Text<'a>,
}

impl<'a> CheckBegunSpelt<'a> {
    pub(super) fn of(bench: &BenchId, gauge: &GaugeId, reference: &'a str) -> Self {
        Self {
            b: Name(bench.clone()),
            g: Name(gauge.clone()),
            r: reference.into(),
        }
    }

    pub(super) fn read(self) -> Event {
        Event::CheckBegun {
            bench: self.b.0,
            gauge: self.g.0,
            reference: self.r.into(),
        }
    }
}

/// `b` bench, `g` gauge.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CheckLeftSpelt {
    b: Name<BenchId>,
    g: Name<GaugeId>,
}

impl CheckLeftSpelt {
    pub(super) fn of(bench: &BenchId, gauge: &GaugeId) -> Self {
        Self {
            b: Name(bench.clone()),
            g: Name(gauge.clone()),
        }
    }

    pub(super) fn read(self) -> Event {
        Event::CheckLeft {
            bench: self.b.0,
            gauge: self.g.0,
        }
    }
}
