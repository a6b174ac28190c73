//! How many frames of one gauge are worth keeping each by itself.
//!
//! Of garbled frames a burst is kept at once and then one every half second; those between are
//! counted, and the next one kept says how many and carries the last of them. Of readings a burst far
//! beyond any person's pace is taken, and then a hundred a second.

use shared_types::{Decoded, Garbled};

/// A garbled line now and then is evidence; twenty in a row show whatever there is to see.
const GARBLED_BURST_MAX: i64 = 20;
/// One kept each half second: a gauge set to the wrong speed then costs the history at most two
/// entries a second, no more than a person measuring fast.
const GARBLED_EACH_US: i64 = 500_000;
/// Readings that waited in the gauge or in the kernel while nobody listened come all at once.
const READINGS_BURST_MAX: i64 = 3000;
/// A person measures once a second, a gauge streams at most some twenty times: whatever sends a hundred
/// a second on and on is broken, and must not fill the history nor keep the spine from others.
const READINGS_EACH_US: i64 = 10_000;

/// A bucket of frames that may be kept, refilled by time; time is an argument.
#[derive(Debug)]
pub(crate) struct Flood {
    burst_max: i64,
    each_us: i64,
    left: i64,
    refilled_at_us: i64,
    skipped: u64,
}

/// What to do with a frame.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Keep {
    /// Record it as it is.
    It,
    /// Record it as the last of this many that were not kept.
    AsLastOf(u64),
    /// Only count it.
    Nothing,
}

impl Flood {
    pub(crate) const fn of_garbled(at_us: i64) -> Self {
        Self::new(GARBLED_BURST_MAX, GARBLED_EACH_US, at_us)
    }

    pub(crate) const fn of_readings(at_us: i64) -> Self {
        Self::new(READINGS_BURST_MAX, READINGS_EACH_US, at_us)
    }

    const fn new(burst_max: i64, each_us: i64, at_us: i64) -> Self {
        Self {
            burst_max,
            each_us,
            left: burst_max,
            refilled_at_us: at_us,
            skipped: 0,
        }
    }

    /// A frame came.
    pub(crate) fn take(&mut self, at_us: i64) -> Keep {
        self.refill(at_us);
        if self.left == 0 {
            self.skipped += 1;
            return Keep::Nothing;
        }
        self.left -= 1;
        match std::mem::take(&mut self.skipped) {
            0 => Keep::It,
            before => Keep::AsLastOf(before + 1),
        }
    }

    /// How many were only counted since the last one kept; the count begins again.
    pub(crate) fn take_skipped(&mut self) -> Option<u64> {
        match std::mem::take(&mut self.skipped) {
            0 => None,
            count => Some(count),
        }
    }

    fn refill(&mut self, at_us: i64) {
        let passed_us = at_us.saturating_sub(self.refilled_at_us);
        if passed_us < 0 {
            // The clock was set back: begin counting from here.
            self.refilled_at_us = at_us;
        }
        let refills = passed_us.max(0) / self.each_us;
        if refills > 0 {
            self.left = self.left.saturating_add(refills).min(self.burst_max);
            self.refilled_at_us = at_us - passed_us % self.each_us;
        }
    }
}

/// What is recorded for a run of garbled frames of which only the last was kept.
pub(crate) fn as_last_of(count: u64, why: Garbled) -> Decoded {
    if count > 1 {
        Decoded::Flood { why, count }
    } else {
        Decoded::Garbled(why)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flood_is_kept_at_first_then_counted_then_kept_again_as_time_passes() {
        let mut flood = Flood::of_garbled(0);
        let kept = (0..1000).filter(|_| flood.take(0) == Keep::It).count();
        assert_eq!(i64::try_from(kept).unwrap(), GARBLED_BURST_MAX);
        assert_eq!(flood.take(GARBLED_EACH_US - 1), Keep::Nothing);
        assert_eq!(flood.take(GARBLED_EACH_US), Keep::AsLastOf(982));
        assert_eq!(flood.take(GARBLED_EACH_US), Keep::Nothing);
        assert_eq!(flood.take_skipped(), Some(1));
        assert_eq!(flood.take_skipped(), None);
    }

    #[test]
    fn a_clock_set_back_neither_opens_nor_closes_the_bucket_for_ever() {
        let mut flood = Flood::of_garbled(1_000_000_000);
        while flood.take(1_000_000_000) == Keep::It {}
        assert_eq!(flood.take(0), Keep::Nothing);
        assert!(matches!(flood.take(GARBLED_EACH_US), Keep::AsLastOf(_)));
    }
}
