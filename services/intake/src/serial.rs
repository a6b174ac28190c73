//! Serial ports: one task for each, from the first try to open it until it is told to stop.

mod line_shape;
mod pedal;
mod played;
mod port;
mod probe;
mod waiting;

use std::future::pending;
use std::path::PathBuf;
use std::time::Duration;

use shared_types::{Event, GaugeState, Receipt, Submission};
use tokio_util::sync::CancellationToken;

pub use self::line_shape::{DataBits, LineShape, Parity, StopBits};
pub use self::pedal::{Pedal, pedal};
pub use self::played::Played;
use self::port::{Heard, Port};
pub use self::probe::Probe;
use self::waiting::Waiting;
use crate::Sink;
use crate::ask::Asks;
use crate::clock::now_us;
use crate::desk::Desk;
use crate::frame::{Framer, Terminator};
use crate::silence::Silence;
use crate::voice::Recorded;
pub use crate::voice::SerialGauge;

/// A serial port and the gauges on it.
#[derive(Clone, Debug)]
pub struct SerialPort {
    /// The port's stable name, as one under `/dev/serial/by-id`: after an unplug the gauge is
    /// looked for there, whatever number the port then has.
    pub path: PathBuf,
    /// Bits per second.
    pub baud: u32,
    /// The shape of a character.
    pub line: LineShape,
    /// What ends a frame.
    pub terminator: Terminator,
    /// Its gauges, at least one; several are told apart by their channels.
    pub gauges: Vec<SerialGauge>,
    /// What a gauge is asked with, where it sends only on request.
    pub request: Option<Vec<u8>>,
    /// How long an answer is waited for.
    pub answer_max_us: i64,
    /// Told whenever anything is heard.
    pub silence: Silence,
}

/// Listens to one port until `stop`, or until nobody takes submissions any more. A port that is gone
/// or cannot be opened is tried again for ever, at most every five seconds.
///
/// # Panics
/// Where the port has no gauge.
pub async fn run(port: SerialPort, sink: Sink, asks: Asks, stop: CancellationToken) {
    assert!(!port.gauges.is_empty(), "a port is opened for its gauges");
    let mut ear = Ear {
        desk: Desk::new(port.gauges.clone(), port.request.as_deref(), now_us()),
        recorded: Recorded::new(),
        sink,
        silence: port.silence.clone(),
        asks: Some(asks),
        state: GaugeState::Unknown,
    };
    let listened = async {
        let mut waiting = Waiting::default();
        loop {
            match Port::open(&port.path, port.baud, port.line) {
                Ok(open) => {
                    tracing::info!(path = %port.path.display(), "port opened");
                    ear.seen(GaugeState::Connected).await?;
                    if ear.listen(open, &port, &stop).await? {
                        waiting.reset();
                    }
                    if stop.is_cancelled() {
                        return Ok(());
                    }
                    tracing::info!(path = %port.path.display(), "port gone, waiting for it to come back");
                }
                Err(error) => {
                    tracing::debug!(path = %port.path.display(), %error, "port cannot be opened");
                }
            }
            ear.seen(GaugeState::Unplugged).await?;
            tokio::select! {
                () = waiting.until_worth_a_try(&port.path) => {}
                () = ear.unheard_asks() => {}
                () = stop.cancelled() => return Ok(()),
            }
        }
    };
    let listened: Result<(), Deaf> = listened.await;
    if listened.is_err() {
        tracing::debug!(path = %port.path.display(), "nobody takes readings any more");
    }
}

/// Nobody takes submissions any more: the spine has ended.
struct Deaf;

/// What one port's task knows between bytes.
struct Ear {
    desk: Desk,
    recorded: Recorded,
    sink: Sink,
    silence: Silence,
    /// `None` once nobody can ask any more.
    asks: Option<Asks>,
    state: GaugeState,
}

