//! Gauges as configured.

mod dialect;
mod serial;
mod taking;

pub(super) use serial::line_settings;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use intake::serial::LineShape;
use intake::{Dialect, Mode, Terminator};
use nominals::form::Table;
use shared_types::{BenchId, GaugeId, GaugeKind, Trust};

use super::{trust, uncertainty};

/// A gauge, checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gauge {
    /// Its name.
    pub id: GaugeId,
    /// What a person calls it.
    pub title: String,
    /// The bench it is used at.
    pub bench: BenchId,
    /// What it measures with; `None` for typed entry.
    pub kind: Option<GaugeKind>,
    /// The maker's serial number; empty where none was given.
    pub serial_number: String,
    /// What it can be trusted with.
    pub trust: Trust,
    /// How it speaks, with the unit of a line that names none and the decimal mark.
    pub dialect: Dialect,
    /// How it reaches us.
    pub door: Door,
}

/// How a gauge reaches us.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Door {
    /// A serial port.
    Serial(Serial),
    /// A bridge over MQTT.
    Mqtt(Taking),
    /// A person or a keyboard wedge.
    Typed,
}

impl Door {
    /// Whether a bridge speaks for it.
    #[must_use]
    pub const fn is_mqtt(&self) -> bool {
        matches!(self, Self::Mqtt(_))
    }
}

/// Which of a gauge's values are readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Taking {
    /// How they become readings.
    pub mode: Mode,
    /// How long a reading is waited for that somebody wants.
    pub answer_max_us: i64,
}

/// A gauge's serial port, and which of its values are readings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Serial {
    /// The port's stable name.
    pub path: PathBuf,
    /// Its speed.
    pub baud: u32,
    /// Data bits, parity and stop bits.
    pub line: LineShape,
    /// What ends a frame.
    pub terminator: Terminator,
    /// Which values are readings.
    pub taking: Taking,
    /// What it is asked with.
    pub request: Option<Vec<u8>>,
}

impl Serial {
    /// What gauges on one port must have in common.
    fn shared(&self) -> impl PartialEq + '_ {
        (
            self.baud,
            self.line,
            self.terminator,
            &self.request,
            self.taking.answer_max_us,
        )
    }
}

pub(super) fn walk(
    dir: &Path,
    root: &Table<'_>,
    benches: &BTreeSet<BenchId>,
) -> Option<Vec<Gauge>> {
    let mut ports: BTreeMap<PathBuf, Vec<Gauge>> = BTreeMap::new();
    let mut gauges = Vec::new();
    let mut whole = true;
    for (name, table) in root.may("gauge").named_tables() {
        match one(dir, name, &table, benches) {
            None => whole = false,
            Some(gauge) => {
                if let Door::Serial(serial) = &gauge.door {
                    let there = ports.entry(serial.path.clone()).or_default();
                    beside(&table, &gauge, serial, there);
                    there.push(gauge.clone());
                }
                gauges.push(gauge);
            }
        }
    }
    whole.then_some(gauges)
}

/// Whether a gauge can share its port with those told before.
fn beside(table: &Table<'_>, gauge: &Gauge, serial: &Serial, there: &[Gauge]) {
    let Some(first) = there.first() else { return };
    let Door::Serial(other) = &first.door else {
        return;
    };
    let channels: Vec<&str> = there
        .iter()
        .filter_map(|other| other.dialect.channel.as_deref())
        .collect();
    match gauge.dialect.channel.as_deref() {
        Some(ours) if channels.contains(&ours) => table.wrong(
            "channel",
            format!("another gauge on this port has the channel \"{ours}\", expected one gauge a channel"),
        ),
        Some(_) if channels.len() == there.len() => {
            let same_lines = gauge.dialect.form == first.dialect.form
                && gauge.dialect.decimal == first.dialect.decimal
                && gauge.dialect.troubles == first.dialect.troubles;
            if !same_lines || serial.shared() != other.shared() {
                table.wrong(
                    "port",
                    format!(
                        "gauge {} on this port has another dialect or other line settings, expected the same: it is one line",
                        first.id
                    ),
                );
            }
        }
        _ => table.wrong(
            "port",
            "another gauge has this port, expected one gauge a port, or a `channel` for each",
        ),
    }
}

fn one(dir: &Path, name: &str, table: &Table<'_>, benches: &BTreeSet<BenchId>) -> Option<Gauge> {
    let mut known = vec![
        "title",
        "bench",
        "kind",
        "serial_number",
        "unit",
        "decimal",
        "via",
    ];
    known.extend(dialect::KEYS);
    known.extend(serial::PORT_KEYS);
    known.extend(taking::KEYS);
    known.extend(trust::KEYS);
    known.extend(uncertainty::KEYS);
    table.only(&known);
    let id = GaugeId::new(name);
    if let Err(wrong) = &id {
        table.wrong_here(format!("found gauge {name:?}, {wrong}"));
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
    let via = table
        .need("via")
        .word(&[("serial", 's'), ("mqtt", 'm'), ("typed", 't')]);
    let kind = if via == Some('t') {
        if table.has("kind") {
            table.wrong(
                "kind",
                "a typed gauge takes readings of any kind, expected no `kind`",
            );
        }
        Some(None)
    } else {
        table
            .need("kind")
            .parsed::<GaugeKind>("\"caliper\" or \"angle-gauge\"")
            .map(Some)
    };
    let dialect = dialect::walk(table, kind.flatten());
    let door = via.and_then(|via| door(dir, table, via, kind.flatten()));
    let trust = trust::walk(table, kind.flatten(), door != Some(Door::Typed));
    let title = table.may("title").text().unwrap_or_else(|| name.to_owned());
    let serial_number = table.may("serial_number").text().unwrap_or_default();
    Some(Gauge {
        id: id.ok()?,
        title,
        bench: bench?,
        kind: kind?,
        serial_number,
        trust: trust?,
        dialect: dialect?,
        door: door?,
    })
}

fn door(dir: &Path, table: &Table<'_>, via: char, kind: Option<GaugeKind>) -> Option<Door> {
    if via == 's' {
        return serial::walk(dir, table, kind).map(Door::Serial);
    }
    for key in serial::PORT_KEYS {
        if table.has(key) {
            table.wrong(key, "only a gauge with via = \"serial\" has a port");
        }
    }
    if via == 'm' {
        return taking::walk(table, kind, false).map(Door::Mqtt);
    }
    for key in taking::KEYS {
        if table.has(key) {
            table.wrong(key, "whatever is typed is a reading, expected no such key");
        }
    }
    for key in dialect::KEYS {
        if table.has(key) {
            table.wrong(
                key,
                "what is typed is read as people write, expected no dialect",
            );
        }
    }
    Some(Door::Typed)
}
