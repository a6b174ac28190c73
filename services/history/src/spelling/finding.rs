//! The stored spelling of a finding.

use serde::{Deserialize, Serialize};
use shared_types::{
    Candidate, CharacteristicId, Decoded, DerivedFinding, Event, Finding, FittedNominal, Form,
    HeldReason, Limits, PieceId, Quantity, SameOffset, Seq, Stage, Unit, Verdict,
};

use super::SpellingError;
use super::climate::CorrectionSpelt;
use super::grounds::GroundsSpelt;
use super::study::StudiedSpelt;
use super::words::{Name, Value, Word};

#[derive(Serialize, Deserialize)]
pub(super) enum FindingSpelt {
    #[serde(rename = "judged")]
    Judged(JudgedSpelt),
    #[serde(rename = "held")]
    Held(HeldSpelt),
    #[serde(rename = "fitted")]
    Fitted(FittedSpelt),
    #[serde(rename = "checked")]
    Checked(CheckedSpelt),
    #[serde(rename = "studied")]
    Studied(StudiedSpelt),
}

/// `p` piece, `c` characteristic, `n` the revision's entry (nominal and limits stand there and are not
/// repeated), `q` the value where it is not the reading's own, `v` verdict, `i` the mating piece it was
/// tried in, `f` the entry that moved nominal and limits, `d` what the reading completed,
/// `g` what the verdict rests on, `w` how it was corrected to 20 °C or why not, where that was asked for.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct JudgedSpelt {
    p: Name<PieceId>,
    c: Name<CharacteristicId>,
    n: u64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    q: Option<Value>,
    v: Word<Verdict>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    i: Option<Name<PieceId>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    f: Option<u64>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    d: Vec<DerivedSpelt>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    w: Option<CorrectionSpelt>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    g: Option<Box<GroundsSpelt>>,
}

/// `c` characteristic, `q` the value computed, `v` verdict, `r` the readings' entries, `g` what the verdict rests on.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct DerivedSpelt {
    c: Name<CharacteristicId>,
    q: Value,
    v: Word<Verdict>,
    r: Vec<u64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    g: Option<Box<GroundsSpelt>>,
}

/// `n` the reference's name, `q` its size, `l` how far off the gauge may be there, `v` verdict.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CheckedSpelt {
    n: String,
    q: Value,
    l: Value,
    v: Word<Verdict>,
}

/// `n` the nominals that move, left out where none does.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FittedSpelt {
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    n: Vec<NominalSpelt>,
}

/// `c` characteristic, `q` nominal, `l` lower and `u` upper limit, `r` the mating piece's reading.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct NominalSpelt {
    c: Name<CharacteristicId>,
    q: Value,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    l: Option<Value>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    u: Option<Value>,
    r: u64,
}

/// `r` why, `b` piece and stage on the bench, `c` what it may be, `z` by how much the gauge may not be at nought and
/// the entries of the readings before that say so.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct HeldSpelt {
    r: Word<HeldReason>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    b: Option<(Name<PieceId>, Word<Stage>)>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    c: Vec<CandidateSpelt>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    z: Option<(Value, Vec<u64>)>,
}

