//! A capture run through the real spine: the same code as in the daemon, with the capture's clock.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use anyhow::{Context as _, bail};
use dashboard::TypeIn;
use history::Writer;
use intake::mqtt;
use intake::serial::Played;
use intake::{Asker, Silence, serial::SerialPort};
use shared_types::{
    BenchId, CharacteristicId, Decoded, Disposition, Entry, Event, Finding, GaugeId, GaugeState,
    Outcome, Receipt, Seq, Shop, Submission, printable,
};

use crate::capture::Act;
use crate::config::Build;
use crate::demo::hands::Hands;
use crate::{doors, serve, spine};

/// A replay under way.
pub(crate) struct Replay<'b> {
    build: &'b Build,
    writer: Writer,
    shop: Shop,
    ports: Vec<SerialPort>,
    open: BTreeMap<GaugeId, Played>,
    bridges: mqtt::Played,
    type_in: TypeIn,
    hands: Hands,
    now_us: i64,
}

impl<'b> Replay<'b> {
    /// Begins on a new history in the build's directory, at this moment.
    pub(crate) fn begin(build: &'b Build, now_us: i64) -> anyhow::Result<Self> {
        let serve::Opened { writer, shop } = serve::open(build)?;
        let (mut asker, silence) = (Asker::default(), Silence::default());
        let ports = doors::ports(build, &mut asker, &silence);
        let (streams, _) = doors::streams(build, &mut asker);
        Ok(Self {
            build,
            writer,
            shop,
            ports: ports.into_iter().map(|(port, _)| port).collect(),
            open: BTreeMap::new(),
            bridges: mqtt::Played::new(doors::topics(build, &silence, streams)),
            type_in: doors::typed(build),
            hands: Hands::default(),
            now_us,
        })
    }

    /// Does one step; what it led to, in lines.
    pub(crate) fn act(&mut self, act: &Act) -> anyhow::Result<String> {
        let mut lines = String::new();
        let events = match act {
            Act::Say(text) => {
                lines = format!("{text}\n");
                Vec::new()
            }
            Act::Wait { ms } => {
                self.now_us += i64::try_from(*ms).unwrap_or(i64::MAX / 2_000) * 1_000;
                let now_us = self.now_us;
                let mut recorded = Vec::new();
                for port in self.open.values_mut() {
                    recorded.extend(port.wait(now_us));
                }
                let mut events = observed(recorded);
                events.extend(self.bridges.wait(now_us));
                events
            }
            Act::Plug { gauge } => self.plug(&id(gauge)?)?,
            Act::Unplug { gauge } => self.unplug(&id(gauge)?)?,
            Act::Send { gauge, bytes } => self.send(&id(gauge)?, bytes)?,
            Act::Hold { .. } | Act::Bump { .. } | Act::Cable { .. } => {
                for act in self.hands.steps(act).unwrap_or_default() {
                    lines += &self.act(&act)?;
                }
                Vec::new()
            }
            Act::Type { gauge, text } => {
                let gauge = id(gauge)?;
                vec![self.now(Event::Observed((self.type_in)(&gauge, text)))]
            }
            Act::Operator { bench, name } => vec![self.now(Event::Operator {
                bench: bench_id(bench)?,
                name: name.clone(),
            })],
            Act::Lay {
                bench,
                piece,
                stage,
                reason,
            } => vec![self.now(Event::Laid {
                bench: bench_id(bench)?,
                piece: piece.parse().with_context(|| format!("piece {piece:?}"))?,
                stage: stage.parse().with_context(|| format!("stage {stage:?}"))?,
                reason: reason.clone(),
            })],
            Act::Dispose {
                bench,
                characteristic,
                disposition,
                reason,
            } => {
                let bench = bench_id(bench)?;
                let characteristic = characteristic.as_deref().map(str::parse).transpose()?;
                let disposition = disposition.parse()?;
                vec![self.now(self.disposed(bench, characteristic, disposition, reason)?)]
            }
            Act::Pick {
                bench,
                characteristic,
            } => vec![self.now(Event::Picked {
                bench: bench_id(bench)?,
                characteristic: characteristic.parse()?,
            })],
            Act::Assign {
                bench,
                characteristic,
                unit,
            } => {
                let bench = bench_id(bench)?;
                let unit = match unit {
                    None => None,
                    Some(unit) => Some(shared_types::Unit::from_name(unit).with_context(|| {
                        format!("found the unit {unit:?}, expected mm, in or deg")
                    })?),
                };
                vec![self.now(Event::Assigned {
                    reading: self.newest_held(&bench)?,
                    bench,
                    characteristic: characteristic.parse()?,
                    unit,
                    form: None,
                })]
            }
            Act::Dismiss { bench, reason } => {
                let bench = bench_id(bench)?;
                vec![self.now(Event::Dismissed {
                    reading: self.newest_held(&bench)?,
                    bench,
                    reason: reason.clone(),
                })]
            }
            Act::Void { bench, reason } => {
                let bench = bench_id(bench)?;
                vec![self.now(Event::Voided {
                    reading: self.last_reading(&bench)?,
                    bench,
                    reason: reason.clone(),
                })]
            }
        };
        lines += &self.hand_in(events)?;
        Ok(lines)
    }

