//! The stored spelling of what a gauge sent.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD_NO_PAD;
use serde::{Deserialize, Serialize};
use shared_types::{
    Decoded, Garbled, GaugeId, NoReading, Observation, Reading, Suppressed, Unit, Via,
};

use super::SpellingError;
use super::words::{Name, Text, Value, Word};

/// `g` gauge, `v` by which door; the bytes as `b` text or `x` base64; `d` digits, unit and value, or
/// `u` why it is unreadable, or `s` why it is no new reading (then perhaps with its value in `d`); `c` how
/// many frames it stands for, left out for one.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FrameSpelt<'a> {
    g: Name<GaugeId>,
    v: Word<Via>,
    #[serde(borrow, default, skip_serializing_if = "Option::is_none")]
    b: Option<Text<'a>>,
    #[serde(borrow, default, skip_serializing_if = "Option::is_none")]
    x: Option<Text<'a>>,
    #[serde(borrow, default, skip_serializing_if = "Option::is_none")]
    d: Option<DigitsSpelt<'a>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    u: Option<Word<Garbled>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    s: Option<Word<NoReading>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    c: Option<u64>,
}

/// The value is stored beside its digits, not computed from them again: what was judged stands, even
/// where a later version reads the same digits differently.
#[derive(Serialize, Deserialize)]
struct DigitsSpelt<'a>(#[serde(borrow)] Text<'a>, Word<Unit>, Value);

impl<'a> DigitsSpelt<'a> {
    fn of(reading: &'a Reading) -> Self {
        let digits = reading.digits.as_str().into();
        Self(digits, Word(reading.unit), reading.value.into())
    }

    fn read(self) -> Reading {
        let Self(digits, Word(unit), value) = self;
        Reading {
            digits: digits.into(),
            unit,
            value: value.into(),
        }
    }
}

impl<'a> FrameSpelt<'a> {
    pub(super) fn of(observation: &'a Observation) -> Self {
        let plain = std::str::from_utf8(&observation.raw)
            .ok()
            .filter(|text| text.bytes().all(|byte| matches!(byte, 0x20..=0x7e)));
        let (d, u, s, count) = match &observation.decoded {
            Decoded::Reading(reading) => (Some(DigitsSpelt::of(reading)), None, None, 1),
            Decoded::Garbled(why) => (None, Some(Word(*why)), None, 1),
            Decoded::Flood { why, count } => (None, Some(Word(*why)), None, *count),
            Decoded::Suppressed(Suppressed { why, count, last }) => {
                let last = last.as_ref().map(DigitsSpelt::of);
                (last, None, Some(Word(*why)), *count)
            }
        };
        Self {
            g: Name(observation.gauge.clone()),
            v: Word(observation.via),
            b: plain.map(Text::from),
            x: plain
                .is_none()
                .then(|| Text(STANDARD_NO_PAD.encode(&observation.raw).into())),
            d,
            u,
            s,
            c: (count != 1).then_some(count),
        }
    }

    pub(super) fn read(self) -> Result<Observation, SpellingError> {
        let raw = match (self.b, self.x) {
            (Some(text), None) => String::from(text).into_bytes(),
            (None, Some(text)) => STANDARD_NO_PAD
                .decode(text.0.as_bytes())
                .map_err(|_| SpellingError::Bytes)?,
            _ => return Err(SpellingError::Bytes),
        };
        let reading = self.d.map(DigitsSpelt::read);
        let decoded = match (reading, self.u, self.s, self.c) {
            (Some(reading), None, None, None) => Decoded::Reading(reading),
            (None, Some(Word(why)), None, None) => Decoded::Garbled(why),
            (None, Some(Word(why)), None, Some(count @ 2..)) => Decoded::Flood { why, count },
            (last, None, Some(Word(why)), None) => {
                let count = 1;
                Decoded::Suppressed(Suppressed { why, count, last })
            }
            (last, None, Some(Word(why)), Some(count @ 2..)) => {
                Decoded::Suppressed(Suppressed { why, count, last })
            }
            _ => return Err(SpellingError::Decoded),
        };
        Ok(Observation {
            gauge: self.g.0,
            via: self.v.0,
            raw,
            decoded,
        })
    }
}
