//! A pedal or a button box on a serial port: whatever byte it sends is a press, and asks its gauges.

use std::path::PathBuf;

use shared_types::GaugeId;
use tokio_util::sync::CancellationToken;

use super::LineShape;
use super::port::{Heard, Port};
use super::waiting::Waiting;
use crate::Asker;
use crate::clock::now_us;

/// A foot that holds the pedal or a contact that bounces is one press.
const PRESS_MIN_US: i64 = 300_000;

/// A pedal and whom it asks.
#[derive(Clone, Debug)]
pub struct Pedal {
    /// The port's stable name.
    pub path: PathBuf,
    /// Bits per second.
    pub baud: u32,
    /// The shape of a character.
    pub line: LineShape,
    /// The gauges that are asked, each press.
    pub asks: Vec<GaugeId>,
}

/// Listens to a pedal until `stop`. A port that is gone is tried again for ever.
pub async fn pedal(pedal: Pedal, asker: Asker, stop: CancellationToken) {
    let mut waiting = Waiting::default();
    loop {
        match Port::open(&pedal.path, pedal.baud, pedal.line) {
            Ok(open) => {
                if presses(open, &pedal, &asker, &stop).await {
                    waiting.reset();
                }
            }
            Err(error) => {
                tracing::debug!(path = %pedal.path.display(), %error, "pedal's port cannot be opened");
            }
        }
        tokio::select! {
            () = waiting.until_worth_a_try(&pedal.path) => {}
            () = stop.cancelled() => return,
        }
    }
}

/// Asks at each press until the port is gone; whether there was one.
async fn presses(mut open: Port, pedal: &Pedal, asker: &Asker, stop: &CancellationToken) -> bool {
    let mut heard_us = None;
    loop {
        let heard = tokio::select! {
            heard = open.hear() => heard,
            () = stop.cancelled() => Heard::Gone,
        };
        match heard {
            Heard::Quiet => {}
            Heard::Gone => return heard_us.is_some(),
            Heard::Bytes(_) => {
                let at_us = now_us();
                let held = heard_us.is_some_and(|before_us| {
                    (0..PRESS_MIN_US).contains(&(at_us.saturating_sub(before_us)))
                });
                heard_us = Some(at_us);
                if held {
                    continue;
                }
                for gauge in &pedal.asks {
                    if let Err(error) = asker.ask(gauge) {
                        tracing::info!(%error, "pedal pressed in vain");
                    }
                }
            }
        }
    }
}
