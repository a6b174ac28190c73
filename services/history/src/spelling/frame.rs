//! The stored spelling of what a gauge sent.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD_NO_PAD;
use serde::{Deserialize, Serialize};
use shared_types::{Decoded, Garbled, GaugeId, Observation, Reading, Unit, Via};

use super::SpellingError;
use super::words::{Name, Text, Value, Word};

/// `g` gauge, `v` by which door; the bytes as `b` text or `x` base64; `d` digits, unit and value, or
/// `u` why it is unreadable.
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
}

/// The value is stored beside its digits, not computed from them again: what was judged stands, even
/// where a later version reads the same digits differently.
#[derive(Serialize, Deserialize)]
struct DigitsSpelt<'a>(#[serde(borrow)] Text<'a>, Word<Unit>, Value);

impl<'a> FrameSpelt<'a> {
    pub(super) fn of(observation: &'a Observation) -> Self {
        let plain = std::str::from_utf8(&observation.raw)
            .ok()
            .filter(|text| text.bytes().all(|byte| matches!(byte, 0x20..=0x7e)));
        let (d, u) = match &observation.decoded {
            Decoded::Reading(reading) => {
                let digits = reading.digits.as_str().into();
                let spelt = DigitsSpelt(digits, Word(reading.unit), reading.value.into());
                (Some(spelt), None)
            }
            Decoded::Garbled(why) => (None, Some(Word(*why))),
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
        let decoded = match (self.d, self.u) {
            (Some(DigitsSpelt(digits, Word(unit), value)), None) => Decoded::Reading(Reading {
                digits: digits.into(),
                unit,
                value: value.into(),
            }),
            (None, Some(Word(why))) => Decoded::Garbled(why),
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
