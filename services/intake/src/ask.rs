//! Asking a gauge for a reading: a button on the screen, a key, a pedal.

use std::collections::BTreeMap;

use shared_types::GaugeId;
use tokio::sync::mpsc;

/// Questions that wait at one port: a person who presses more often wants one reading.
const ASKS_MAX: usize = 4;

/// Why a gauge cannot be asked.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum AskError {
    /// It sends by itself only.
    #[error("gauge {0} cannot be asked, expected one with `request` or `mode = \"stream\"`")]
    NotAskable(GaugeId),
    /// Enough questions wait already.
    #[error("gauge {0} has been asked already and has not answered, try again in a moment")]
    Waiting(GaugeId),
}

/// Asks gauges for readings. What comes of it is a reading like any other, or a garbled one that says
/// that no answer came.
#[derive(Clone, Debug, Default)]
pub struct Asker(BTreeMap<GaugeId, mpsc::Sender<GaugeId>>);

/// Where a port hears that it is asked.
pub type Asks = mpsc::Receiver<GaugeId>;

impl Asker {
    /// A port with these gauges can be asked.
    pub fn port(&mut self, gauges: impl IntoIterator<Item = GaugeId>) -> Asks {
        let (sender, asks) = mpsc::channel(ASKS_MAX);
        for gauge in gauges {
            self.0.insert(gauge, sender.clone());
        }
        asks
    }

    /// The gauges that can be asked.
    pub fn gauges(&self) -> impl Iterator<Item = &GaugeId> {
        self.0.keys()
    }

    /// Asks a gauge.
    ///
    /// # Errors
    /// Why it cannot be asked.
    pub fn ask(&self, gauge: &GaugeId) -> Result<(), AskError> {
        let port = self.0.get(gauge);
        let port = port.ok_or_else(|| AskError::NotAskable(gauge.clone()))?;
        port.try_send(gauge.clone())
            .map_err(|_| AskError::Waiting(gauge.clone()))
    }
}
