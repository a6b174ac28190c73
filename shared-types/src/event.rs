//! Everything that can make the daemon act: one closed enumeration.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::{
    BenchId, CharacteristicId, Climate, DisplayUnits, Disposition, FirstArticle, Form, GaugeId,
    GaugeKind, Observation, PartId, PartPlan, PieceId, Rule, SensorId, Seq, Stage, StudyAct,
    Temperature, TemperatureOf, Trust, Unit,
};

/// Whether a gauge can be heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum GaugeState {
    /// Nothing known yet.
    Unknown,
    /// Its port is open, or its bridge says it is online.
    Connected,
    /// Its port is gone, or cannot be opened.
    Unplugged,
    /// Its bridge says it is offline, or the broker says so for it.
    Offline,
    /// It is there as far as anybody knows, and was not heard for longer than it should be.
    Silent,
}

/// A gauge as configured.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct GaugeSetup {
    /// Its name.
    pub id: GaugeId,
    /// What a person calls it.
    pub title: String,
    /// The bench it is used at.
    pub bench: BenchId,
    /// What it measures with; `None` for typed entry, which takes any kind.
    pub kind: Option<GaugeKind>,
    /// The maker's serial number, as engraved; empty where none was given.
    pub serial_number: String,
    /// What it can be trusted with.
    #[serde(flatten)]
    pub trust: Trust,
}

/// The build and its benches and gauges, as configured when the daemon started.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Setup {
    /// The build's name.
    pub build: String,
    /// Units shown first.
    pub units: DisplayUnits,
    /// Benches with their titles.
    pub benches: Vec<(BenchId, String)>,
    /// Gauges.
    pub gauges: Vec<GaugeSetup>,
    /// How temperatures are used.
    #[serde(default)]
    pub climate: Climate,
    /// What is asked of first articles.
    #[serde(default)]
    pub first_article: FirstArticle,
    /// How readings are judged where a characteristic does not say otherwise.
    #[serde(default)]
    pub decision: Rule,
}

/// Something happened outside.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Event {
    /// The daemon started on this build.
    Opened {
        /// Version of the program.
        version: String,
        /// The configuration in force from here on.
        setup: Setup,
    },
    /// A part's first or changed revision is in force from here on.
    Adopted(Arc<PartPlan>),
    /// A part's file is no longer in the build.
    Withdrawn(PartId),
    /// A gauge sent something.
    Observed(Observation),
    /// A gauge came or went.
    GaugeSeen {
        /// Which.
        gauge: GaugeId,
        /// How it is now.
        state: GaugeState,
    },
    /// A person says who works at a bench.
    Operator {
        /// Where.
        bench: BenchId,
        /// Name or initials.
        name: String,
    },
    /// A person lays a piece on a bench at a stage.
    Laid {
        /// Where.
        bench: BenchId,
        /// What.
        piece: PieceId,
        /// At which stage.
        stage: Stage,
        /// Why it is begun before the first article is released; stated only where it is.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reason: Option<String>,
    },
    /// A person says which mating piece this one is made for, or is tried in from here on.
    Mated {
        /// Where.
        bench: BenchId,
        /// What is made or tried.
        piece: PieceId,
        /// What it goes into.
        mate: PieceId,
    },
    /// A person picks the characteristic to measure next.
    Picked {
        /// Where.
        bench: BenchId,
        /// Which.
        characteristic: CharacteristicId,
    },
    /// A person says which characteristic a reading belongs to: one that was held, or one matched wrongly.
    Assigned {
        /// Where.
        bench: BenchId,
        /// The reading's entry.
        reading: Seq,
        /// What it is a reading of.
        characteristic: CharacteristicId,
        /// The unit its digits are in, where the gauge named the wrong one.
        unit: Option<Unit>,
        /// How its value is to be understood, where not as it stands.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        form: Option<Form>,
    },
    /// A person says a held reading is of nothing.
    Dismissed {
        /// Where.
        bench: BenchId,
        /// The reading's entry.
        reading: Seq,
        /// Why; may be empty.
        reason: String,
    },
    /// A person is about to check a gauge: its next reading is of a reference, and of no piece.
    CheckBegun {
        /// Where.
        bench: BenchId,
        /// Which gauge.
        gauge: GaugeId,
        /// The reference, by its name in the configuration.
        reference: String,
    },
    /// A person leaves a check that was begun: the next reading is an ordinary one again.
    CheckLeft {
        /// Where.
        bench: BenchId,
        /// Which gauge.
        gauge: GaugeId,
    },
    /// A person or a sensor says how warm it is at a bench.
    Temperature {
        /// Where.
        bench: BenchId,
        /// Of what.
        of: TemperatureOf,
        /// How warm.
        value: Temperature,
        /// The sensor; `None` where a person typed it.
        sensor: Option<SensorId>,
    },
    /// A person begins, resumes or leaves a study of a gauge.
    Study {
        /// Where.
        bench: BenchId,
        /// Which gauge.
        gauge: GaugeId,
        /// What.
        act: StudyAct,
    },
    /// A person says what is done about a fail, or with a whole piece.
    Disposed {
        /// Where.
        bench: BenchId,
        /// Of which piece.
        piece: PieceId,
        /// Of which characteristic; `None` for the whole piece.
        characteristic: Option<CharacteristicId>,
        /// The reading that stood when the person decided; `None` for the whole piece.
        reading: Option<Seq>,
        /// What is done.
        disposition: Disposition,
        /// Who decided.
        by: String,
        /// Why.
        reason: String,
    },
    /// A person says a judged reading, a check of a gauge or a disposition does not count.
    Voided {
        /// Where.
        bench: BenchId,
        /// Its entry.
        reading: Seq,
        /// Why.
        reason: String,
    },
}
