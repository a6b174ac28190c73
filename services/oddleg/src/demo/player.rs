//! Plays a capture: gauges through pseudo-terminals and MQTT, people through HTTP. Each step waits until what it
//! caused is committed, so that the demo tells the same story at any pace.

use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::time::Duration;

use anyhow::{Context as _, bail};
use serde_json::{Value, json};
use tokio_util::sync::CancellationToken;

use super::foreseen::Foreseen;
use super::gauge::Plugged;
use super::hands::Hands;
use super::radio::Radio;
use crate::capture::{Act, Step};
use crate::config::Build;
use crate::serve::Addresses;

/// How long a step may take to be committed: a port that comes back is noticed within a second or so, and
/// a slow machine gets some more.
const STEP_WAIT_MS: u64 = 15_000;
/// How often to look.
const LOOK_MS: u64 = 10;

/// A gauge that is there to be read.
#[derive(Debug)]
pub(super) enum Joined {
    /// By a cable.
    Wired(Plugged),
    /// By radio, its bridge speaking MQTT.
    Radio(Radio),
}

/// Plays the steps; gives the gauges that are still there, for whoever goes on looking at the screen.
pub(super) fn play(
    steps: &[Step],
    build: &Build,
    addresses: Addresses,
    pace: u32,
    stop: &CancellationToken,
) -> anyhow::Result<BTreeMap<String, Joined>> {
    let mut player = Player {
        build,
        mqtt: addresses.mqtt,
        person: Person::new(addresses.screen),
        joined: BTreeMap::new(),
        hands: Hands::default(),
        foreseen: Foreseen::new(build),
        pace,
        stop,
    };
    let count = steps.len();
    for (number, step) in steps.iter().enumerate() {
        if stop.is_cancelled() {
            break;
        }
        player
            .act(&step.act, number + 1, count)
            .with_context(|| format!("playing line {} of the capture", step.line))?;
    }
    Ok(player.joined)
}

struct Player<'a> {
    build: &'a Build,
    mqtt: Option<SocketAddr>,
    person: Person,
    joined: BTreeMap<String, Joined>,
    hands: Hands,
    foreseen: Foreseen,
    pace: u32,
    stop: &'a CancellationToken,
}