impl Ear {
    /// Reads the port until it is gone or `stop`; whether anything was heard.
    async fn listen(
        &mut self,
        mut open: Port,
        port: &SerialPort,
        stop: &CancellationToken,
    ) -> Result<bool, Deaf> {
        let mut framer = Framer::new(port.terminator);
        let mut anything = false;
        loop {
            let overdue = self.overdue();
            let heard = tokio::select! {
                heard = open.hear() => heard,
                () = stop.cancelled() => Heard::Gone,
                gauge = asked(&mut self.asks) => {
                    self.desk.ask(&gauge, now_us().saturating_add(port.answer_max_us));
                    if let Some(request) = &port.request {
                        open.ask(request).await;
                    }
                    continue;
                }
                () = overdue => {
                    self.desk.overdue(now_us(), &mut self.recorded);
                    self.hand_in().await?;
                    continue;
                }
            };
            match heard {
                Heard::Bytes(mut bytes) => {
                    anything = true;
                    for gauge in self.desk.gauges() {
                        port.silence.heard(gauge);
                    }
                    // One clock reading for what came together.
                    let at_us = now_us();
                    while let Some(frame) = framer.next(&mut bytes) {
                        self.desk.frame(at_us, frame, &mut self.recorded);
                        self.hand_in().await?;
                    }
                    self.desk.overdue(at_us, &mut self.recorded);
                }
                Heard::Quiet => {
                    framer.quiet();
                    self.desk.quiet(now_us(), &mut self.recorded);
                }
                Heard::Gone => {
                    let at_us = now_us();
                    if let Some(frame) = framer.close() {
                        self.desk.frame(at_us, frame, &mut self.recorded);
                    }
                    self.desk.gone(at_us, &mut self.recorded);
                    self.hand_in().await?;
                    return Ok(anything);
                }
            }
            self.hand_in().await?;
        }
    }

    /// Waits until an answer is overdue.
    fn overdue(&self) -> impl Future<Output = ()> + use<> {
        let left_us = self
            .desk
            .answer_by_us()
            .map(|by_us| by_us.saturating_sub(now_us()).max(0));
        async move {
            match left_us.and_then(|left_us| u64::try_from(left_us).ok()) {
                Some(left_us) => tokio::time::sleep(Duration::from_micros(left_us)).await,
                None => pending().await,
            }
        }
    }

    /// While the port is away nobody can answer: that is told at once.
    async fn unheard_asks(&mut self) {
        loop {
            let gauge = asked(&mut self.asks).await;
            let at_us = now_us();
            self.desk.ask(&gauge, at_us);
            self.desk.overdue(at_us, &mut self.recorded);
            if self.hand_in().await.is_err() {
                return;
            }
        }
    }

    async fn hand_in(&mut self) -> Result<(), Deaf> {
        // Taken out one by one: where this is cancelled, what was not handed in is not lost.
        while !self.recorded.is_empty() {
            let room = self.sink.reserve().await.map_err(|_| Deaf)?;
            let (at_us, observation) = self.recorded.remove(0);
            room.send(submission(at_us, Event::Observed(observation)));
        }
        Ok(())
    }

    /// Tells a change of state, once for each gauge of the port.
    async fn seen(&mut self, state: GaugeState) -> Result<(), Deaf> {
        if self.state == state {
            return Ok(());
        }
        self.state = state;
        for gauge in self.desk.gauges() {
            self.silence.seen(gauge, state);
            let gauge = gauge.clone();
            let seen = submission(now_us(), Event::GaugeSeen { gauge, state });
            // Waits while the queue is full: the gauge's bytes then wait in the kernel.
            self.sink.send(seen).await.map_err(|_| Deaf)?;
        }
        Ok(())
    }
}

/// The next question; never, once nobody can ask any more.
async fn asked(asks: &mut Option<Asks>) -> shared_types::GaugeId {
    if let Some(open) = asks {
        match open.recv().await {
            Some(gauge) => return gauge,
            None => *asks = None,
        }
    }
    pending().await
}

fn submission(at_us: i64, event: Event) -> Submission {
    Submission {
        at_us,
        event,
        key: None,
        receipt: Receipt::nobody(),
    }
}
