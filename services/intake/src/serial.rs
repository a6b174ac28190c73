//! Serial ports: one task for each, from the first try to open it until it is told to stop.

mod line_shape;
mod port;
mod waiting;

use std::path::PathBuf;

use shared_types::{
    Decoded, Event, Garbled, GaugeId, GaugeState, Observation, Receipt, Submission, Via,
};
use tokio_util::sync::CancellationToken;

pub use self::line_shape::{DataBits, LineShape, Parity, StopBits};
use self::port::{Heard, Port};
use self::waiting::Waiting;
use crate::clock::now_us;
use crate::flood::{Flood, Keep, as_last_of};
use crate::frame::{Frame, Framer, Terminator};
use crate::{Dialect, Sink};

/// A gauge on a serial port.
#[derive(Clone, Debug)]
pub struct SerialGauge {
    /// Its name.
    pub gauge: GaugeId,
    /// The port's stable name, as one under `/dev/serial/by-id`: after an unplug the gauge is
    /// looked for there, whatever number the port then has.
    pub path: PathBuf,
    /// Bits per second.
    pub baud: u32,
    /// The shape of a character.
    pub line: LineShape,
    /// What ends a frame.
    pub terminator: Terminator,
    /// How it speaks.
    pub dialect: Dialect,
}

/// Listens to one gauge until `stop`, or until nobody takes submissions any more. A port that is
/// gone or cannot be opened is tried again for ever, at most every five seconds.
pub async fn run(gauge: SerialGauge, sink: Sink, stop: CancellationToken) {
    let mut ear = Ear {
        gauge: gauge.gauge.clone(),
        dialect: gauge.dialect,
        sink,
        state: GaugeState::Unknown,
        flood: Flood::new(now_us()),
        last_skipped: None,
    };
    let listened = async {
        let mut waiting = Waiting::default();
        loop {
            match Port::open(&gauge) {
                Ok(port) => {
                    tracing::info!(gauge = %gauge.gauge, path = %gauge.path.display(), "port opened");
                    ear.seen(GaugeState::Connected).await?;
                    if ear.listen(port, gauge.terminator, &stop).await? {
                        waiting.reset();
                    }
                    if stop.is_cancelled() {
                        return Ok(());
                    }
                    tracing::info!(gauge = %gauge.gauge, "port gone, waiting for it to come back");
                }
                Err(error) => {
                    tracing::debug!(gauge = %gauge.gauge, path = %gauge.path.display(), %error, "port cannot be opened");
                }
            }
            ear.seen(GaugeState::Unplugged).await?;
            tokio::select! {
                () = waiting.until_worth_a_try(&gauge.path) => {}
                () = stop.cancelled() => return Ok(()),
            }
        }
    };
    let listened: Result<(), Deaf> = listened.await;
    if listened.is_err() {
        tracing::debug!(gauge = %gauge.gauge, "nobody takes readings any more");
    }
}

/// Nobody takes submissions any more: the spine has ended.
struct Deaf;

/// What one gauge's task knows between bytes.
struct Ear {
    gauge: GaugeId,
    dialect: Dialect,
    sink: Sink,
    state: GaugeState,
    flood: Flood,
    last_skipped: Option<(Vec<u8>, Garbled)>,
}

impl Ear {
    /// Reads the port until it is gone or `stop`; whether anything was heard.
    async fn listen(
        &mut self,
        mut port: Port,
        terminator: Terminator,
        stop: &CancellationToken,
    ) -> Result<bool, Deaf> {
        let mut framer = Framer::new(terminator);
        let mut frames = Vec::new();
        let mut anything = false;
        loop {
            let heard = tokio::select! {
                heard = port.hear() => heard,
                () = stop.cancelled() => Heard::Gone,
            };
            match heard {
                Heard::Bytes(bytes) => {
                    anything = true;
                    framer.push(bytes, |frame| frames.push(frame));
                }
                Heard::Quiet => {
                    framer.quiet();
                    self.tell_skipped().await?;
                }
                Heard::Gone => {
                    frames.extend(framer.close());
                    for frame in frames {
                        self.frame(frame).await?;
                    }
                    self.tell_skipped().await?;
                    return Ok(anything);
                }
            }
            for frame in frames.drain(..) {
                self.frame(frame).await?;
            }
        }
    }

    async fn frame(&mut self, frame: Frame) -> Result<(), Deaf> {
        let at_us = now_us();
        let (raw, decoded) = self.dialect.decode_frame(frame);
        let Decoded::Garbled(why) = decoded else {
            // What was skipped came before this reading: it is recorded before it.
            self.tell_skipped().await?;
            return self.observed(at_us, raw, decoded).await;
        };
        match self.flood.garbled(at_us) {
            Keep::It => self.observed(at_us, raw, decoded).await,
            Keep::AsLastOf(count) => {
                self.last_skipped = None;
                self.observed(at_us, raw, as_last_of(count, why)).await
            }
            Keep::Nothing => {
                self.last_skipped = Some((raw, why));
                Ok(())
            }
        }
    }

    async fn tell_skipped(&mut self) -> Result<(), Deaf> {
        if self.flood.is_skipping()
            && let (Some(count), Some((raw, why))) =
                (self.flood.take_skipped(), self.last_skipped.take())
        {
            self.observed(now_us(), raw, as_last_of(count, why)).await?;
        }
        Ok(())
    }

    async fn observed(&self, at_us: i64, raw: Vec<u8>, decoded: Decoded) -> Result<(), Deaf> {
        let observation = Observation {
            gauge: self.gauge.clone(),
            via: Via::Serial,
            raw,
            decoded,
        };
        self.submit(at_us, Event::Observed(observation)).await
    }

    /// Tells a change of state, once.
    async fn seen(&mut self, state: GaugeState) -> Result<(), Deaf> {
        if self.state == state {
            return Ok(());
        }
        self.state = state;
        let gauge = self.gauge.clone();
        self.submit(now_us(), Event::GaugeSeen { gauge, state })
            .await
    }

    /// Waits while the queue is full: the gauge's bytes then wait in the kernel.
    async fn submit(&self, at_us: i64, event: Event) -> Result<(), Deaf> {
        let submission = Submission {
            at_us,
            event,
            key: None,
            receipt: Receipt::nobody(),
        };
        self.sink.send(submission).await.map_err(|_| Deaf)
    }
}
