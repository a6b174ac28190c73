//! What is known of temperatures at a bench, how long it holds, and what is made of it.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::{Entry, Event, Expansion, Length, SensorId, Seq, Shop, Temperature, UnknownWord};

/// What a temperature is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TemperatureOf {
    /// The piece that lies on the bench.
    Piece,
    /// The gauges of the bench.
    Gauge,
    /// Both: they have lain together long enough.
    Both,
}

impl TemperatureOf {
    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Piece => "piece",
            Self::Gauge => "gauge",
            Self::Both => "both",
        }
    }
}

impl FromStr for TemperatureOf {
    type Err = UnknownWord;
    fn from_str(text: &str) -> Result<Self, UnknownWord> {
        [Self::Piece, Self::Gauge, Self::Both]
            .into_iter()
            .find(|of| of.word() == text)
            .ok_or_else(|| UnknownWord {
                found: text.to_owned(),
                expected: "piece, gauge, both",
            })
    }
}

/// How temperatures are used in a build, as configured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Climate {
    /// Lengths are corrected to 20 °C.
    pub correct: bool,
    /// Between which temperatures the shop is, where none is measured.
    pub shop: Option<(Temperature, Temperature)>,
    /// How far a temperature given may be off, ±, in thousandths of a kelvin.
    pub off_mk: u32,
    /// How far piece and gauge may be from each other where one temperature stands for both, ±, in thousandths of a kelvin.
    pub apart_mk: u32,
    /// How long a typed temperature holds.
    pub typed_holds_s: u32,
    /// How long a sensor's does.
    pub sensor_holds_s: u32,
}

impl Default for Climate {
    fn default() -> Self {
        Self {
            correct: false,
            shop: None,
            // Common practice, no source: a cheap thermometer is good to a kelvin, and sheet that has lain
            // beside the caliper for some minutes is within one of it.
            off_mk: 1_000,
            apart_mk: 1_000,
            // A shift: whoever typed it is there to type it again.
            typed_holds_s: 8 * 60 * 60,
            // A sensor speaks every few minutes; one that has not for half an hour is gone.
            sensor_holds_s: 30 * 60,
        }
    }
}

/// A temperature as it was given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Felt {
    /// Its entry.
    pub seq: Seq,
    /// When it came.
    pub at_us: i64,
    /// What it was.
    pub value: Temperature,
    /// The sensor it came from; `None` where a person typed it.
    pub sensor: Option<SensorId>,
}

impl Felt {
    /// Whether it still says something at a time.
    #[must_use]
    pub fn holds(&self, at_us: i64, climate: &Climate) -> bool {
        let holds_s = match self.sensor {
            Some(_) => climate.sensor_holds_s,
            None => climate.typed_holds_s,
        };
        // A clock that was set back must not make it hold for years.
        at_us.abs_diff(self.at_us) <= u64::from(holds_s) * 1_000_000
    }
}

/// The last temperatures given at a bench.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Temperatures {
    /// Of the piece alone.
    pub piece: Option<Felt>,
    /// Of the gauges alone.
    pub gauge: Option<Felt>,
    /// Of both.
    pub both: Option<Felt>,
}

impl Temperatures {
    /// The piece's at a time: what was said of it alone goes before what was said of both.
    #[must_use]
    pub fn of_piece(&self, at_us: i64, climate: &Climate) -> Option<&Felt> {
        let holds = |felt: &&Felt| felt.holds(at_us, climate);
        self.piece
            .as_ref()
            .filter(holds)
            .or_else(|| self.both.as_ref().filter(holds))
    }

    /// The gauges' at a time.
    #[must_use]
    pub fn of_gauge(&self, at_us: i64, climate: &Climate) -> Option<&Felt> {
        let holds = |felt: &&Felt| felt.holds(at_us, climate);
        self.gauge
            .as_ref()
            .filter(holds)
            .or_else(|| self.both.as_ref().filter(holds))
    }

    pub(crate) fn felt(&mut self, of: TemperatureOf, felt: Felt) {
        match of {
            TemperatureOf::Piece => self.piece = Some(felt),
            TemperatureOf::Gauge => self.gauge = Some(felt),
            TemperatureOf::Both => self.both = Some(felt),
        }
    }

    /// Another piece lies there: what a person said of the former one alone is not said of it. A sensor goes on
    /// saying how warm what lies there is.
    pub(crate) fn another_piece(&mut self) {
        self.piece.take_if(|felt| felt.sensor.is_none());
    }
}

impl Shop {
    /// How temperatures are used.
    #[must_use]
    pub fn climate(&self) -> Climate {
        let setup = self.setup.as_ref();
        setup.map(|setup| setup.climate).unwrap_or_default()
    }

    pub(crate) fn felt(&mut self, entry: &Entry) {
        let Event::Temperature {
            bench,
            of,
            value,
            sensor,
        } = &entry.fact.event
        else {
            return;
        };
        let felt = Felt {
            seq: entry.seq,
            at_us: entry.fact.at_us,
            value: *value,
            sensor: sensor.clone(),
        };
        let bench = self.benches.entry(bench.clone()).or_default();
        bench.temperatures.felt(*of, felt);
    }
}

/// How warm something was, and how much it grows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Warmth {
    /// Its temperature.
    pub temperature: Temperature,
    /// The entry that gave it.
    pub from: Seq,
    /// Its coefficient.
    pub expansion: Expansion,
}

/// What was made of the temperature, in a build that corrects lengths to 20 °C (ISO 1).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Correction {
    /// The value judged is that at 20 °C.
    Made {
        /// As read.
        read: Length,
        /// The piece.
        piece: Warmth,
        /// The gauge.
        gauge: Warmth,
    },
    /// The value judged is as read, though a correction was asked for.
    Not(NotCorrected),
}

impl Correction {
    /// The value as read, where the one judged is another.
    #[must_use]
    pub const fn as_read(&self) -> Option<Length> {
        match self {
            Self::Made { read, .. } => Some(*read),
            Self::Not(_) => None,
        }
    }
}

/// In words for a person: by which temperatures, or why not.
impl fmt::Display for Correction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Made { piece, gauge, .. } => {
                write!(f, "to 20 °C: piece {piece}, gauge {gauge}")
            }
            Self::Not(why) => write!(f, "not to 20 °C: {why}"),
        }
    }
}

/// `30 °C (entry 27, 23.6e-6 / K)`.
impl fmt::Display for Warmth {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            temperature,
            from,
            expansion,
        } = self;
        write!(f, "{temperature} (entry {from}, {expansion})")
    }
}

/// Why a length was not corrected.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum NotCorrected {
    /// Neither temperature was known.
    NoTemperature,
    /// The piece's was not.
    NoPieceTemperature,
    /// The gauge's was not.
    NoGaugeTemperature,
    /// How much the sheet grows was not.
    NoExpansion,
    /// The value at 20 °C is beyond the range of a length.
    OutOfRange,
}

impl fmt::Display for NotCorrected {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NoTemperature => "no temperature was known; type it, or look at the sensor",
            Self::NoPieceTemperature => "the piece's temperature was not known; type it",
            Self::NoGaugeTemperature => "the gauge's temperature was not known; type it",
            Self::NoExpansion => {
                "how much this sheet grows is not known; state `expansion` in the part's [sheet]"
            }
            Self::OutOfRange => "the value at 20 °C is beyond 1 km",
        })
    }
}
