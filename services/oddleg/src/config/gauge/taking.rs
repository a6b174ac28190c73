//! Which of a gauge's values are readings, at a port or behind a bridge.

use intake::{Mode, Settle};
use nominals::form::Table;
use shared_types::GaugeKind;

use super::Taking;
use crate::config::delay::{self, Delay};

/// Keys of a gauge that sends by itself.
pub(super) const KEYS: [&str; 9] = [
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

/// `requested`: it is asked with a text of its own.
pub(super) fn walk(table: &Table<'_>, kind: Option<GaugeKind>, requested: bool) -> Option<Taking> {
    let mode = mode(table, kind);
    let answer_max_us = delay(table, "answer_max", ANSWER_MAX_US);
    let waits = matches!(mode, Some(Mode::Stream { .. })) || requested;
    if table.has("answer_max") && !waits {
        table.wrong(
            "answer_max",
            "only a gauge with `request` or mode = \"stream\" is asked",
        );
    }
    Some(Taking {
        mode: mode?,
        answer_max_us: answer_max_us?,
    })
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
