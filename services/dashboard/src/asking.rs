//! Which gauges can be asked for a reading, and how.

use std::collections::BTreeSet;
use std::sync::Arc;

use shared_types::GaugeId;

type Ask = dyn Fn(&GaugeId) -> Result<(), String> + Send + Sync;

/// The gauges that send only when they are asked.
#[derive(Clone)]
pub struct Asking {
    gauges: BTreeSet<GaugeId>,
    ask: Arc<Ask>,
}

impl Default for Asking {
    /// No gauge can be asked.
    fn default() -> Self {
        Self::new([], |gauge| Err(format!("gauge {gauge} cannot be asked")))
    }
}

impl Asking {
    /// These gauges can be asked; `ask` says why one could not be.
    pub fn new(
        gauges: impl IntoIterator<Item = GaugeId>,
        ask: impl Fn(&GaugeId) -> Result<(), String> + Send + Sync + 'static,
    ) -> Self {
        Self {
            gauges: gauges.into_iter().collect(),
            ask: Arc::new(ask),
        }
    }

    pub(crate) fn can(&self, gauge: &GaugeId) -> bool {
        self.gauges.contains(gauge)
    }

    pub(crate) fn ask(&self, gauge: &GaugeId) -> Result<(), String> {
        (self.ask)(gauge)
    }
}
