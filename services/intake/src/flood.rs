//! How many garbled frames of one gauge are worth keeping.
//!
//! The rule: readings are never dropped. Of garbled frames, [`BURST_MAX`] are kept at once and then
//! one every [`REFILL_US`]; those between are counted, and the next one kept says how many and
//! carries the last of them.

use shared_types::{Decoded, Garbled};

/// A garbled line now and then is evidence; twenty in a row show whatever there is to see.
const BURST_MAX: i64 = 20;
/// One kept each half second: a gauge set to the wrong speed then costs the history at most two
/// entries a second, no more than a person measuring fast.
const REFILL_US: i64 = 500_000;

/// A bucket of frames that may be kept, refilled by time; time is an argument.
#[derive(Debug)]
pub(crate) struct Flood {
    left: i64,
    refilled_at_us: i64,
    skipped: u64,
}

/// What to do with a garbled frame.
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
    pub(crate) fn new(at_us: i64) -> Self {
        Self {
            left: BURST_MAX,
            refilled_at_us: at_us,
            skipped: 0,
        }
    }

    /// A garbled frame came.
    pub(crate) fn garbled(&mut self, at_us: i64) -> Keep {
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

    pub(crate) const fn is_skipping(&self) -> bool {
        self.skipped > 0
    }

    fn refill(&mut self, at_us: i64) {
        let passed_us = at_us.saturating_sub(self.refilled_at_us);
        if passed_us < 0 {
            // The clock was set back: begin counting from here.
            self.refilled_at_us = at_us;
        }
        let refills = passed_us.max(0) / REFILL_US;
        if refills > 0 {
            self.left = self.left.saturating_add(refills).min(BURST_MAX);
            self.refilled_at_us = at_us - passed_us % REFILL_US;
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
        let mut flood = Flood::new(0);
        let kept = (0..1000).filter(|_| flood.garbled(0) == Keep::It).count();
        assert_eq!(i64::try_from(kept).unwrap(), BURST_MAX);
        assert!(flood.is_skipping());
        assert_eq!(flood.garbled(REFILL_US - 1), Keep::Nothing);
        assert_eq!(flood.garbled(REFILL_US), Keep::AsLastOf(982));
        assert_eq!(flood.garbled(REFILL_US), Keep::Nothing);
        assert_eq!(flood.take_skipped(), Some(1));
        assert_eq!(flood.take_skipped(), None);
    }

    #[test]
    fn a_clock_set_back_neither_opens_nor_closes_the_bucket_for_ever() {
        let mut flood = Flood::new(1_000_000_000);
        while flood.garbled(1_000_000_000) == Keep::It {}
        assert_eq!(flood.garbled(0), Keep::Nothing);
        assert!(matches!(flood.garbled(REFILL_US), Keep::AsLastOf(_)));
    }
}
