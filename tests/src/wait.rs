//! Waiting for something to become true, with an end.

use std::time::{Duration, Instant};

/// Waits until `done` gives something; fails after half a minute, saying what was waited for.
pub fn until<T>(what: &str, mut done: impl FnMut() -> Option<T>) -> T {
    let end = Instant::now() + Duration::from_secs(30);
    loop {
        if let Some(done) = done() {
            return done;
        }
        assert!(Instant::now() < end, "waited 30 s in vain for {what}");
        std::thread::sleep(Duration::from_millis(5));
    }
}
