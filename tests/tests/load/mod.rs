//! Load from every door, and an outside ledger of what was acknowledged.

#![allow(
    dead_code,
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "helpers of tests: what cannot be set up here fails the test"
)]

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::Duration;

use history::Reader;
use oddleg_tests::Plugged;
use oddleg_tests::bridge::Bridge;
use oddleg_tests::person::Person;
use serde_json::{Value, json};
use shared_types::{Event as Happened, Seq};

/// People who type at once: enough that a commit has several answers waiting for it, so that an answer
/// before the commit would be seen to be one.
const TYPISTS: usize = 8;

/// What was acknowledged, kept outside.
#[derive(Clone, Debug, Default)]
pub(crate) struct Ledger {
    /// Texts of MQTT readings that were acknowledged to the bridge.
    pub(crate) bridged: Arc<Mutex<BTreeSet<String>>>,
    /// Texts of typed readings, with the entry each was answered with.
    posted: Arc<Mutex<BTreeMap<String, u64>>>,
    /// Entries as they were served.
    shown: Arc<Mutex<BTreeMap<u64, Value>>>,
    typed: Arc<AtomicU64>,
}

impl Ledger {
    /// Types readings and watches the served history of one daemon until it is gone.
    pub(crate) fn witness(&self, person: &Person) -> JoinHandle<()> {
        let typists: Vec<_> = (0..TYPISTS).map(|_| self.typist(person)).collect();
        let (ledger, person) = (self.clone(), person.clone());
        std::thread::spawn(move || {
            let mut after = person
                .try_get("/healthz")
                .and_then(|(_, v)| v["seq"].as_u64())
                .unwrap_or(0);
            while let Some((200, answer)) = person.try_get(&format!("/api/history?after={after}")) {
                for entry in answer["entries"].as_array().unwrap() {
                    after = entry["seq"].as_u64().unwrap();
                    let said = json!({"event": entry["event"], "finding": entry["finding"]});
                    ledger.shown.lock().unwrap().insert(after, said);
                }
            }
            for typist in typists {
                typist.join().unwrap();
            }
        })
    }

    fn typist(&self, person: &Person) -> JoinHandle<()> {
        let (ledger, person) = (self.clone(), person.clone());
        std::thread::spawn(move || {
            loop {
                let number = ledger.typed.fetch_add(1, Ordering::Relaxed);
                let text = format!("{}.{:06} mm", 900 + number / 1_000_000, number % 1_000_000);
                let body = json!({"gauge": "keypad-1", "text": text, "id": format!("t{number}")});
                match person.try_post("/api/readings", &body) {
                    Some((200..300, answer)) => {
                        ledger
                            .posted
                            .lock()
                            .unwrap()
                            .insert(text, answer["seq"].as_u64().unwrap());
                    }
                    Some((503, _)) | None => return,
                    Some((status, answer)) => panic!("typing was answered {status} {answer}"),
                }
            }
        })
    }

    pub(crate) fn posted(&self) -> BTreeMap<String, u64> {
        self.posted.lock().unwrap().clone()
    }

    pub(crate) fn shown(&self) -> BTreeMap<u64, Value> {
        self.shown.lock().unwrap().clone()
    }

    /// Waits until every bridged reading is in the history, or for three seconds no more of them came.
    pub(crate) fn settle(&self, dir: &Path) {
        let (mut missing, mut quiet) = (usize::MAX, 0);
        while missing > 0 && quiet < 30 {
            std::thread::sleep(Duration::from_millis(100));
            let (texts, _) = stored(dir);
            let now = self
                .bridged
                .lock()
                .unwrap()
                .iter()
                .filter(|t| !texts.contains_key(*t))
                .count();
            quiet = if now == missing { quiet + 1 } else { 0 };
            missing = now;
        }
    }

