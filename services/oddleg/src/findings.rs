//! Findings for lamps and buzzers: read from the history once committed, handed to those who tell them over MQTT.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::time::Duration;

use history::Reader;
use serde::Serialize;
use shared_types::{BenchId, Entry, Event, Finding, GaugeId, Seq};
use tokio::sync::{mpsc, watch};
use tokio_util::sync::CancellationToken;

/// Entries read at once: as many as the broker's client takes. A lamp that is behind wants the newest;
/// what lies further back is skipped.
const ENTRIES_MAX: u64 = 16;

/// Between two looks at the history. The first finding after a quiet moment is read at once; faster
/// than this no lamp can be read by a person.
const LOOK_EVERY: Duration = Duration::from_millis(20);

/// The finding as a lamp reads it.
#[derive(Serialize)]
struct Signal<'a> {
    seq: Seq,
    verdict: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    piece: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    characteristic: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reason: Option<String>,
}

/// Follows the history until `stop` and hands each bench's findings on; `benches` says at which one a gauge
/// is used. Where a queue is full the finding is dropped there: late news is of no use to a lamp, and the
/// history has it.
pub async fn follow(
    dir: PathBuf,
    benches: BTreeMap<GaugeId, BenchId>,
    mut newest: watch::Receiver<Seq>,
    queues: Vec<mpsc::Sender<(BenchId, String)>>,
    stop: CancellationToken,
) {
    let mut after = *newest.borrow_and_update();
    let mut reader = match Reader::open(&dir) {
        Ok(reader) => reader,
        Err(error) => return tracing::error!(%error, "reading findings for lamps"),
    };
    loop {
        tokio::select! {
            () = stop.cancelled() => return,
            changed = newest.changed() => if changed.is_err() { return },
        }
        let seq = *newest.borrow_and_update();
        after = after.max(Seq(seq.0.saturating_sub(ENTRIES_MAX)));
        let limit = usize::try_from(seq.0 - after.0).unwrap_or(0);
        let read = tokio::task::spawn_blocking(move || {
            let entries = reader.after(after, limit);
            (reader, entries)
        });
        let Ok((back, entries)) = read.await else {
            return;
        };
        reader = back;
        let entries = match entries {
            Ok(entries) => entries,
            Err(error) => return tracing::error!(%error, "reading findings for lamps"),
        };
        for entry in &entries {
            after = entry.seq;
            let bench = match &entry.fact.event {
                Event::Observed(observation) => benches.get(&observation.gauge),
                Event::Assigned { bench, .. } => Some(bench),
                _ => None,
            };
            let (Some(bench), Some(text)) = (bench, signal(entry)) else {
                continue;
            };
            for queue in &queues {
                if queue.try_send((bench.clone(), text.clone())).is_err() {
                    tracing::debug!(seq = entry.seq.0, "no room for a lamp's signal");
                }
            }
        }
        tokio::select! {
            () = stop.cancelled() => return,
            () = tokio::time::sleep(LOOK_EVERY) => {}
        }
    }
}

fn signal(entry: &Entry) -> Option<String> {
    let signal = match &entry.fact.finding {
        // A lamp speaks of pieces: green for a gauge that is right would be taken for one.
        Finding::Noted
        | Finding::Fitted { .. }
        | Finding::Checked { .. }
        | Finding::Studied { .. } => return None,
        Finding::Judged {
            piece,
            characteristic,
            verdict,
            ..
        } => Signal {
            seq: entry.seq,
            verdict: verdict.words(),
            piece: Some(piece.to_string()),
            characteristic: Some(characteristic.as_str()),
            reason: None,
        },
        Finding::Held { reason, .. } => Signal {
            seq: entry.seq,
            verdict: "held",
            piece: None,
            characteristic: None,
            reason: Some(reason.to_string()),
        },
    };
    serde_json::to_string(&signal).ok()
}
