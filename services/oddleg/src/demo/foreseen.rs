//! What the daemon is going to store of what a streaming gauge says, foreseen by the same desk on the capture's
//! clock: the player waits for exactly that before the next step, however slow the machine is.

use std::collections::BTreeMap;

use intake::serial::{Played, SerialPort};
use intake::{Asker, Silence};
use shared_types::Decoded;

use crate::config::Build;
use crate::doors;

/// The ports of a build beside the real ones.
pub(super) struct Foreseen {
    ports: Vec<SerialPort>,
    open: BTreeMap<String, Played>,
    now_us: i64,
}

impl Foreseen {
    pub(super) fn new(build: &Build) -> Self {
        let ports = doors::ports(build, &mut Asker::default(), &Silence::default());
        Self {
            ports: ports.into_iter().map(|(port, _)| port).collect(),
            open: BTreeMap::new(),
            now_us: 0,
        }
    }

    pub(super) fn passes(&mut self, ms: u64) {
        self.now_us += i64::try_from(ms).unwrap_or(i64::MAX / 2_000) * 1_000;
    }

    pub(super) fn plugged(&mut self, gauge: &str) {
        let mut ports = self.ports.iter();
        let ours = |port: &&SerialPort| port.gauges.iter().any(|one| one.gauge.as_str() == gauge);
        if let Some(port) = ports.find(ours) {
            let port = Played::open(port.clone(), self.now_us);
            self.open.insert(gauge.to_owned(), port);
        }
    }

    pub(super) fn unplugged(&mut self, gauge: &str) {
        self.open.remove(gauge);
    }

    /// How many readings and garbled frames come of these bytes; what is passed over is only counted there, and
    /// told at some later time.
    pub(super) fn says(&mut self, gauge: &str, bytes: &[u8]) -> u64 {
        let Some(port) = self.open.get_mut(gauge) else {
            return 0;
        };
        let stored = port.hear(self.now_us, bytes).into_iter();
        stored
            .map(|(_, seen)| match seen.decoded {
                Decoded::Reading(_) | Decoded::Garbled(_) => 1,
                Decoded::Flood { count, .. } => count,
                Decoded::Suppressed(_) => 0,
            })
            .sum()
    }
}
