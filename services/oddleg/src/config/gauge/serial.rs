//! A gauge's serial port, and which of its values are readings.

use std::path::{Path, PathBuf};

use intake::serial::LineShape;
use intake::{Mode, Settle, Terminator};
use nominals::form::Table;
use shared_types::GaugeKind;

use super::Serial;
use crate::config::delay::{self, Delay};

/// Keys of a gauge with a port.
pub(super) const KEYS: [&str; 14] = [
    "port",
    "baud",
    "line",
    "terminator",
    "request",
    "answer_max",
    "mode",
    "interval_min",
    "take",
    "settle",
    "settle_count",
    "tremor",
    "move_min",
    "zero",
];
const SEND_KEYS: [&str; 1] = ["interval_min"];
const STREAM_KEYS: [&str; 6] = [
    "take",
    "settle",
    "settle_count",
    "tremor",
    "move_min",
    "zero",
];
/// Long enough for a gauge that measures only when it is asked.
const ANSWER_MAX_US: i64 = 2_000_000;

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
    let mode = mode(table, kind);
    let answer_max_us = delay(table, "answer_max", ANSWER_MAX_US);
    let waits = matches!(mode, Some(Mode::Stream { .. })) || table.has("request");
    if table.has("answer_max") && !waits {
        table.wrong(
            "answer_max",
            "only a gauge with `request` or mode = \"stream\" is asked",
        );
    }
    let (baud, line) = line?;
    Some(Serial {
        path: path.map(PathBuf::from).map(|path| dir.join(path))?,
        baud,
        line,
        terminator: terminator?,
        mode: mode?,
        request: request?,
        answer_max_us: answer_max_us?,
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

fn mode(table: &Table<'_>, kind: Option<GaugeKind>) -> Option<Mode> {
    let streams = if table.has("mode") {
        table
            .may("mode")
            .word(&[("send", false), ("stream", true)])?
    } else {
        false
    };
    let (keys, other): (&[&str], _) = if streams {
        (&SEND_KEYS, "send")
    } else {
        (&STREAM_KEYS, "stream")
    };
    for key in keys {
        if table.has(key) {
            table.wrong(key, format!("only a gauge with mode = \"{other}\" has it"));
        }
    }
    if streams {
        stream(table, kind)
    } else {
        let interval_min_us = delay(table, "interval_min", 0)?;
        Some(Mode::Send { interval_min_us })
    }
}

fn stream(table: &Table<'_>, kind: Option<GaugeKind>) -> Option<Mode> {
    let asked = if table.has("take") {
        table
            .may("take")
            .word(&[("settled", false), ("asked", true)])
    } else {
        Some(false)
    };
    let still_us = delay(table, "settle", 600_000);
    let count = if table.has("settle_count") {
        table.may("settle_count").integer(2..=1000)
    } else {
        Some(3)
    };
    // A caliper's last digit trembles by one or two, 0.02 mm; 0.1° is what angle gauges swing on a
    // bench. A next dimension differs by more than the distances to move.
    let [tremor, move_min, zero] = if kind == Some(GaugeKind::AngleGauge) {
        [
            ("tremor", 360_000),
            ("move_min", 1_800_000),
            ("zero", 360_000),
        ]
    } else {
        [
            ("tremor", 20_000_000),
            ("move_min", 200_000_000),
            ("zero", 50_000_000),
        ]
    }
    .map(|(key, default)| distance(table, key, default, kind));
    if let (Some(tremor), Some(move_min)) = (tremor, move_min)
        && move_min <= tremor
    {
        table.wrong_here(
            "`move_min` is not above `tremor`, expected more, or a trembling hand makes readings",
        );
    }
    Some(Mode::Stream {
        settle: Settle {
            still_us: still_us?,
            count: u32::try_from(count?).ok()?,
            tremor: tremor?,
            move_min: move_min?,
            zero: zero?,
        },
        asked: asked?,
    })
}

fn delay(table: &Table<'_>, key: &str, default_us: i64) -> Option<i64> {
    if !table.has(key) {
        return Some(default_us);
    }
    let delay: Delay = table.may(key).parsed(delay::EXPECTED)?;
    Some(delay.us)
}

/// A distance of the gauge's kind, not below zero.
fn distance(table: &Table<'_>, key: &str, default: i64, kind: Option<GaugeKind>) -> Option<i64> {
    if !table.has(key) {
        return Some(default);
    }
    let raw = if kind == Some(GaugeKind::AngleGauge) {
        table.may(key).angle()?.mas()
    } else {
        table.may(key).length()?.pm()
    };
    if raw < 0 {
        table.wrong(key, "found a distance below zero");
        return None;
    }
    Some(raw)
}
