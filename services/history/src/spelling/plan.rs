//! The stored spelling of a part's revision.

use serde::{Deserialize, Serialize};
use shared_types::{
    Bend, BendWay, Characteristic, CharacteristicId, GaugeKind, Limits, PartId, PartPlan, Quantity,
    Rule, Sheet, Springback, Stage, Tolerance, Warning,
};

use super::SpellingError;
use super::climate::ExpansionSpelt;
use super::extra::{DerivedSpelt, FitSpelt, FollowsSpelt, MirroredSpelt};
use super::sketch::ViewSpelt;
use super::words::{Mas, Name, Pm, Text, Value, Word};

/// `p` part, `t` title, `n` quantity, `s` alloy and thickness, `d` digest, `c` characteristics,
/// `v` views, `w` warnings with their sources, `m` the right piece of a pair, `f` what it goes into,
/// `b` bends, `x` how much the sheet grows with its temperature.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PlanSpelt<'a> {
    p: Name<PartId>,
    #[serde(borrow)]
    t: Text<'a>,
    n: u32,
    #[serde(borrow)]
    s: (Text<'a>, Pm),
    #[serde(borrow)]
    d: Text<'a>,
    #[serde(borrow)]
    c: Vec<CharacteristicSpelt<'a>>,
    #[serde(borrow)]
    v: Vec<ViewSpelt<'a>>,
    #[serde(borrow, default, skip_serializing_if = "Vec::is_empty")]
    w: Vec<(Text<'a>, Text<'a>)>,
    #[serde(borrow, default, skip_serializing_if = "Option::is_none")]
    m: Option<MirroredSpelt<'a>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    f: Option<FitSpelt>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    b: Vec<BendSpelt>,
    #[serde(borrow, default, skip_serializing_if = "Option::is_none")]
    x: Option<ExpansionSpelt<'a>>,
}

/// `l` characteristic of its line, `a` bend angle, `r` inside radius, `w` allowance, `y` way, `t` trim,
/// `s` springback.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct BendSpelt {
    l: Name<CharacteristicId>,
    a: Mas,
    r: Pm,
    w: Pm,
    y: Word<BendWay>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    t: Option<Pm>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    s: Option<SpringbackSpelt>,
}

/// `b` characteristic of the block's angle, `f` of the formed angle, `a` springback, `s` whether it is stated.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct SpringbackSpelt {
    b: Name<CharacteristicId>,
    f: Name<CharacteristicId>,
    a: Mas,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    s: bool,
}

/// `i` id, `n` number, `t` plain name, `s` stage, `g` gauge, `q` nominal, `l` lower and `u` upper limit,
/// `o` the general tolerance they come from (left out where stated in the part file), `r` rule,
/// `m` how to measure, `a` what to do when too small, `z` when too large, `d` what it is computed from,
/// `f` what it follows, `j` the rule it is judged by where that is not the build's.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct CharacteristicSpelt<'a> {
    i: Name<CharacteristicId>,
    n: u16,
    #[serde(borrow)]
    t: Text<'a>,
    s: Word<Stage>,
    g: Word<GaugeKind>,
    q: Value,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    l: Option<Value>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    u: Option<Value>,
    #[serde(borrow, default, skip_serializing_if = "Option::is_none")]
    o: Option<Text<'a>>,
    #[serde(borrow)]
    r: Text<'a>,
    #[serde(borrow)]
    m: Text<'a>,
    #[serde(borrow)]
    a: Text<'a>,
    #[serde(borrow)]
    z: Text<'a>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    d: Option<DerivedSpelt>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    f: Option<FollowsSpelt>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    j: Option<Name<Rule>>,
}

impl<'a> PlanSpelt<'a> {
    pub(super) fn of(plan: &'a PartPlan) -> Self {
        Self {
            p: Name(plan.part.clone()),
            t: plan.title.as_str().into(),
            n: plan.quantity,
            s: (plan.sheet.alloy.as_str().into(), Pm(plan.sheet.thickness)),
            d: plan.digest.as_str().into(),
            c: plan
                .characteristics
                .iter()
                .map(CharacteristicSpelt::of)
                .collect(),
            v: plan.views.iter().map(ViewSpelt::of).collect(),
            w: plan
                .warnings
                .iter()
                .map(|warning| (warning.what.as_str().into(), warning.source.as_str().into()))
                .collect(),
            m: plan.mirrored.as_ref().map(MirroredSpelt::of),
            f: plan.fit.as_ref().map(FitSpelt::of),
            b: plan.bends.iter().map(BendSpelt::of).collect(),
            x: plan.sheet.expansion.as_ref().map(ExpansionSpelt::of),
        }
    }

