//! What a thermometer says, and which of it is news. Pure.

use std::collections::BTreeMap;

use serde::Deserialize;
use serde_json::value::RawValue;
use shared_types::{
    BenchId, Event, Garbled, NoTemperature, SensorId, TEMPERATURE_GRAINS_PER_K, Temperature,
    TemperatureOf, TemperatureUnit,
};

use super::rfc3339;
use crate::FRAME_BYTES_MAX;

/// A smaller change is not stored: it moves half a metre of aluminium by a micrometre.
const CHANGE_GRAINS: i32 = TEMPERATURE_GRAINS_PER_K / 10;
/// A temperature that stays is stored this often, so that it goes on holding: three times within the usual half hour.
const STILL_US: i64 = 10 * 60 * 1_000_000;
/// What comes sooner after the one stored before is not stored, however much it jumps: no thermometer is that quick, and
/// a broken one must not fill the history.
const AGAIN_US: i64 = 1_000_000;

/// A thermometer as configured.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sensor {
    /// The bench it stands at.
    pub bench: BenchId,
    /// What it feels.
    pub of: TemperatureOf,
    /// The unit of a number that names none.
    pub unit: TemperatureUnit,
}

/// The sensor of a topic; `None` where it is no sensor's.
pub(crate) fn address(root: &str, topic: &str) -> Option<SensorId> {
    let rest = topic.strip_prefix(root)?.strip_prefix("/sensors/")?;
    SensorId::new(rest.strip_suffix("/temperature")?).ok()
}

/// What was stored last of each sensor.
#[derive(Debug, Default)]
pub(super) struct Felt(BTreeMap<SensorId, (i64, Temperature)>);

impl Felt {
    /// The event of a temperature that came; `None` where it is no news. The sensors are those configured, so that
    /// strangers make nothing grow.
    pub(super) fn event(
        &mut self,
        name: &SensorId,
        sensor: &Sensor,
        value: Temperature,
        at_us: i64,
    ) -> Option<Event> {
        if let Some((stored_at_us, stored)) = self.0.get(name) {
            // A clock set back is no reason to be silent.
            let age_us = at_us.saturating_sub(*stored_at_us);
            let changed = value.above(*stored).abs() >= CHANGE_GRAINS;
            let is_soon = (0..AGAIN_US).contains(&age_us);
            let is_news = changed || !(0..STILL_US).contains(&age_us);
            if is_soon || !is_news {
                return None;
            }
        }
        self.0.insert(name.clone(), (at_us, value));
        Some(Event::Temperature {
            bench: sensor.bench.clone(),
            of: sensor.of,
            value,
            sensor: Some(name.clone()),
        })
    }
}

/// A payload as a temperature: `21.5`, `21.5 C`, `70.1 F`, or `{"value": 21.5, "unit": "C"}`.
pub(super) fn temperature(sensor: &Sensor, payload: &[u8]) -> Result<Temperature, Garbled> {
    if payload.len() > FRAME_BYTES_MAX {
        return Err(Garbled::Oversize);
    }
    let text = std::str::from_utf8(payload).map_err(|_| Garbled::Grammar)?;
    let text = text.trim_ascii();
    if text.starts_with('{') {
        let envelope: Envelope<'_> = serde_json::from_str(text).map_err(|_| Garbled::Json)?;
        return envelope.open(sensor);
    }
    spoken(text, sensor.unit)
}

/// A field we do not know may change what the others mean: refused.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Envelope<'a> {
    /// Text or a number, taken digit for digit.
    #[serde(borrow)]
    value: &'a RawValue,
    unit: Option<String>,
    /// The bridge's clock: our own dates the entry.
    at: Option<String>,
}

impl Envelope<'_> {
    fn open(self, sensor: &Sensor) -> Result<Temperature, Garbled> {
        if self.at.is_some_and(|at| !rfc3339::is_timestamp(&at)) {
            return Err(Garbled::Json);
        }
        let unit = match self.unit.as_deref().map(TemperatureUnit::from_name) {
            None => sensor.unit,
            Some(Some(unit)) => unit,
            Some(None) => return Err(Garbled::Unit),
        };
        let json = self.value.get();
        if json.starts_with('"') {
            let text: String = serde_json::from_str(json).map_err(|_| Garbled::Json)?;
            return spoken(text.trim_ascii(), unit);
        }
        read(json, unit)
    }
}

