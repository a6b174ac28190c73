//! A gauge's serial port.

use std::path::{Path, PathBuf};

use intake::Terminator;
use intake::serial::LineShape;
use nominals::form::Table;
use shared_types::GaugeKind;

use super::{Serial, taking};

/// Keys of a gauge with a port.
pub(super) const PORT_KEYS: [&str; 5] = ["port", "baud", "line", "terminator", "request"];

pub(super) fn walk(dir: &Path, table: &Table<'_>, kind: Option<GaugeKind>) -> Option<Serial> {
    let path = table.need("port").text();
    let line = line_settings(table);
    let terminator = if table.has("terminator") {
        table.may("terminator").word(&[
            ("cr-or-lf", Terminator::CrOrLf),
            ("cr", Terminator::Cr),
            ("lf", Terminator::Lf),
            ("cr-lf", Terminator::CrLf),
        ])
    } else {
        Some(Terminator::default())
    };
    let request = if table.has("request") {
        table
            .may("request")
            .text()
            .map(String::into_bytes)
            .map(Some)
    } else {
        Some(None)
    };
    let taking = taking::walk(table, kind, table.has("request"));
    let (baud, line) = line?;
    Some(Serial {
        path: path.map(PathBuf::from).map(|path| dir.join(path))?,
        baud,
        line,
        terminator: terminator?,
        taking: taking?,
        request: request?,
    })
}

/// Speed and shape of a character.
pub(in crate::config) fn line_settings(table: &Table<'_>) -> Option<(u32, LineShape)> {
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
    Some((u32::try_from(baud?).ok()?, line?))
}
