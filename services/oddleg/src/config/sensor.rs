//! Thermometers that speak over MQTT, as configured.

use std::collections::{BTreeMap, BTreeSet};

use intake::mqtt::Sensor;
use nominals::form::Table;
use shared_types::{BenchId, SensorId, TemperatureOf, TemperatureUnit};

use super::gauge::Gauge;
use super::listen::Listen;

/// The sensors, by name.
pub(super) fn walk(
    root: &Table<'_>,
    benches: &BTreeSet<BenchId>,
) -> Option<BTreeMap<SensorId, Sensor>> {
    let mut sensors = BTreeMap::new();
    let mut whole = true;
    for (name, table) in root.may("sensor").named_tables() {
        match one(name, &table, benches) {
            Some((id, sensor)) => {
                sensors.insert(id, sensor);
            }
            None => whole = false,
        }
    }
    whole.then_some(sensors)
}

fn one(name: &str, table: &Table<'_>, benches: &BTreeSet<BenchId>) -> Option<(SensorId, Sensor)> {
    table.only(&["bench", "of", "unit"]);
    let id = SensorId::new(name);
    if let Err(wrong) = &id {
        table.wrong_here(format!("found sensor {name:?}, {wrong}"));
    }
    let bench = table.need("bench").parsed::<BenchId>("the name of a bench");
    if let Some(bench) = &bench
        && !benches.contains(bench)
    {
        let known: Vec<&str> = benches.iter().map(BenchId::as_str).collect();
        let known = known.join(", ");
        table.wrong(
            "bench",
            format!("found \"{bench}\", expected one of {known}"),
        );
    }
    let of = table.need("of").word(&[
        ("both", TemperatureOf::Both),
        ("piece", TemperatureOf::Piece),
        ("gauge", TemperatureOf::Gauge),
    ]);
    let unit = table.need("unit").word(&[
        ("C", TemperatureUnit::Celsius),
        ("F", TemperatureUnit::Fahrenheit),
    ]);
    let sensor = Sensor {
        bench: bench?,
        of: of?,
        unit: unit?,
    };
    Some((id.ok()?, sensor))
}

/// Tells of each sensor that nothing of it would ever be heard, or that its name says two things.
pub(super) fn check(
    root: &Table<'_>,
    gauges: Option<&[Gauge]>,
    broker: bool,
    listen: Option<&Listen>,
) {
    for (name, table) in root.may("sensor").named_tables() {
        let Ok(id) = SensorId::new(name) else {
            continue;
        };
        // What cannot be read is told under its name.
        let same = |gauge: &Gauge| gauge.id.as_str() == name;
        if gauges.is_some_and(|gauges| gauges.iter().any(same)) {
            table.wrong_here("a gauge has the same name, expected another");
        }
        if broker {
            continue;
        }
        let Some(listen) = listen else {
            table.wrong_here("found no [mqtt] table, expected one with `broker` or `listen`");
            continue;
        };
        let mut clients = listen.clients.iter();
        if !clients.any(|client| client.sensors.contains(&id)) {
            table.wrong_here(
                "no [mqtt.client] may speak for this sensor, expected one of its name or with it in `sensors`",
            );
        }
    }
}

/// The sensors a client may speak for: those it names, or the one of its own name.
pub(super) fn of_client(
    name: &str,
    table: &Table<'_>,
    known: Option<&BTreeSet<SensorId>>,
) -> Option<BTreeSet<SensorId>> {
    if !table.has("sensors") {
        let own = SensorId::new(name).ok();
        let known = own.filter(|own| known.is_some_and(|known| known.contains(own)));
        return Some(known.into_iter().collect());
    }
    let mut sensors = BTreeSet::new();
    for (text, at) in table.may("sensors").texts()? {
        match SensorId::new(&text) {
            Ok(sensor) if known.is_none_or(|known| known.contains(&sensor)) => {
                sensors.insert(sensor);
            }
            _ => table.wrong_item(
                "sensors",
                at,
                format!("found {text:?}, expected the name of a [sensor]"),
            ),
        }
    }
    Some(sensors)
}

/// The names as a client may use them.
pub(super) fn names(sensors: Option<&BTreeMap<SensorId, Sensor>>) -> Option<BTreeSet<SensorId>> {
    sensors.map(|sensors| sensors.keys().cloned().collect())
}