    /// How many entries there are, and the checkpoint over them.
    pub(crate) fn end(mut self) -> anyhow::Result<(u64, String)> {
        let open: Vec<GaugeId> = self.open.keys().cloned().collect();
        for gauge in open {
            // What was only counted is told, as at the end of the daemon.
            let recorded = match self.open.get_mut(&gauge) {
                Some(port) => port.gone(self.now_us),
                None => Vec::new(),
            };
            self.hand_in(observed(recorded))?;
        }
        let counted = self.bridges.end(self.now_us);
        self.hand_in(counted)?;
        let checkpoint = history::Reader::open(&self.build.dir)?.checkpoint()?;
        Ok((checkpoint.size, checkpoint.to_string()))
    }

    fn now(&self, event: Event) -> (i64, Event, Option<String>) {
        (self.now_us, event, None)
    }

    fn plug(&mut self, gauge: &GaugeId) -> anyhow::Result<Vec<(i64, Event, Option<String>)>> {
        if self.bridges.has(gauge) {
            return Ok(self
                .bridges
                .state(self.now_us, gauge, GaugeState::Connected));
        }
        let port = self.port(gauge)?.clone();
        let state = GaugeState::Connected;
        let seen = port
            .gauges
            .iter()
            .map(|one| self.seen(&one.gauge, state))
            .collect();
        let mut played = Played::open(port, self.now_us);
        // As the demo's player does: a line that is joined into begins with an end of one.
        let recorded = played.hear(self.now_us, b"\r");
        debug_assert!(recorded.is_empty());
        self.open.insert(gauge.clone(), played);
        Ok(seen)
    }

    fn unplug(&mut self, gauge: &GaugeId) -> anyhow::Result<Vec<(i64, Event, Option<String>)>> {
        if self.bridges.has(gauge) {
            return Ok(self.bridges.state(self.now_us, gauge, GaugeState::Offline));
        }
        let mut port = self
            .open
            .remove(gauge)
            .with_context(|| format!("{gauge} is not plugged in"))?;
        let mut events = observed(port.gone(self.now_us));
        for one in &self.port(gauge)?.gauges {
            events.push(self.seen(&one.gauge, GaugeState::Unplugged));
        }
        Ok(events)
    }

    fn send(
        &mut self,
        gauge: &GaugeId,
        bytes: &[u8],
    ) -> anyhow::Result<Vec<(i64, Event, Option<String>)>> {
        if self.bridges.has(gauge) {
            return Ok(self.bridges.reading(self.now_us, gauge, bytes));
        }
        let port = self.open.get_mut(gauge);
        let port = port.with_context(|| format!("{gauge} is not plugged in"))?;
        Ok(observed(port.hear(self.now_us, bytes)))
    }

    fn port(&self, gauge: &GaugeId) -> anyhow::Result<&SerialPort> {
        let mut ports = self.ports.iter();
        ports
            .find(|port| port.gauges.iter().any(|one| &one.gauge == gauge))
            .with_context(|| {
                format!("found gauge {gauge}, expected one of the build with via = \"serial\" or \"mqtt\"")
            })
    }

