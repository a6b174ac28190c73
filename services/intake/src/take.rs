//! Which values of a gauge are readings. Pure: time is an argument.

mod settle;
#[cfg(test)]
mod tests;

use shared_types::{NoReading, Quantity};

pub use self::settle::Settle;
use self::settle::Stillness;

/// How a gauge's values become readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    /// Somebody presses a button for each value.
    Send {
        /// What comes sooner after the value before is the button's bounce; 0 takes every value.
        interval_min_us: i64,
    },
    /// The gauge sends its value again and again.
    Stream {
        /// When it stands still.
        settle: Settle,
        /// Only a value that was asked for is a reading, not every one that stands still anew.
        asked: bool,
    },
}

impl Default for Mode {
    /// Every value is a reading.
    fn default() -> Self {
        Self::Send { interval_min_us: 0 }
    }
}

/// What becomes of a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fate {
    Reading,
    Passed(NoReading),
}

/// Decides about one gauge's values, one after the other.
#[derive(Clone, Debug)]
pub(crate) struct Taker {
    mode: Mode,
    /// When the value before came.
    before_us: Option<i64>,
    stillness: Stillness,
    asked: bool,
}

impl Taker {
    pub(crate) fn new(mode: Mode) -> Self {
        Self {
            mode,
            before_us: None,
            stillness: Stillness::default(),
            asked: false,
        }
    }

    /// Somebody wants a reading: the next value that can be one is it.
    pub(crate) fn ask(&mut self) {
        self.asked = true;
    }

    /// Nobody waits any more.
    pub(crate) fn give_up(&mut self) {
        self.asked = false;
    }

    /// Whether a reading was asked for and has not come.
    pub(crate) const fn is_asked(&self) -> bool {
        self.asked
    }

    pub(crate) fn value(&mut self, at_us: i64, value: Quantity) -> Fate {
        let fate = match self.mode {
            Mode::Send { interval_min_us } => self.sent(at_us, interval_min_us),
            Mode::Stream { settle, asked } => {
                let seen = self.stillness.value(at_us, value, &settle);
                let wanted = if asked || self.asked {
                    self.asked && seen.is_still
                } else {
                    seen.is_new_place
                };
                if wanted {
                    self.stillness.taken(value);
                    Fate::Reading
                } else {
                    Fate::Passed(NoReading::Unsettled)
                }
            }
        };
        if fate == Fate::Reading {
            self.asked = false;
        }
        self.before_us = Some(at_us);
        fate
    }

    fn sent(&self, at_us: i64, interval_min_us: i64) -> Fate {
        // A clock set back makes the interval negative: that is no bounce.
        let bounced = self.before_us.is_some_and(|before_us| {
            (0..interval_min_us).contains(&at_us.saturating_sub(before_us))
        });
        if bounced && !self.asked {
            Fate::Passed(NoReading::Bounce)
        } else {
            Fate::Reading
        }
    }
}