    /// Everything acknowledged that is lost, doubled, or not as it was shown.
    pub(crate) fn faults(&self, dir: &Path) -> Vec<String> {
        let (texts, entries) = stored(dir);
        let mut faults = Vec::new();
        for text in self.bridged.lock().unwrap().iter() {
            match texts.get(text).map_or(0, Vec::len) {
                1 => {}
                times => faults.push(format!(
                    "{text}, acknowledged over MQTT, is in the history {times} times"
                )),
            }
        }
        for (text, seq) in self.posted.lock().unwrap().iter() {
            if texts.get(text).map(Vec::as_slice) != Some(&[*seq]) {
                faults.push(format!(
                    "{text}, answered as entry {seq}, is at {:?}",
                    texts.get(text)
                ));
            }
        }
        for (seq, entry) in self.shown.lock().unwrap().iter() {
            if entries.get(seq) != Some(entry) {
                faults.push(format!(
                    "entry {seq} was shown and is now {:?}",
                    entries.get(seq)
                ));
            }
        }
        faults
    }
}

/// The history as it is on disk: raw texts with their entries, and entries as they are served.
fn stored(dir: &Path) -> (BTreeMap<String, Vec<u64>>, BTreeMap<u64, Value>) {
    let reader = Reader::open(dir).unwrap();
    let mut texts: BTreeMap<String, Vec<u64>> = BTreeMap::new();
    let mut entries = BTreeMap::new();
    let mut after = Seq(0);
    loop {
        let chunk = reader.after(after, 1000).unwrap();
        let Some(last) = chunk.last() else {
            return (texts, entries);
        };
        after = last.seq;
        for entry in chunk {
            if let Happened::Observed(observation) = &entry.fact.event {
                let text = String::from_utf8_lossy(&observation.raw).into_owned();
                texts.entry(text).or_default().push(entry.seq.0);
            }
            let (event, finding) = (&entry.fact.event, &entry.fact.finding);
            entries.insert(entry.seq.0, json!({"event": event, "finding": finding}));
        }
    }
}

/// Bridges that publish readings with ids and enter in the ledger what was acknowledged: by the broker, or by
/// oddleg itself.
pub(crate) struct Bridges {
    ended: Arc<AtomicBool>,
    thread: JoinHandle<u64>,
}

impl Bridges {
    pub(crate) fn start(port: u16, ledger: &Ledger) -> Self {
        let ended = Arc::new(AtomicBool::new(false));
        let thread = std::thread::spawn({
            let (ended, ledger) = (Arc::clone(&ended), ledger.clone());
            move || {
                let mut bridge = Bridge::to(port);
                let mut number = 0_u64;
                loop {
                    let value = format!("{}.{:06}", 700 + number / 1_000_000, number % 1_000_000);
                    let payload = json!({"value": value, "unit": "mm", "id": format!("b{number}")})
                        .to_string();
                    if !bridge.publish(&payload, || ended.load(Ordering::Relaxed)) {
                        return number;
                    }
                    ledger.bridged.lock().unwrap().insert(payload);
                    number += 1;
                    // A person cannot press faster; the broker writes its whole store at each change.
                    std::thread::sleep(Duration::from_millis(2));
                }
            }
        });
        Self { ended, thread }
    }

    /// Stops publishing and gives how many were acknowledged.
    pub(crate) fn stop(self) -> u64 {
        self.ended.store(true, Ordering::Relaxed);
        self.thread.join().unwrap()
    }
}

/// A serial gauge that sends without end.
pub(crate) struct Stream {
    ended: Arc<AtomicBool>,
    thread: JoinHandle<()>,
}

impl Stream {
    pub(crate) fn start(port: PathBuf) -> Self {
        let ended = Arc::new(AtomicBool::new(false));
        let thread = std::thread::spawn({
            let ended = Arc::clone(&ended);
            move || {
                let mut gauge = Plugged::new(&port).unwrap();
                rustix::fs::fcntl_setfl(&gauge, rustix::fs::OFlags::NONBLOCK).unwrap();
                let mut number = 0_u32;
                while !ended.load(Ordering::Relaxed) {
                    number += 1;
                    let line = format!("500.{number:06} mm\r");
                    // While nobody listens the terminal fills and refuses: the gauge goes on all the same.
                    drop(gauge.send(line.as_bytes()));
                    std::thread::sleep(Duration::from_millis(2));
                }
            }
        });
        Self { ended, thread }
    }

    pub(crate) fn stop(self) {
        self.ended.store(true, Ordering::Relaxed);
        self.thread.join().unwrap();
    }
}
