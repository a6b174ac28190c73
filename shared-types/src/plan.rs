//! A part as the plan wants it: its characteristics, and what to draw.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::{
    Angle, CharacteristicId, Derived, Fit, Follows, Hand, Length, Limits, Mirrored, PartId,
    PieceId, Quantity, Rule, StatedExpansion, View,
};

/// A step in making a part, in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// The form blocks.
    Blocks,
    /// The flat blank, cut and drilled.
    Blank,
    /// Flanges worked up, with more than the part will keep.
    Formed,
    /// Flanges trimmed to their finished height.
    Trimmed,
    /// Tried in what it must fit.
    FitUp,
}

/// All stages in order.
pub const STAGES: [Stage; 5] = [
    Stage::Blocks,
    Stage::Blank,
    Stage::Formed,
    Stage::Trimmed,
    Stage::FitUp,
];

impl Stage {
    /// The stage's word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Blocks => "blocks",
            Self::Blank => "blank",
            Self::Formed => "formed",
            Self::Trimmed => "trimmed",
            Self::FitUp => "fit-up",
        }
    }
}

impl fmt::Display for Stage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A word that is none of those expected.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("found {found:?}, expected one of {expected}")]
pub struct UnknownWord {
    /// What was written.
    pub found: String,
    /// The words that are known.
    pub expected: &'static str,
}

impl FromStr for Stage {
    type Err = UnknownWord;
    fn from_str(text: &str) -> Result<Self, UnknownWord> {
        STAGES
            .into_iter()
            .find(|stage| stage.word() == text)
            .ok_or_else(|| UnknownWord {
                found: text.to_owned(),
                expected: "blocks, blank, formed, trimmed, fit-up",
            })
    }
}

/// What an instrument measures with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum GaugeKind {
    /// A caliper: outside jaws, inside jaws, depth rod or step.
    Caliper,
    /// A protractor, angle cube or angle rule.
    AngleGauge,
}

impl GaugeKind {
    /// The kind's word in a configuration.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Caliper => "caliper",
            Self::AngleGauge => "angle-gauge",
        }
    }
}

impl FromStr for GaugeKind {
    type Err = UnknownWord;
    fn from_str(text: &str) -> Result<Self, UnknownWord> {
        match text {
            "caliper" => Ok(Self::Caliper),
            "angle-gauge" => Ok(Self::AngleGauge),
            _ => Err(UnknownWord {
                found: text.to_owned(),
                expected: "caliper, angle-gauge",
            }),
        }
    }
}

/// Where the limits of a characteristic come from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Tolerance {
    /// A general tolerance, with the standard and class: `ISO 2768-1 m`.
    General(String),
    /// Stated in the part file for this characteristic.
    Stated,
}

impl fmt::Display for Tolerance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::General(standard) => f.write_str(standard),
            Self::Stated => f.write_str("stated in the part file"),
        }
    }
}

/// One dimension at one stage.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Characteristic {
    /// Stable over revisions of the part file.
    pub id: CharacteristicId,
    /// Its number in the drawings of its stage, from 1 in route order.
    pub number: u16,
    /// Plain name, as `height of the left flange`.
    pub name: String,
    /// The stage it is measured at.
    pub stage: Stage,
    /// What it is measured with.
    pub gauge: GaugeKind,
    /// What it should be.
    pub nominal: Quantity,
    /// What it may be.
    pub limits: Limits,
    /// Where the limits come from.
    pub tolerance: Tolerance,
    /// How the nominal follows from the plan, with the rule's name and its inputs.
    pub rule: String,
    /// How to measure it.
    pub how: String,
    /// What to do about a piece that measures too small.
    pub if_small: String,
    /// What to do about a piece that measures too large.
    pub if_large: String,
    /// Some: never measured directly, but computed from readings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub derived: Option<Derived>,
    /// Some: moves one for one with a characteristic of the mating piece, once that is named.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub follows: Option<Follows>,
    /// Some: judged by another rule than the build's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub decision: Option<Rule>,
}

