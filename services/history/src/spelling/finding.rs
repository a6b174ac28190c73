//! The stored spelling of a finding.

use serde::{Deserialize, Serialize};
use shared_types::{
    Candidate, CharacteristicId, Decoded, Event, Finding, HeldReason, PieceId, Quantity, Seq,
    Stage, Unit, Verdict,
};

use super::SpellingError;
use super::words::{Name, Value, Word};

#[derive(Serialize, Deserialize)]
pub(super) enum FindingSpelt {
    #[serde(rename = "judged")]
    Judged(JudgedSpelt),
    #[serde(rename = "held")]
    Held(HeldSpelt),
}

/// `p` piece, `c` characteristic, `n` the revision's entry (nominal and limits stand there and are not
/// repeated), `q` the value where it is not the reading's own, `v` verdict.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct JudgedSpelt {
    p: Name<PieceId>,
    c: Name<CharacteristicId>,
    n: u64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    q: Option<Value>,
    v: Word<Verdict>,
}

/// `r` why, `b` piece and stage on the bench, `c` what it may be, and in which unit.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct HeldSpelt {
    r: Word<HeldReason>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    b: Option<(Name<PieceId>, Word<Stage>)>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    c: Vec<(Name<CharacteristicId>, Word<Unit>)>,
}

impl FindingSpelt {
    pub(super) fn of(finding: &Finding, event: &Event) -> Option<Self> {
        Some(match finding {
            Finding::Noted => return None,
            Finding::Judged {
                piece,
                characteristic,
                revision,
                value,
                verdict,
            } => Self::Judged(JudgedSpelt {
                p: Name(piece.clone()),
                c: Name(characteristic.clone()),
                n: revision.0,
                q: (read_by(event) != Some(*value)).then(|| (*value).into()),
                v: Word(*verdict),
            }),
            Finding::Held {
                reason,
                on_bench,
                candidates,
            } => Self::Held(HeldSpelt {
                r: Word(*reason),
                b: on_bench
                    .as_ref()
                    .map(|(piece, stage)| (Name(piece.clone()), Word(*stage))),
                c: candidates
                    .iter()
                    .map(|c| (Name(c.characteristic.clone()), Word(c.unit)))
                    .collect(),
            }),
        })
    }

    pub(super) fn read(spelt: Option<Self>, event: &Event) -> Result<Finding, SpellingError> {
        Ok(match spelt {
            None => Finding::Noted,
            Some(Self::Judged(judged)) => Finding::Judged {
                piece: judged.p.0,
                characteristic: judged.c.0,
                revision: Seq(judged.n),
                value: judged
                    .q
                    .map(Quantity::from)
                    .or_else(|| read_by(event))
                    .ok_or(SpellingError::Value)?,
                verdict: judged.v.0,
            },
            Some(Self::Held(held)) => Finding::Held {
                reason: held.r.0,
                on_bench: held.b.map(|(piece, stage)| (piece.0, stage.0)),
                candidates: held
                    .c
                    .into_iter()
                    .map(|(characteristic, unit)| Candidate {
                        characteristic: characteristic.0,
                        unit: unit.0,
                    })
                    .collect(),
            },
        })
    }
}

/// The value the event itself carries.
fn read_by(event: &Event) -> Option<Quantity> {
    match event {
        Event::Observed(observation) => match &observation.decoded {
            Decoded::Reading(reading) => Some(reading.value),
            Decoded::Garbled(_) | Decoded::Flood { .. } | Decoded::Suppressed(_) => None,
        },
        _ => None,
    }
}
