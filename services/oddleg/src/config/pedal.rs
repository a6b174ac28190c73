//! Pedals as configured.

use std::path::{Path, PathBuf};

use intake::Mode;
use intake::serial::LineShape;
use nominals::form::Table;
use shared_types::GaugeId;

use super::gauge::{Door, Gauge, line_settings};

/// A pedal or button box on a serial port.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pedal {
    /// The port's stable name.
    pub path: PathBuf,
    /// Its speed.
    pub baud: u32,
    /// Data bits, parity and stop bits.
    pub line: LineShape,
    /// The gauges it asks.
    pub asks: Vec<GaugeId>,
}

pub(super) fn walk(dir: &Path, root: &Table<'_>, gauges: &[Gauge]) -> Option<Vec<Pedal>> {
    let mut pedals = Vec::new();
    let mut whole = true;
    for (_, table) in root.may("pedal").named_tables() {
        match one(dir, &table, gauges) {
            Some(pedal) => pedals.push(pedal),
            None => whole = false,
        }
    }
    whole.then_some(pedals)
}

fn one(dir: &Path, table: &Table<'_>, gauges: &[Gauge]) -> Option<Pedal> {
    table.only(&["port", "baud", "line", "asks"]);
    let path = table.need("port").text().map(|path| dir.join(path));
    let taken = gauges.iter().any(|gauge| match &gauge.door {
        Door::Serial(serial) => Some(&serial.path) == path.as_ref(),
        Door::Mqtt(_) | Door::Typed => false,
    });
    if taken {
        table.wrong(
            "port",
            "a gauge has this port, expected a port of the pedal's own",
        );
    }
    let line = line_settings(table);
    let asks = table.need("asks").texts().map(|names| {
        let mut asks = Vec::new();
        for (name, at) in names {
            let gauge = gauges.iter().find(|gauge| gauge.id.as_str() == name);
            match gauge {
                None => table.wrong_item("asks", at, format!("found {name:?}, expected a gauge")),
                Some(gauge) if can_be_asked(gauge) => asks.push(gauge.id.clone()),
                Some(_) => table.wrong_item(
                    "asks",
                    at,
                    format!("found {name:?}, expected a gauge with `request` or mode = \"stream\""),
                ),
            }
        }
        asks
    });
    let (baud, line) = line?;
    Some(Pedal {
        path: path?,
        baud,
        line,
        asks: asks?,
    })
}

fn can_be_asked(gauge: &Gauge) -> bool {
    let streams = |mode| matches!(mode, Mode::Stream { .. });
    match &gauge.door {
        Door::Serial(serial) => serial.request.is_some() || streams(serial.taking.mode),
        Door::Mqtt(taking) => streams(taking.mode),
        Door::Typed => false,
    }
}
