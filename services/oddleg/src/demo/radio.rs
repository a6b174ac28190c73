//! A radio gauge and its bridge, and a lamp: both speak real MQTT to the demo's daemon.

use std::net::SocketAddr;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::JoinHandle;
use std::time::Duration;

use anyhow::{Context as _, bail};
use rumqttc::{AsyncClient, Event, EventLoop, LastWill, MqttOptions, Packet, QoS};
use serde_json::Value;
use tokio_util::sync::CancellationToken;

/// The invented password of the demo's bridge, as demo-readings/oddleg.toml keeps it.
const BRIDGE_PASSWORD: &str = "invented-radio";
/// The lamp's.
pub(super) const LAMP_PASSWORD: &str = "invented-lamp";
/// How long an answer may take on a slow machine.
const ANSWER_MAX: Duration = Duration::from_secs(15);

/// A radio gauge that is switched on. Dropping it takes the battery out: it says no goodbye.
#[derive(Debug)]
pub(super) struct Radio {
    client: AsyncClient,
    gauge: String,
    acknowledged: Receiver<()>,
    line: Line,
}

impl Radio {
    /// Switches it on: it connects, leaves its last will and says that it is there.
    pub(super) fn new(gauge: &str, address: SocketAddr) -> anyhow::Result<Self> {
        let mut options = options(address, gauge, BRIDGE_PASSWORD);
        let state = format!("oddleg/gauges/{gauge}/state");
        options.set_last_will(LastWill::new(&state, "offline", QoS::AtLeastOnce, true));
        let (client, connection) = AsyncClient::new(options, 8);
        let (tell, acknowledged) = channel();
        let line = Line::new(connection, move |packet| match packet {
            Packet::PubAck(_) => tell.send(()).is_ok(),
            _ => true,
        })?;
        let radio = Self {
            client,
            gauge: gauge.to_owned(),
            acknowledged,
            line,
        };
        radio.says("state", b"online")?;
        Ok(radio)
    }

    /// Sends a reading; returns once it is acknowledged, which means on disk.
    pub(super) fn send(&self, bytes: &[u8]) -> anyhow::Result<()> {
        self.says("reading", bytes)
    }

    fn says(&self, level: &str, bytes: &[u8]) -> anyhow::Result<()> {
        let topic = format!("oddleg/gauges/{}/{level}", self.gauge);
        self.client
            .try_publish(topic, QoS::AtLeastOnce, level == "state", bytes)
            .context("publishing as the radio's bridge")?;
        match self.acknowledged.recv_timeout(ANSWER_MAX) {
            Ok(()) => Ok(()),
            Err(_) if self.line.off.is_cancelled() => Ok(()),
            Err(_) => bail!("{}: nobody acknowledged what it published", self.gauge),
        }
    }
}

/// A lamp on every bench; gives what it hears, until it is dropped.
#[derive(Debug)]
pub(super) struct Lamp {
    _line: Line,
}

impl Lamp {
    /// Switches it on. `shows` is called with each finding.
    pub(super) fn new(
        address: SocketAddr,
        shows: impl Fn(&str, &Value) + Send + 'static,
    ) -> anyhow::Result<Self> {
        let (client, connection) = AsyncClient::new(options(address, "lamp", LAMP_PASSWORD), 8);
        let (tell, subscribed): (Sender<()>, _) = channel();
        client
            .try_subscribe("oddleg/benches/+/finding", QoS::AtMostOnce)
            .context("subscribing as the lamp")?;
        let line = Line::new(connection, move |packet| {
            match packet {
                Packet::SubAck(_) => return tell.send(()).is_ok(),
                Packet::Publish(publish) => {
                    let bench = publish.topic.split('/').nth(2).unwrap_or_default();
                    if let Ok(finding) = serde_json::from_slice(&publish.payload) {
                        shows(bench, &finding);
                    }
                }
                _ => {}
            }
            true
        })?;
        subscribed
            .recv_timeout(ANSWER_MAX)
            .context("waiting for the lamp's subscription")?;
        Ok(Self { _line: line })
    }
}

fn options(address: SocketAddr, user: &str, password: &str) -> MqttOptions {
    let mut options = MqttOptions::new(user, address.ip().to_string(), address.port());
    options.set_credentials(user, password);
    options
}

/// A connection polled by a thread of its own, until it is dropped.
#[derive(Debug)]
struct Line {
    off: CancellationToken,
    thread: Option<JoinHandle<()>>,
}

impl Line {
    fn new(
        mut connection: EventLoop,
        mut heard: impl FnMut(Packet) -> bool + Send + 'static,
    ) -> anyhow::Result<Self> {
        let off = CancellationToken::new();
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .context("starting a radio")?;
        let polled = {
            let off = off.clone();
            async move {
                loop {
                    match connection.poll().await {
                        Ok(Event::Incoming(packet)) => {
                            if !heard(packet) {
                                return;
                            }
                        }
                        Ok(Event::Outgoing(_)) => {}
                        // The daemon stops before the radio does.
                        Err(_) => return off.cancel(),
                    }
                }
            }
        };
        let until = off.clone();
        let thread = std::thread::Builder::new()
            .name("radio".into())
            .spawn(move || {
                runtime.block_on(async {
                    tokio::select! { () = polled => (), () = until.cancelled() => () }
                });
            })
            .context("starting a radio")?;
        Ok(Self {
            off,
            thread: Some(thread),
        })
    }
}

impl Drop for Line {
    fn drop(&mut self) {
        self.off.cancel();
        if let Some(thread) = self.thread.take()
            && thread.join().is_err()
        {
            eprintln!("a radio of the demo stopped on a broken invariant");
        }
    }
}