/// What it may be, in which unit, and how its value is understood where not as it stands.
#[derive(Serialize, Deserialize)]
struct CandidateSpelt(
    Name<CharacteristicId>,
    Word<Unit>,
    #[serde(default, skip_serializing_if = "Option::is_none")] Option<Word<Form>>,
);

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
                into,
                fitted,
                derived,
                correction,
                grounds,
            } => Self::Judged(JudgedSpelt {
                p: Name(piece.clone()),
                c: Name(characteristic.clone()),
                n: revision.0,
                q: (read_by(event) != Some(*value)).then(|| (*value).into()),
                v: Word(*verdict),
                i: into.clone().map(Name),
                f: fitted.map(|seq| seq.0),
                d: derived.iter().map(DerivedSpelt::of).collect(),
                w: correction.as_ref().map(CorrectionSpelt::of),
                g: grounds.as_deref().map(|g| Box::new(GroundsSpelt::of(g))),
            }),
            Finding::Fitted { nominals } => Self::Fitted(FittedSpelt {
                n: nominals.iter().map(NominalSpelt::of).collect(),
            }),
            Finding::Studied { study, cell } => Self::Studied(StudiedSpelt::of(*study, *cell)),
            Finding::Checked {
                reference,
                wanted,
                limit,
                verdict,
            } => Self::Checked(CheckedSpelt {
                n: reference.clone(),
                q: (*wanted).into(),
                l: (*limit).into(),
                v: Word(*verdict),
            }),
            Finding::Held {
                reason,
                on_bench,
                candidates,
                offset,
            } => Self::Held(HeldSpelt {
                r: Word(*reason),
                b: on_bench
                    .as_ref()
                    .map(|(piece, stage)| (Name(piece.clone()), Word(*stage))),
                c: candidates.iter().map(CandidateSpelt::of).collect(),
                z: offset.as_ref().map(|offset| {
                    let readings = offset.readings.iter().map(|seq| seq.0).collect();
                    (offset.by.into(), readings)
                }),
            }),
        })
    }

    pub(super) fn read(spelt: Option<Self>, event: &Event) -> Result<Finding, SpellingError> {
        Ok(match spelt {
            None => Finding::Noted,
            Some(Self::Judged(judged)) => judged.read(event)?,
            Some(Self::Fitted(fitted)) => Finding::Fitted {
                nominals: fitted
                    .n
                    .into_iter()
                    .map(NominalSpelt::read)
                    .collect::<Result<_, _>>()?,
            },
            Some(Self::Studied(studied)) => studied.read(),
            Some(Self::Checked(checked)) => Finding::Checked {
                reference: checked.n,
                wanted: checked.q.into(),
                limit: checked.l.into(),
                verdict: checked.v.0,
            },
            Some(Self::Held(held)) => Finding::Held {
                reason: held.r.0,
                on_bench: held.b.map(|(piece, stage)| (piece.0, stage.0)),
                candidates: held.c.into_iter().map(CandidateSpelt::read).collect(),
                offset: held.z.map(|(by, readings)| SameOffset {
                    by: by.into(),
                    readings: readings.into_iter().map(Seq).collect(),
                }),
            },
        })
    }
}

impl JudgedSpelt {
    fn read(self, event: &Event) -> Result<Finding, SpellingError> {
        let value = self.q.map(Quantity::from).or_else(|| read_by(event));
        let value = value.ok_or(SpellingError::Value)?;
        let derived = self.d.into_iter().map(DerivedSpelt::read);
        Ok(Finding::Judged {
            piece: self.p.0,
            characteristic: self.c.0,
            revision: Seq(self.n),
            value,
            verdict: self.v.0,
            into: self.i.map(|into| into.0),
            fitted: self.f.map(Seq),
            derived: derived.collect::<Result<_, _>>()?,
            grounds: self.g.map(|g| g.read(value)).transpose()?,
            correction: self.w.map(CorrectionSpelt::read).transpose()?,
        })
    }
}

impl CandidateSpelt {
    fn of(candidate: &Candidate) -> Self {
        Self(
            Name(candidate.characteristic.clone()),
            Word(candidate.unit),
            candidate.form.map(Word),
        )
    }

    fn read(self) -> Candidate {
        Candidate {
            characteristic: self.0.0,
            unit: self.1.0,
            form: self.2.map(|form| form.0),
        }
    }
}

impl DerivedSpelt {
    fn of(derived: &DerivedFinding) -> Self {
        Self {
            c: Name(derived.characteristic.clone()),
            q: derived.value.into(),
            v: Word(derived.verdict),
            r: derived.from.iter().map(|seq| seq.0).collect(),
            g: derived
                .grounds
                .as_deref()
                .map(|g| Box::new(GroundsSpelt::of(g))),
        }
    }

    fn read(self) -> Result<DerivedFinding, SpellingError> {
        let value = self.q.into();
        Ok(DerivedFinding {
            characteristic: self.c.0,
            value,
            verdict: self.v.0,
            from: self.r.into_iter().map(Seq).collect(),
            grounds: self.g.map(|g| g.read(value)).transpose()?,
        })
    }
}

impl NominalSpelt {
    fn of(nominal: &FittedNominal) -> Self {
        Self {
            c: Name(nominal.characteristic.clone()),
            q: nominal.nominal.into(),
            l: nominal.limits.lower().map(Value::from),
            u: nominal.limits.upper().map(Value::from),
            r: nominal.from.0,
        }
    }

    fn read(self) -> Result<FittedNominal, SpellingError> {
        Ok(FittedNominal {
            characteristic: self.c.0,
            nominal: self.q.into(),
            limits: Limits::new(self.l.map(Quantity::from), self.u.map(Quantity::from))?,
            from: Seq(self.r),
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