/// The sheet a part is made of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sheet {
    /// Alloy and temper as the plan writes them.
    pub alloy: String,
    /// Thickness.
    pub thickness: Length,
    /// How much it grows with its temperature, where that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expansion: Option<StatedExpansion>,
}

/// Which way a bend goes, the blank lying as its view shows it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum BendWay {
    /// Toward the eye.
    Up,
    /// Away from the eye.
    Down,
}

/// A bend as it is laid out on the blank. The same for both hands of a part.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Bend {
    /// The characteristic that says where its first tangent line lies. In the view of the blank its dimension
    /// runs from the edge to that line, square to it; the second tangent line lies one allowance farther.
    pub line: CharacteristicId,
    /// Turned through: 0° is flat.
    pub angle: Angle,
    /// Inside.
    pub radius: Length,
    /// Between its two tangent lines.
    pub allowance: Length,
    /// Which way it goes.
    pub way: BendWay,
    /// How much comes off the free edge once it is formed.
    #[serde(default)]
    pub trim: Option<Length>,
    /// How far it springs back, where it is worked over a form block whose bevel makes up for that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub springback: Option<Springback>,
}

/// How far a bend worked over a form block is thought to spring back.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Springback {
    /// The characteristic of the block: the angle between its face and its side, which is 180° less the angle
    /// through which the block turns the sheet.
    pub block: CharacteristicId,
    /// The characteristic of the formed piece: the angle between flange and web, 180° less the bend angle.
    pub formed: CharacteristicId,
    /// By how much less it stays bent than the block turned it.
    pub back: Angle,
    /// Whether the part file states it; otherwise it is predicted from published formulas.
    pub stated: bool,
}

/// Something a builder should know before cutting; guidance, not acceptance.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Warning {
    /// What is unusual and what to change.
    pub what: String,
    /// Where the guidance comes from.
    pub source: String,
}

/// A part computed from its file: one revision.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PartPlan {
    /// Its name.
    pub part: PartId,
    /// Its title.
    pub title: String,
    /// How many pieces are to be made; how many pairs of a part made in pairs.
    pub quantity: u32,
    /// Its sheet.
    pub sheet: Sheet,
    /// SHA-256 of the part file and of the build's rules that went into it, in hexadecimal.
    pub digest: String,
    /// In route order: by stage, then as a person would measure.
    pub characteristics: Vec<Characteristic>,
    /// What to draw.
    pub views: Vec<View>,
    /// Guidance on forming it.
    #[serde(default)]
    pub warnings: Vec<Warning>,
    /// Some for a part made in pairs: what differs on the right one. The plan itself is of the left one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mirrored: Option<Mirrored>,
    /// What it goes into.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fit: Option<Fit>,
    /// The bends, as they are laid out on the blank.
    #[serde(default)]
    pub bends: Vec<Bend>,
}

impl PartPlan {
    /// The characteristic of that id.
    #[must_use]
    pub fn characteristic(&self, id: &CharacteristicId) -> Option<&Characteristic> {
        self.characteristics.iter().find(|c| &c.id == id)
    }

    /// Every piece that is to be made, in order.
    pub fn pieces(&self) -> impl Iterator<Item = PieceId> + '_ {
        let hands: &[Option<Hand>] = match self.mirrored {
            Some(_) => &[Some(Hand::Left), Some(Hand::Right)],
            None => &[None],
        };
        (1..=self.quantity).flat_map(move |number| {
            let piece = PieceId::new(self.part.clone(), number).expect("it begins at 1");
            hands.iter().map(move |hand| match hand {
                Some(hand) => piece.clone().handed(*hand),
                None => piece.clone(),
            })
        })
    }

    /// The characteristics of a stage in route order.
    pub fn at(&self, stage: Stage) -> impl Iterator<Item = &Characteristic> {
        self.characteristics
            .iter()
            .filter(move |c| c.stage == stage)
    }

    /// The stages that have characteristics, in order.
    pub fn stages(&self) -> impl Iterator<Item = Stage> + '_ {
        STAGES
            .into_iter()
            .filter(|stage| self.at(*stage).next().is_some())
    }
}