    pub(super) fn read(self) -> Result<PartPlan, SpellingError> {
        let (alloy, thickness) = self.s;
        let characteristics = self.c.len();
        Ok(PartPlan {
            part: self.p.0,
            title: self.t.into(),
            quantity: self.n,
            sheet: Sheet {
                alloy: alloy.into(),
                thickness: thickness.0,
                expansion: self.x.map(ExpansionSpelt::read).transpose()?,
            },
            digest: self.d.into(),
            characteristics: self
                .c
                .into_iter()
                .map(CharacteristicSpelt::read)
                .collect::<Result<_, _>>()?,
            views: self.v.into_iter().map(ViewSpelt::read).collect(),
            warnings: self
                .w
                .into_iter()
                .map(|(what, source)| Warning {
                    what: what.into(),
                    source: source.into(),
                })
                .collect(),
            mirrored: self
                .m
                .map(|mirrored| mirrored.read(characteristics))
                .transpose()?,
            fit: self.f.map(FitSpelt::read),
            bends: self.b.into_iter().map(BendSpelt::read).collect(),
        })
    }
}

impl BendSpelt {
    fn of(bend: &Bend) -> Self {
        Self {
            l: Name(bend.line.clone()),
            a: Mas(bend.angle),
            r: Pm(bend.radius),
            w: Pm(bend.allowance),
            y: Word(bend.way),
            t: bend.trim.map(Pm),
            s: bend.springback.as_ref().map(SpringbackSpelt::of),
        }
    }

    fn read(self) -> Bend {
        Bend {
            line: self.l.0,
            angle: self.a.0,
            radius: self.r.0,
            allowance: self.w.0,
            way: self.y.0,
            trim: self.t.map(|trim| trim.0),
            springback: self.s.map(SpringbackSpelt::read),
        }
    }
}

impl SpringbackSpelt {
    fn of(springback: &Springback) -> Self {
        Self {
            b: Name(springback.block.clone()),
            f: Name(springback.formed.clone()),
            a: Mas(springback.back),
            s: springback.stated,
        }
    }

    fn read(self) -> Springback {
        Springback {
            block: self.b.0,
            formed: self.f.0,
            back: self.a.0,
            stated: self.s,
        }
    }
}

impl<'a> CharacteristicSpelt<'a> {
    fn of(characteristic: &'a Characteristic) -> Self {
        Self {
            i: Name(characteristic.id.clone()),
            n: characteristic.number,
            t: characteristic.name.as_str().into(),
            s: Word(characteristic.stage),
            g: Word(characteristic.gauge),
            q: characteristic.nominal.into(),
            l: characteristic.limits.lower().map(Value::from),
            u: characteristic.limits.upper().map(Value::from),
            o: match &characteristic.tolerance {
                Tolerance::General(standard) => Some(standard.as_str().into()),
                Tolerance::Stated => None,
            },
            r: characteristic.rule.as_str().into(),
            m: characteristic.how.as_str().into(),
            a: characteristic.if_small.as_str().into(),
            z: characteristic.if_large.as_str().into(),
            d: characteristic.derived.as_ref().map(DerivedSpelt::of),
            f: characteristic.follows.as_ref().map(FollowsSpelt::of),
            j: characteristic.decision.map(Name),
        }
    }

    fn read(self) -> Result<Characteristic, SpellingError> {
        Ok(Characteristic {
            id: self.i.0,
            number: self.n,
            name: self.t.into(),
            stage: self.s.0,
            gauge: self.g.0,
            nominal: self.q.into(),
            limits: Limits::new(self.l.map(Quantity::from), self.u.map(Quantity::from))?,
            tolerance: self.o.map_or(Tolerance::Stated, |standard| {
                Tolerance::General(standard.into())
            }),
            rule: self.r.into(),
            how: self.m.into(),
            if_small: self.a.into(),
            if_large: self.z.into(),
            derived: self.d.map(DerivedSpelt::read).transpose()?,
            follows: self.f.map(FollowsSpelt::read),
            decision: self.j.map(|rule| rule.0),
        })
    }
}