impl Player<'_> {
    fn act(&mut self, act: &Act, number: usize, count: usize) -> anyhow::Result<()> {
        match act {
            Act::Say(text) => println!("  [{number:>3}/{count}] {text}"),
            Act::Wait { ms } => self.wait(*ms),
            Act::Plug { gauge } => {
                let joined = self.join(gauge)?;
                self.joined.insert(gauge.clone(), joined);
            }
            Act::Unplug { gauge } => {
                let gone = self.joined.remove(gauge);
                self.foreseen.unplugged(gauge);
                let state = match gone.with_context(|| format!("{gauge} is not plugged in"))? {
                    Joined::Wired(_) => "unplugged",
                    Joined::Radio(_) => "offline",
                };
                self.until(|person| Ok(person.gauge_state(gauge)? == state))?;
            }
            Act::Send { gauge, bytes } => {
                let before = self.person.newest()?;
                self.send(gauge, bytes)?;
                self.until(|person| Ok(person.newest()? > before))?;
                println!(
                    "  [{number:>3}/{count}] {gauge} sends {}",
                    shared_types::printable(bytes)
                );
            }
            Act::Hold { gauge, size } => {
                println!(
                    "  [{number:>3}/{count}] {gauge} is closed on {}.{:02} mm, and streams",
                    size / 100,
                    size % 100
                );
                self.stream(gauge, act)?;
            }
            Act::Bump { .. } | Act::Cable { .. } => {
                // Nothing is sent by it: it shows in what the gauge says from now on.
                self.hands.steps(act);
            }
            Act::Operator { bench, name } => {
                self.person
                    .post("/api/bench", &json!({"bench": bench, "operator": name}))?;
            }
            Act::Lay {
                bench,
                piece,
                stage,
                reason,
            } => {
                let mut act = json!({"bench": bench, "piece": piece, "stage": stage});
                if let Some(reason) = reason {
                    act["reason"] = json!(reason);
                }
                self.person.post("/api/bench", &act)?;
                println!("  [{number:>3}/{count}] {piece} is laid on {bench}, stage {stage}");
            }
            Act::Pick {
                bench,
                characteristic,
            } => {
                self.person.post(
                    "/api/bench",
                    &json!({"bench": bench, "next": characteristic}),
                )?;
                println!("  [{number:>3}/{count}] a person picks {characteristic}");
            }
            Act::Type { gauge, text } => {
                self.person
                    .post("/api/readings", &json!({"gauge": gauge, "text": text}))?;
                println!("  [{number:>3}/{count}] a person types {text}");
            }
            Act::Assign {
                bench,
                characteristic,
                unit,
            } => {
                let held = self.person.newest_held(bench)?;
                let mut act = json!({"bench": bench, "characteristic": characteristic});
                if let Some(unit) = unit {
                    act["unit"] = json!(unit);
                }
                self.person.post(&format!("/api/held/{held}"), &act)?;
                println!("  [{number:>3}/{count}] a person says it is {characteristic}");
            }
            Act::Dismiss { bench, reason } => {
                let held = self.person.newest_held(bench)?;
                let act = json!({"bench": bench, "dismiss": reason});
                self.person.post(&format!("/api/held/{held}"), &act)?;
                println!("  [{number:>3}/{count}] a person dismisses it: {reason}");
            }
            Act::Dispose {
                bench,
                characteristic,
                disposition,
                reason,
            } => {
                let mut act = json!({"bench": bench, "disposition": disposition, "reason": reason});
                if let Some(characteristic) = characteristic {
                    act["characteristic"] = json!(characteristic);
                }
                self.person.post("/api/dispositions", &act)?;
                println!("  [{number:>3}/{count}] a person decides: {disposition}, {reason}");
            }
            Act::Void { bench, reason } => {
                let last = self.person.last_reading(bench)?;
                let act = json!({"bench": bench, "reading": last, "reason": reason});
                self.person.post("/api/voids", &act)?;
                println!("  [{number:>3}/{count}] a person voids the reading: {reason}");
            }
        }
        Ok(())
    }

    /// What a hand does with a streaming caliper, value by value; waits for what comes of it.
    fn stream(&mut self, gauge: &str, act: &Act) -> anyhow::Result<()> {
        let mut to_come = self.person.stored(gauge)?;
        for act in self.hands.steps(act).unwrap_or_default() {
            match &act {
                Act::Wait { ms } => self.wait(*ms),
                Act::Send { gauge, bytes } => to_come += self.send(gauge, bytes)?,
                _ => {}
            }
            if self.stop.is_cancelled() {
                return Ok(());
            }
        }
        self.until(|person| Ok(person.stored(gauge)? >= to_come))
    }

    /// Sends; how many readings and garbled frames of a wired gauge are to come of it.
    fn send(&mut self, gauge: &str, bytes: &[u8]) -> anyhow::Result<u64> {
        let joined = self.joined.get_mut(gauge);
        match joined.with_context(|| format!("{gauge} is not plugged in"))? {
            Joined::Wired(plugged) => plugged.send(bytes)?,
            Joined::Radio(radio) => radio.send(bytes)?,
        }
        Ok(self.foreseen.says(gauge, bytes))
    }

    fn wait(&mut self, ms: u64) {
        self.foreseen.passes(ms);
        self.sleep(ms / u64::from(self.pace));
    }

    fn join(&mut self, gauge: &str) -> anyhow::Result<Joined> {
        let by_radio =
            |known: &crate::config::Gauge| known.id.as_str() == gauge && known.door.is_mqtt();
        if self.build.gauges.iter().any(by_radio) {
            let address = self.mqtt.context("there is no door for a radio")?;
            let radio = Radio::new(gauge, address)?;
            self.until(|person| Ok(person.gauge_state(gauge)? == "connected"))?;
            return Ok(Joined::Radio(radio));
        }
        let mut plugged = Plugged::new(&self.build.dir.join("gauges").join(gauge))?;
        self.until(|person| Ok(person.gauge_state(gauge)? == "connected"))?;
        // A listener that joins in cannot know whether the first line is whole. The end of a line
        // before it says so at any pace; at the pace of life a moment of silence does.
        plugged.send(b"\r")?;
        self.foreseen.plugged(gauge);
        self.foreseen.says(gauge, b"\r");
        Ok(Joined::Wired(plugged))
    }

    fn sleep(&self, ms: u64) {
        // In small steps, so that Ctrl-C does not wait for a pause to end.
        let mut left = ms;
        while left > 0 && !self.stop.is_cancelled() {
            let step = left.min(100);
            std::thread::sleep(Duration::from_millis(step));
            left -= step;
        }
    }

    fn until(&self, done: impl Fn(&Person) -> anyhow::Result<bool>) -> anyhow::Result<()> {
        let mut waited = 0;
        while !done(&self.person)? {
            if self.stop.is_cancelled() {
                return Ok(());
            }
            if waited >= STEP_WAIT_MS {
                bail!("nothing came of it within {STEP_WAIT_MS} ms");
            }
            std::thread::sleep(Duration::from_millis(LOOK_MS));
            waited += LOOK_MS;
        }
        Ok(())
    }
}

