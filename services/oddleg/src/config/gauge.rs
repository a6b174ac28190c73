//! Gauges as configured.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use intake::serial::LineShape;
use nominals::form::Table;
use shared_types::{BenchId, GaugeId, GaugeKind, Trust, Unit};

use super::trust;

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
    /// The unit of a line that names none.
    pub unit: Unit,
    /// Its decimal mark.
    pub decimal: char,
    /// How it speaks to us.
    pub door: Door,
}

/// How a gauge speaks to us.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Door {
    /// A serial port.
    Serial {
        /// Its stable name.
        path: PathBuf,
        /// Its speed.
        baud: u32,
        /// Data bits, parity and stop bits.
        line: LineShape,
    },
    /// A bridge over MQTT.
    Mqtt,
    /// A person or a keyboard wedge.
    Typed,
}

pub(super) fn walk(
    dir: &Path,
    root: &Table<'_>,
    benches: &BTreeSet<BenchId>,
) -> Option<Vec<Gauge>> {
    let mut ports = BTreeSet::new();
    let mut gauges = Vec::new();
    let mut whole = true;
    for (name, table) in root.may("gauge").named_tables() {
        match one(dir, name, &table, benches) {
            None => whole = false,
            Some(gauge) => {
                if let Door::Serial { path, .. } = &gauge.door
                    && !ports.insert(path.clone())
                {
                    table.wrong(
                        "port",
                        "another gauge has this port, expected one gauge a port",
                    );
                }
                gauges.push(gauge);
            }
        }
    }
    whole.then_some(gauges)
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
        "port",
        "baud",
        "line",
    ];
    known.extend(trust::KEYS);
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
    let unit = unit(table, kind.flatten());
    let decimal = if table.has("decimal") {
        table.may("decimal").word(&[(".", '.'), (",", ',')])
    } else {
        Some('.')
    };
    let door = via.and_then(|via| door(dir, table, via));
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
        unit: unit?,
        decimal: decimal?,
        door: door?,
    })
}

fn unit(table: &Table<'_>, kind: Option<GaugeKind>) -> Option<Unit> {
    let lengths = [("mm", Unit::Millimetre), ("in", Unit::Inch)];
    let angles = [("deg", Unit::Degree)];
    match (kind, table.has("unit")) {
        (Some(GaugeKind::AngleGauge), false) => Some(Unit::Degree),
        (Some(GaugeKind::AngleGauge), true) => table.may("unit").word(&angles),
        (Some(GaugeKind::Caliper) | None, _) => table.need("unit").word(&lengths),
    }
}

fn door(dir: &Path, table: &Table<'_>, via: char) -> Option<Door> {
    if via != 's' {
        for key in ["port", "baud", "line"] {
            if table.has(key) {
                table.wrong(key, "only a gauge with via = \"serial\" has a port");
            }
        }
        return Some(if via == 'm' { Door::Mqtt } else { Door::Typed });
    }
    let path = table.need("port").text();
    let baud = if table.has("baud") {
        // The range of ordinary serial adapters.
        table.may("baud").integer(300..=921_600)
    } else {
        Some(9600)
    };
    let line = if table.has("line") {
        table
            .may("line")
            .parsed::<LineShape>("line settings such as \"8N1\"")
    } else {
        Some(LineShape::default())
    };
    Some(Door::Serial {
        path: dir.join(path?),
        baud: u32::try_from(baud?).ok()?,
        line: line?,
    })
}
