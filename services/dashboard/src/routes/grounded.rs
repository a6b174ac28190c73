//! What a verdict rests on, as programs see it: exact text for values.

use serde::Serialize;
use shared_types::{Chance, Grounds, Lacking, Seq, Verdict};

#[derive(Serialize)]
pub(super) struct GroundsState {
    rule: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    gauge: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    uncertainty: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    parts: Vec<PartState>,
    #[serde(skip_serializing_if = "Option::is_none")]
    degrees_of_freedom: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    accept: Option<[Option<String>; 2]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reject: Option<[Option<String>; 2]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    chance: Option<ChanceState>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lacking: Option<Lacking>,
    #[serde(skip_serializing_if = "Option::is_none")]
    to_settle: Option<SettleState>,
    #[serde(skip_serializing_if = "Option::is_none")]
    mean: Option<MeanState>,
}

#[derive(Serialize)]
struct PartState {
    name: String,
    spread: &'static str,
    uncertainty: String,
}

/// The smaller of two complementary probabilities, in 10⁻¹⁵.
#[derive(Serialize)]
struct ChanceState {
    of: &'static str,
    in_1e15: u64,
    words: String,
}

#[derive(Serialize)]
struct SettleState {
    readings: Option<u32>,
    uncertainty: Option<String>,
    to: Verdict,
}

#[derive(Serialize)]
struct MeanState {
    value: String,
    of: Vec<Seq>,
}

impl GroundsState {
    pub(super) fn new(grounds: &Grounds) -> Self {
        let ends = |limits: shared_types::Limits| {
            [limits.lower(), limits.upper()].map(|end| end.map(|end| end.to_string()))
        };
        let known = grounds.uncertainty.as_ref();
        let parts = known.into_iter().flat_map(|known| known.parts.iter());
        Self {
            rule: grounds.rule.to_string(),
            gauge: grounds.gauge.as_ref().map(ToString::to_string),
            uncertainty: known.map(|known| known.standard.to_string()),
            parts: parts
                .map(|part| PartState {
                    name: part.name.clone(),
                    spread: part.spread.word(),
                    uncertainty: part.standard.to_string(),
                })
                .collect(),
            degrees_of_freedom: known.and_then(|known| known.freedom),
            accept: grounds.accept.map(ends),
            reject: grounds.reject.map(ends),
            chance: grounds.chance.map(|chance| {
                let (of, in_1e15) = match chance {
                    Chance::Outside(n) => ("outside", n),
                    Chance::Within(n) => ("within", n),
                };
                ChanceState {
                    of,
                    in_1e15,
                    words: chance.words(),
                }
            }),
            lacking: grounds.lacking,
            to_settle: grounds.settle.map(|settle| SettleState {
                readings: settle.repeats,
                uncertainty: settle.uncertainty.map(|u| u.to_string()),
                to: settle.to,
            }),
            mean: grounds.mean.as_ref().map(|mean| MeanState {
                value: mean.value.to_string(),
                of: mean.of.clone(),
            }),
        }
    }
}