/// A person at the bench, by way of HTTP.
struct Person {
    agent: ureq::Agent,
    base: String,
}

impl Person {
    fn new(address: SocketAddr) -> Self {
        let config = ureq::Agent::config_builder()
            .timeout_global(Some(Duration::from_millis(STEP_WAIT_MS)))
            .http_status_as_error(false)
            .build();
        Self {
            agent: config.into(),
            base: format!("http://{address}"),
        }
    }

    fn get(&self, path: &str) -> anyhow::Result<Value> {
        let mut answer = self
            .agent
            .get(format!("{}{path}", self.base))
            .call()
            .context(path.to_owned())?;
        answer.body_mut().read_json().context(path.to_owned())
    }

    fn post(&self, path: &str, act: &Value) -> anyhow::Result<()> {
        let mut answer = self
            .agent
            .post(format!("{}{path}", self.base))
            .send_json(act)
            .context(path.to_owned())?;
        if !answer.status().is_success() {
            let text = answer.body_mut().read_to_string().unwrap_or_default();
            bail!("{path} answered {}: {text}", answer.status());
        }
        Ok(())
    }

    fn bench(&self, bench: &str) -> anyhow::Result<Value> {
        self.get(&format!("/api/bench?bench={bench}"))
    }

    fn newest(&self) -> anyhow::Result<u64> {
        self.get("/healthz")?["seq"]
            .as_u64()
            .context("the newest entry's number")
    }

    fn gauge_state(&self, gauge: &str) -> anyhow::Result<String> {
        let found = self.gauge(gauge)?;
        Ok(found["state"].as_str().unwrap_or_default().to_owned())
    }

    /// How many readings and garbled frames of a gauge are stored.
    fn stored(&self, gauge: &str) -> anyhow::Result<u64> {
        let found = self.gauge(gauge)?;
        let count = |what: &str| found[what].as_u64().context("a gauge's counts");
        Ok(count("readings")? + count("garbled")?)
    }

    fn gauge(&self, gauge: &str) -> anyhow::Result<Value> {
        let answer = self.get("/api/bench")?;
        let gauges = answer["gauges"].as_array().context("the gauges")?;
        let found = gauges
            .iter()
            .find(|g| g["id"] == gauge)
            .context("the gauge")?;
        Ok(found.clone())
    }

    fn newest_held(&self, bench: &str) -> anyhow::Result<u64> {
        let answer = self.bench(bench)?;
        let held = answer["held"].as_array().context("the held readings")?;
        held.iter()
            .filter_map(|h| h["seq"].as_u64())
            .max()
            .context("no reading is held")
    }

    fn last_reading(&self, bench: &str) -> anyhow::Result<u64> {
        self.bench(bench)?["last"]["seq"]
            .as_u64()
            .context("there is no last reading")
    }
}
