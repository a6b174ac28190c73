//! The stored spelling of temperatures, and of what was made of them.

use serde::{Deserialize, Serialize};
use shared_types::{
    BenchId, Climate, Correction, Event, Expansion, NotCorrected, SensorId, Seq, StatedExpansion,
    Temperature, TemperatureOf, Warmth,
};

use super::SpellingError;
use super::words::{Name, Pm, Text, Word};

/// `b` bench, `o` of what, `t` the temperature, `s` the sensor, left out where it was typed.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct TemperatureSpelt {
    b: Name<BenchId>,
    o: Word<TemperatureOf>,
    t: Name<Temperature>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    s: Option<Name<SensorId>>,
}

impl TemperatureSpelt {
    pub(super) fn of(
        bench: &BenchId,
        of: TemperatureOf,
        value: Temperature,
        sensor: Option<&SensorId>,
    ) -> Self {
        Self {
            b: Name(bench.clone()),
            o: Word(of),
            t: Name(value),
            s: sensor.cloned().map(Name),
        }
    }

    pub(super) fn read(self) -> Event {
        Event::Temperature {
            bench: self.b.0,
            of: self.o.0,
            value: self.t.0,
            sensor: self.s.map(|sensor| sensor.0),
        }
    }
}

/// `c` lengths are corrected (left out where not), `r` between which temperatures the shop is, `o` how far a
/// temperature may be off and `a` piece and gauge apart (thousandths of a kelvin), `t` how long a typed one holds and
/// `s` a sensor's (seconds). All of it is left out where it is as usual.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ClimateSpelt {
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    c: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    r: Option<(Name<Temperature>, Name<Temperature>)>,
    o: u32,
    a: u32,
    t: u32,
    s: u32,
}

impl ClimateSpelt {
    pub(super) fn of(climate: &Climate) -> Option<Self> {
        (*climate != Climate::default()).then(|| Self {
            c: climate.correct,
            r: climate.shop.map(|(from, to)| (Name(from), Name(to))),
            o: climate.off_mk,
            a: climate.apart_mk,
            t: climate.typed_holds_s,
            s: climate.sensor_holds_s,
        })
    }

    pub(super) fn read(self) -> Climate {
        Climate {
            correct: self.c,
            shop: self.r.map(|(from, to)| (from.0, to.0)),
            off_mk: self.o,
            apart_mk: self.a,
            typed_holds_s: self.t,
            sensor_holds_s: self.s,
        }
    }
}

/// In 1e-9 a kelvin.
#[derive(Serialize, Deserialize)]
#[serde(transparent)]
pub(super) struct E9(u32);

impl E9 {
    pub(super) fn of(expansion: Expansion) -> Self {
        Self(expansion.e9())
    }

    pub(super) fn read(self) -> Result<Expansion, SpellingError> {
        Expansion::from_e9(self.0).ok_or(SpellingError::Expansion(self.0))
    }
}

/// The coefficient of a sheet and its source.
#[derive(Serialize, Deserialize)]
pub(super) struct ExpansionSpelt<'a>(E9, #[serde(borrow)] Text<'a>);

impl<'a> ExpansionSpelt<'a> {
    pub(super) fn of(stated: &'a StatedExpansion) -> Self {
        Self(E9::of(stated.value), stated.source.as_str().into())
    }

    pub(super) fn read(self) -> Result<StatedExpansion, SpellingError> {
        Ok(StatedExpansion {
            value: self.0.read()?,
            source: self.1.into(),
        })
    }
}

/// `made` as read, by the piece's warmth and the gauge's; or `not`, and why.
#[derive(Serialize, Deserialize)]
pub(super) enum CorrectionSpelt {
    #[serde(rename = "made")]
    Made(Pm, WarmthSpelt, WarmthSpelt),
    #[serde(rename = "not")]
    Not(Word<NotCorrected>),
}

/// Temperature, the entry that gave it, coefficient.
#[derive(Serialize, Deserialize)]
pub(super) struct WarmthSpelt(Name<Temperature>, u64, E9);

impl WarmthSpelt {
    fn of(warmth: &Warmth) -> Self {
        Self(
            Name(warmth.temperature),
            warmth.from.0,
            E9::of(warmth.expansion),
        )
    }

    fn read(self) -> Result<Warmth, SpellingError> {
        Ok(Warmth {
            temperature: self.0.0,
            from: Seq(self.1),
            expansion: self.2.read()?,
        })
    }
}

impl CorrectionSpelt {
    pub(super) fn of(correction: &Correction) -> Self {
        match correction {
            Correction::Made { read, piece, gauge } => {
                Self::Made(Pm(*read), WarmthSpelt::of(piece), WarmthSpelt::of(gauge))
            }
            Correction::Not(why) => Self::Not(Word(*why)),
        }
    }

    pub(super) fn read(self) -> Result<Correction, SpellingError> {
        Ok(match self {
            Self::Made(Pm(read), piece, gauge) => Correction::Made {
                read,
                piece: piece.read()?,
                gauge: gauge.read()?,
            },
            Self::Not(why) => Correction::Not(why.0),
        })
    }
}
