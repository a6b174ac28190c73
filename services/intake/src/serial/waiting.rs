//! How long to wait before a port is tried again.

use std::path::Path;
use std::time::Duration;

const DELAY_FIRST: Duration = Duration::from_millis(200);
/// A port that exists and cannot be opened is held by another program or not ours to open: asking
/// more often than this helps nobody.
const DELAY_MAX: Duration = Duration::from_secs(5);
/// A gauge plugged in again should be seen before the hand has left the plug.
const LOOK: Duration = Duration::from_millis(200);

/// Waits that grow while nothing is heard.
pub(super) struct Waiting {
    delay: Duration,
}

impl Default for Waiting {
    fn default() -> Self {
        Self { delay: DELAY_FIRST }
    }
}

impl Waiting {
    /// Something was heard: the next wait is short again.
    pub(super) fn reset(&mut self) {
        self.delay = DELAY_FIRST;
    }

    /// Returns when the delay is over, or the path appears after it was away.
    pub(super) async fn until_worth_a_try(&mut self, path: &Path) {
        let mut left = self.delay;
        self.delay = DELAY_MAX.min(self.delay * 2);
        let mut target = std::fs::canonicalize(path).ok();
        while !left.is_zero() {
            let nap = left.min(LOOK);
            tokio::time::sleep(nap).await;
            left -= nap;
            let now = std::fs::canonicalize(path).ok();
            // Another device behind the stable name is a gauge that was plugged in again.
            if now.is_some() && now != target {
                return;
            }
            target = now;
        }
    }
}
