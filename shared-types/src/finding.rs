//! What inspection concluded from one event.

use std::fmt;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::{
    CharacteristicId, Correction, Form, Grounds, Limits, PieceId, Quantity, Reading, Seq, Stage,
    StudyCell, Unit,
};

/// The verdict on one reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Within its limits.
    Pass,
    /// Below the lower limit.
    TooSmall,
    /// Above the upper limit.
    TooLarge,
    /// The rule in force can say none of these.
    Undecided,
}

impl Verdict {
    /// The verdict in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::TooSmall => "too small",
            Self::TooLarge => "too large",
            Self::Undecided => "undecided",
        }
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// Why a reading waits for a person.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HeldReason {
    /// No piece lies on the gauge's bench.
    NothingOnBench,
    /// Nothing at this stage is open.
    NothingDue,
    /// It is near no open characteristic.
    FitsNothing,
    /// It is far from the one due, and near another.
    FitsAnother,
    /// It could be either of two or more.
    FitsTwo,
    /// It would fit were its digits in another unit.
    WrongUnit,
    /// The gauge is in no configuration.
    UnknownGauge,
    /// The bridge used this id before, for other bytes.
    IdReused,
    /// The broker sent it again and the bridge gave it no id: perhaps a repeat.
    PerhapsRepeat,
    /// The same gauge sent the same again, or a digit beside it, and another characteristic had become due.
    PressedTwice,
    /// It would fit, or fit better, were it 90° or 180° minus what was shown.
    OtherLeg,
    /// It would fit, or fit better, with the other sign.
    OtherSign,
    /// This and the last readings of the gauge are out by the same amount.
    NotZeroed,
    /// It would fit what is due on another bench.
    OtherBench,
}

impl fmt::Display for HeldReason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NothingOnBench => "no piece lies on this bench",
            Self::NothingDue => "nothing at this stage is to be measured now",
            Self::FitsNothing => "it is near nothing that is open on this piece",
            Self::FitsAnother => "it is not near the one due, but near another",
            Self::FitsTwo => "it could be either",
            Self::WrongUnit => {
                "it fits only in another unit: the gauge may be set to the wrong one"
            }
            Self::UnknownGauge => "this gauge is in no configuration",
            Self::IdReused => "the bridge used the same id before, for another reading",
            Self::PerhapsRepeat => "the broker sent it twice without an id: it may be a repeat",
            Self::PressedTwice => {
                "it says what the reading before said: the button may have been pressed twice"
            }
            Self::OtherLeg => {
                "it may be 90° or 180° minus what was shown: see which leg the angle gauge lay on, and which way it was zeroed"
            }
            Self::OtherBench => {
                "it fits what is due on another bench: see which bench the gauge that was used belongs to"
            }
            Self::NotZeroed => {
                "the last readings of this gauge are all out by the same amount: close its jaws, or lay it where it is zeroed, and check its zero"
            }
            Self::OtherSign => {
                "it may be meant with the other sign: see which way round the gauge was held, and which way it was zeroed"
            }
        })
    }
}

/// One explanation of a held reading.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Candidate {
    /// What it may be a reading of.
    pub characteristic: CharacteristicId,
    /// The unit its digits would then be in.
    pub unit: Unit,
    /// How its value would then be understood; `None` as it stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub form: Option<Form>,
}

impl Candidate {
    /// The value a reading of these digits would then have; `None` where it would be out of range.
    #[must_use]
    pub fn value(&self, reading: &Reading) -> Option<Quantity> {
        let read = if self.unit == reading.unit {
            reading.value
        } else {
            reading.in_unit(self.unit)?.value
        };
        match self.form {
            Some(form) => form.of(read),
            None => Some(read),
        }
    }
}

/// The same amount off in readings of one gauge.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SameOffset {
    /// How far they lie from the middle of their limits, on average.
    pub by: Quantity,
    /// The entries of those judged before, which stay as they are judged; oldest first.
    pub readings: Vec<Seq>,
}

/// A derived characteristic, computed because a reading completed what it is computed from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DerivedFinding {
    /// Which.
    pub characteristic: CharacteristicId,
    /// The value computed.
    pub value: Quantity,
    /// The verdict by its own limits.
    pub verdict: Verdict,
    /// The readings it was computed from, each by its entry.
    pub from: Vec<Seq>,
    /// What the verdict rests on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grounds: Option<Arc<Grounds>>,
}

/// What a characteristic should be for one mating piece as measured.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FittedNominal {
    /// Which.
    pub characteristic: CharacteristicId,
    /// What it should be.
    pub nominal: Quantity,
    /// What it may be.
    pub limits: Limits,
    /// The mating piece's reading that it follows.
    pub from: Seq,
}

/// What inspection concluded.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Finding {
    /// Nothing to conclude.
    Noted,
    /// A reading was matched and judged.
    Judged {
        /// The piece it is of.
        piece: PieceId,
        /// The characteristic it is of.
        characteristic: CharacteristicId,
        /// The entry of the part's revision it was judged by: nominal and limits stand there.
        revision: Seq,
        /// The value judged: the reading's, its digits in the unit a person named, or that at 20 °C.
        value: Quantity,
        /// The verdict.
        verdict: Verdict,
        /// At fit-up: the mating piece it was tried in.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        into: Option<PieceId>,
        /// The entry whose [`Finding::Fitted`] moved nominal and limits; `None` where those of the revision hold.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        fitted: Option<Seq>,
        /// What this reading completed.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        derived: Vec<DerivedFinding>,
        /// In a build that corrects lengths to 20 °C: how this one was, or why not.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        correction: Option<Correction>,
        /// What the verdict rests on.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        grounds: Option<Arc<Grounds>>,
    },
    /// What a piece should be for the mating piece named.
    Fitted {
        /// What moves with the mating piece as measured; empty where the plan's own nominals hold.
        nominals: Vec<FittedNominal>,
    },
    /// A reading was of a reference: a check of the gauge.
    Checked {
        /// The reference's name.
        reference: String,
        /// Its size.
        wanted: Quantity,
        /// How far off the gauge may be there.
        limit: Quantity,
        /// Whether it is.
        verdict: Verdict,
    },
    /// A reading belongs to a study of its gauge.
    Studied {
        /// The study's entry.
        study: Seq,
        /// Where in it.
        cell: StudyCell,
    },
    /// A reading waits for a person.
    Held {
        /// Why.
        reason: HeldReason,
        /// The piece and stage on the bench at that time.
        on_bench: Option<(PieceId, Stage)>,
        /// What it may be; the likeliest first.
        candidates: Vec<Candidate>,
        /// Where the gauge may not be at nought: by how much.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        offset: Option<SameOffset>,
    },
}
