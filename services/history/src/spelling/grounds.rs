//! The stored spelling of what a verdict rests on. All numbers are whole picometres or milliarcseconds, as the value
//! judged is; whatever there is not is left out.

use std::sync::Arc;

use serde::{Deserialize, Serialize};
use shared_types::{
    Chance, Contribution, GaugeId, Grounds, Lacking, Limits, MeanOf, Quantity, Rule, Seq, Settle,
    SpreadWord, Uncertainty, Verdict,
};

use super::SpellingError;
use super::words::{Name, Word};

/// `r` rule (left out where plain), `g` gauge, `u` standard uncertainty, `n` degrees of freedom, `p` its parts (name,
/// standard uncertainty, spread, and whether it becomes smaller in a mean), `a` limits to accept and `j` to reject,
/// `c` chance in 10¹⁵, `s` what would settle it (readings, uncertainty, verdict), `l` what is lacking, `m` the mean
/// judged and the readings it is of.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct GroundsSpelt {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    r: Option<Name<Rule>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    g: Option<Name<GaugeId>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    u: Option<i64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    n: Option<u32>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    p: Vec<(String, i64, Word<SpreadWord>, bool)>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    a: Option<(Option<i64>, Option<i64>)>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    j: Option<(Option<i64>, Option<i64>)>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    c: Option<ChanceSpelt>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    s: Option<(Option<u32>, Option<i64>, Word<Verdict>)>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    l: Option<LackingSpelt>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    m: Option<(i64, Vec<u64>)>,
}

#[derive(Serialize, Deserialize)]
enum ChanceSpelt {
    #[serde(rename = "out")]
    Outside(u64),
    #[serde(rename = "in")]
    Within(u64),
}

#[derive(Serialize, Deserialize)]
enum LackingSpelt {
    #[serde(rename = "u")]
    Uncertainty,
    #[serde(rename = "none-can")]
    NoneCanPass,
    #[serde(rename = "coarse")]
    TooCoarse(i64),
    #[serde(rename = "one-limit")]
    OneLimit,
}

impl GroundsSpelt {
    pub(super) fn of(grounds: &Grounds) -> Self {
        let ends = |limits: Limits| {
            (
                limits.lower().map(Quantity::raw),
                limits.upper().map(Quantity::raw),
            )
        };
        let known = grounds.uncertainty.as_ref();
        Self {
            r: (grounds.rule != Rule::Plain).then_some(Name(grounds.rule)),
            g: grounds.gauge.clone().map(Name),
            u: known.map(|u| u.standard.raw()),
            n: known.and_then(|u| u.freedom),
            p: known.map_or_else(Vec::new, |u| u.parts.iter().map(part).collect()),
            a: grounds.accept.map(ends),
            j: grounds.reject.map(ends),
            c: grounds.chance.map(|chance| match chance {
                Chance::Outside(n) => ChanceSpelt::Outside(n),
                Chance::Within(n) => ChanceSpelt::Within(n),
            }),
            s: grounds.settle.map(|settle| {
                let u = settle.uncertainty.map(Quantity::raw);
                (settle.repeats, u, Word(settle.to))
            }),
            l: grounds.lacking.map(|lacking| match lacking {
                Lacking::Uncertainty => LackingSpelt::Uncertainty,
                Lacking::NoneCanPass => LackingSpelt::NoneCanPass,
                Lacking::TooCoarse(tenths) => LackingSpelt::TooCoarse(tenths),
                Lacking::OneLimit => LackingSpelt::OneLimit,
            }),
            m: grounds.mean.as_ref().map(|mean| {
                let of = mean.of.iter().map(|seq| seq.0);
                (mean.value.raw(), of.collect())
            }),
        }
    }

    /// Back again, of the kind of the value judged.
    pub(super) fn read(self, kind: Quantity) -> Result<Arc<Grounds>, SpellingError> {
        let quantity = |raw: i64| kind.with_raw(raw).ok_or(SpellingError::Grounds);
        let maybe = |raw: Option<i64>| raw.map(quantity).transpose();
        let limits = |ends: Option<(Option<i64>, Option<i64>)>| {
            ends.map(|(l, u)| Ok::<_, SpellingError>(Limits::new(maybe(l)?, maybe(u)?)?))
                .transpose()
        };
        let uncertainty = match self.u {
            Some(u) => {
                let parts = self.p.into_iter().map(|(name, u, spread, averages)| {
                    Ok(Contribution {
                        name,
                        standard: quantity(u)?,
                        spread: spread.0,
                        averages,
                    })
                });
                Some(Uncertainty {
                    standard: quantity(u)?,
                    freedom: self.n,
                    parts: parts.collect::<Result<_, SpellingError>>()?,
                })
            }
            None => None,
        };
        let settle = self.s.map(|(repeats, u, to)| {
            Ok::<_, SpellingError>(Settle {
                repeats,
                uncertainty: maybe(u)?,
                to: to.0,
            })
        });
        let mean = self.m.map(|(value, of)| {
            Ok::<_, SpellingError>(MeanOf {
                value: quantity(value)?,
                of: of.into_iter().map(Seq).collect(),
            })
        });
        Ok(Arc::new(Grounds {
            rule: self.r.map_or(Rule::Plain, |rule| rule.0),
            gauge: self.g.map(|gauge| gauge.0),
            uncertainty,
            accept: limits(self.a)?,
            reject: limits(self.j)?,
            chance: self.c.map(|chance| match chance {
                ChanceSpelt::Outside(n) => Chance::Outside(n),
                ChanceSpelt::Within(n) => Chance::Within(n),
            }),
            settle: settle.transpose()?,
            lacking: self.l.map(|lacking| match lacking {
                LackingSpelt::Uncertainty => Lacking::Uncertainty,
                LackingSpelt::NoneCanPass => Lacking::NoneCanPass,
                LackingSpelt::TooCoarse(tenths) => Lacking::TooCoarse(tenths),
                LackingSpelt::OneLimit => Lacking::OneLimit,
            }),
            mean: mean.transpose()?,
        }))
    }
}

fn part(part: &Contribution) -> (String, i64, Word<SpreadWord>, bool) {
    let (name, raw) = (part.name.clone(), part.standard.raw());
    (name, raw, Word(part.spread), part.averages)
}