/// A number, perhaps with its unit.
fn spoken(text: &str, unit: TemperatureUnit) -> Result<Temperature, Garbled> {
    if text.ends_with(|c: char| c.is_ascii_digit() || c == '.') {
        return read(text, unit);
    }
    text.parse().map_err(garbled)
}

fn read(digits: &str, unit: TemperatureUnit) -> Result<Temperature, Garbled> {
    unit.read(digits, '.').map_err(garbled)
}

fn garbled(why: NoTemperature) -> Garbled {
    match why {
        NoTemperature::NotANumber => Garbled::Grammar,
        NoTemperature::Unit => Garbled::Unit,
        NoTemperature::OutOfRange => Garbled::Range,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shelf(unit: TemperatureUnit) -> Sensor {
        Sensor {
            bench: BenchId::new("bench-1").unwrap(),
            of: TemperatureOf::Both,
            unit,
        }
    }

    fn t(text: &str) -> Temperature {
        text.parse().unwrap()
    }

    #[test]
    fn a_sensor_is_read_strictly_and_in_its_own_unit_where_it_names_none() {
        let celsius = shelf(TemperatureUnit::Celsius);
        for (payload, read) in [
            ("21.5", Ok("21.5 C")),
            (" 21.4375\r\n", Ok("21.4375 C")),
            ("70 F", Ok("70 F")),
            ("-5 °C", Ok("-5 C")),
            (r#"{"value": 21.5}"#, Ok("21.5 C")),
            (
                r#"{"value": "70.1", "unit": "F", "at": "2026-11-25T16:05:00Z"}"#,
                Ok("70.1 F"),
            ),
            (r#"{"value": "21.5 C"}"#, Ok("21.5 C")),
            ("", Err(Garbled::Unit)),
            ("nan", Err(Garbled::Unit)),
            ("21,5", Err(Garbled::Grammar)),
            ("2e1", Err(Garbled::Grammar)),
            ("85", Err(Garbled::Range)),
            ("-127", Err(Garbled::Range)),
            ("21.5 K", Err(Garbled::Unit)),
            (r#"{"value": 21.5, "humidity": 40}"#, Err(Garbled::Json)),
            (r#"{"value": true}"#, Err(Garbled::Grammar)),
            (r#"{"value": 21.5, "unit": "mm"}"#, Err(Garbled::Unit)),
            (r#"{"value": 21.5, "at": "now"}"#, Err(Garbled::Json)),
        ] {
            let read = read.map(t);
            assert_eq!(
                temperature(&celsius, payload.as_bytes()),
                read,
                "{payload:?}"
            );
        }
        assert_eq!(
            temperature(&shelf(TemperatureUnit::Fahrenheit), b"68"),
            Ok(t("20 C"))
        );
        assert_eq!(temperature(&celsius, &[0xff, b'1']), Err(Garbled::Grammar));
        let long = [b'1'; FRAME_BYTES_MAX + 1];
        assert_eq!(temperature(&celsius, &long), Err(Garbled::Oversize));
    }

    /// At most one a second, and one every ten minutes where nothing changes: a day of the noisiest sensor, which
    /// speaks a hundred times a second, is bounded by its seconds.
    #[test]
    fn only_a_change_of_a_tenth_or_ten_minutes_are_news_and_never_twice_a_second() {
        let name: SensorId = "shelf".parse().unwrap();
        let sensor = shelf(TemperatureUnit::Celsius);
        let mut felt = Felt::default();
        let mut is_news =
            |at_ms: i64, text: &str| felt.event(&name, &sensor, t(text), at_ms * 1000).is_some();
        assert!(is_news(0, "20 C"));
        assert!(!is_news(999, "25 C"), "too soon");
        assert!(is_news(1_000, "20.1 C"), "a tenth");
        assert!(!is_news(60_000, "20.1999 C"));
        // What creeps is measured against what was stored, not against what came before.
        assert!(is_news(61_000, "20.2 C"));
        assert!(!is_news(660_999, "20.2 C"));
        assert!(is_news(661_000, "20.2 C"), "ten minutes");
        assert!(is_news(5_000, "20.2 C"), "the clock was set back");
        let jumps = (0..2_000).filter(|n| {
            let text = if n % 2 == 0 { "15 C" } else { "25 C" };
            is_news(1_000_000 + n * 10, text)
        });
        assert_eq!(jumps.count(), 20);
    }
}
