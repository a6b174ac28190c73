//! The gauges of a port without the port: a recording is read as the daemon would have read it. Pure.

use shared_types::Observation;

use super::SerialPort;
use crate::desk::Desk;
use crate::frame::Framer;
use crate::voice::Recorded;

/// Silence after which the next byte begins a line; as at an open port.
const QUIET_US: i64 = 350_000;

/// A port that is played from a recording.
pub struct Played {
    port: SerialPort,
    framer: Framer,
    desk: Desk,
    heard_at_us: i64,
}

impl Played {
    /// The port as it is opened at this moment.
    ///
    /// # Panics
    /// Where the port has no gauge.
    #[must_use]
    pub fn open(port: SerialPort, at_us: i64) -> Self {
        assert!(!port.gauges.is_empty(), "a port is opened for its gauges");
        Self {
            framer: Framer::new(port.terminator),
            desk: Desk::new(port.gauges.clone(), port.request.as_deref(), at_us),
            heard_at_us: at_us,
            port,
        }
    }

    /// Bytes that came at this moment; what is to be recorded, with the moments it belongs to.
    pub fn hear(&mut self, at_us: i64, mut bytes: &[u8]) -> Vec<(i64, Observation)> {
        let mut out = self.wait(at_us);
        while let Some(frame) = self.framer.next(&mut bytes) {
            self.desk.frame(at_us, frame, &mut out);
        }
        self.heard_at_us = at_us;
        out
    }

    /// Nothing came until this moment.
    pub fn wait(&mut self, until_us: i64) -> Vec<(i64, Observation)> {
        let mut out = Recorded::new();
        if until_us.saturating_sub(self.heard_at_us) >= QUIET_US {
            self.framer.quiet();
            self.desk.quiet(self.heard_at_us + QUIET_US, &mut out);
        }
        out
    }

    /// The port is gone.
    pub fn gone(&mut self, at_us: i64) -> Vec<(i64, Observation)> {
        let mut out = self.wait(at_us);
        if let Some(frame) = self.framer.close() {
            self.desk.frame(at_us, frame, &mut out);
        }
        self.desk.gone(at_us, &mut out);
        self.framer = Framer::new(self.port.terminator);
        out
    }

    /// The port is opened again.
    pub fn again(&mut self, at_us: i64) {
        self.heard_at_us = at_us;
    }
}