    fn seen(&self, gauge: &GaugeId, state: GaugeState) -> (i64, Event, Option<String>) {
        let gauge = gauge.clone();
        self.now(Event::GaugeSeen { gauge, state })
    }

    fn newest_held(&self, bench: &BenchId) -> anyhow::Result<Seq> {
        let bench = self
            .shop
            .benches
            .get(bench)
            .context("there is no such bench")?;
        let held = bench.held.keys().max().copied();
        held.context("no reading is held")
    }

    /// By whoever is named at the bench, of the piece that lies there and the reading that stands.
    fn disposed(
        &self,
        bench: BenchId,
        characteristic: Option<CharacteristicId>,
        disposition: Disposition,
        reason: &str,
    ) -> anyhow::Result<Event> {
        let state = self.shop.benches.get(&bench);
        let state = state.context("there is no such bench")?;
        let (piece, _) = state.on_bench.clone().context("no piece lies there")?;
        let measured = self.shop.pieces.get(&piece);
        let reading = characteristic
            .as_ref()
            .and_then(|id| Some(measured?.standing(id)?.seq));
        Ok(Event::Disposed {
            by: state.operator.clone(),
            bench,
            piece,
            characteristic,
            reading,
            disposition,
            reason: reason.to_owned(),
        })
    }

    fn last_reading(&self, bench: &BenchId) -> anyhow::Result<Seq> {
        let bench = self
            .shop
            .benches
            .get(bench)
            .context("there is no such bench")?;
        let last = bench.last.as_ref().map(|last| last.seq);
        last.context("there is no last reading")
    }

    fn hand_in(&mut self, events: Vec<(i64, Event, Option<String>)>) -> anyhow::Result<String> {
        if events.is_empty() {
            return Ok(String::new());
        }
        let refused: Arc<Mutex<Option<String>>> = Arc::default();
        let batch = events
            .into_iter()
            .map(|(at_us, event, key)| {
                let refused = Arc::clone(&refused);
                let receipt = Receipt::new(move |outcome| {
                    if let Outcome::Refused(why) = outcome {
                        *refused.lock().unwrap_or_else(PoisonError::into_inner) =
                            Some(why.to_string());
                    }
                });
                Submission {
                    at_us,
                    event,
                    key,
                    receipt,
                }
            })
            .collect();
        let mut lines = String::new();
        spine::run(
            std::iter::once(batch),
            &mut self.writer,
            &mut self.shop,
            |_, entries| entries.for_each(|entry| lines += &line(&entry)),
        )?;
        let refused = refused
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .take();
        match refused {
            Some(why) => bail!(why),
            None => Ok(lines),
        }
    }
}

fn observed(recorded: Vec<(i64, shared_types::Observation)>) -> Vec<(i64, Event, Option<String>)> {
    let events = recorded.into_iter();
    events
        .map(|(at_us, observation)| (at_us, Event::Observed(observation), None))
        .collect()
}

/// An entry in one line; empty where nobody would miss it.
fn line(entry: &Entry) -> String {
    let seq = entry.seq.0;
    match &entry.fact.event {
        Event::Observed(seen) => {
            let found = match (&entry.fact.finding, &seen.decoded) {
                (
                    Finding::Judged {
                        piece,
                        characteristic,
                        verdict,
                        ..
                    },
                    _,
                ) => format!("{verdict}: {piece} {characteristic}"),
                (Finding::Held { reason, .. }, _) => format!("held: {reason}"),
                (_, Decoded::Garbled(why)) => format!("garbled: {why}"),
                (_, Decoded::Suppressed(passed)) => {
                    format!("{} passed over: {}", passed.count, passed.why)
                }
                _ => "noted".to_owned(),
            };
            format!(
                "{seq:>6}  {}  {}  {found}\n",
                seen.gauge,
                printable(&seen.raw)
            )
        }
        Event::GaugeSeen { gauge, state } => format!("{seq:>6}  {gauge}  {state:?}\n"),
        _ => String::new(),
    }
}

fn id(name: &str) -> anyhow::Result<GaugeId> {
    GaugeId::new(name).with_context(|| format!("gauge {name:?}"))
}

fn bench_id(name: &str) -> anyhow::Result<BenchId> {
    BenchId::new(name).with_context(|| format!("bench {name:?}"))
}
