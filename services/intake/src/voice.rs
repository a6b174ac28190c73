//! One gauge: its values become readings or are passed over, its garbled frames are kept or counted.
//! Pure: time is an argument. Every frame ends as exactly one of reading, suppressed or garbled (a
//! reading may then be held), and what is not stored by itself is counted and the count is stored.

use shared_types::{Decoded, Garbled, GaugeId, NoReading, Observation, Suppressed, Via};

use crate::Dialect;
use crate::dialect::Value;
use crate::flood::{Flood, Keep, as_last_of};
use crate::take::{Fate, Mode, Taker};

/// A streaming gauge's count is written before each of its readings, and at least this often: ten
/// minutes of a gauge that lies there switched on are one entry, a working day fifty.
const TOLD_US: i64 = 600_000_000;

/// A gauge on a port, or behind a bridge that sends whatever it shows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SerialGauge {
    /// Its name.
    pub gauge: GaugeId,
    /// How it speaks.
    pub dialect: Dialect,
    /// Which of its values are readings.
    pub mode: Mode,
}

/// What is to be recorded, with the moment it belongs to.
pub(crate) type Recorded = Vec<(i64, Observation)>;

/// What is known of one gauge between frames.
#[derive(Debug)]
pub(crate) struct Voice {
    pub(crate) gauge: SerialGauge,
    /// How its frames come, told with each.
    pub(crate) via: Via,
    pub(crate) taker: Taker,
    /// Until when the answer to a question is waited for.
    pub(crate) answer_by_us: i64,
    garbled: Flood,
    readings: Flood,
    skipped: Option<Garbled>,
    skipped_raw: Vec<u8>,
    passed: Option<Passed>,
    passed_raw: Vec<u8>,
}

/// Frames passed over since it was last told.
#[derive(Clone, Copy, Debug)]
struct Passed {
    why: NoReading,
    count: u64,
    since_us: i64,
    last: Option<Value>,
}

impl Voice {
    pub(crate) fn new(gauge: SerialGauge, via: Via, at_us: i64) -> Self {
        Self {
            via,
            taker: Taker::new(gauge.mode),
            gauge,
            answer_by_us: i64::MAX,
            garbled: Flood::of_garbled(at_us),
            readings: Flood::of_readings(at_us),
            skipped: None,
            skipped_raw: Vec::new(),
            passed: None,
            passed_raw: Vec::new(),
        }
    }

    pub(crate) fn frame(
        &mut self,
        at_us: i64,
        raw: &[u8],
        said: Result<Value, Garbled>,
        out: &mut Recorded,
    ) {
        match said {
            Err(why) => self.unreadable(at_us, raw, why, out),
            Ok(value) => match self.fate(at_us, &value) {
                Fate::Passed(why) => self.pass(at_us, raw, why, Some(value), out),
                Fate::Reading => {
                    // What was passed over came before this reading: it is recorded before it.
                    self.tell_garbled(at_us, out);
                    self.tell_passed(at_us, out);
                    let reading = Decoded::Reading(value.reading());
                    out.push((at_us, self.observation(raw, reading)));
                }
            },
        }
    }

    fn fate(&mut self, at_us: i64, value: &Value) -> Fate {
        let asked = self.taker.is_asked();
        let fate = self.taker.value(at_us, value.quantity());
        // Nobody measures so fast: it streams, and says so in its counts.
        if fate == Fate::Reading && !asked && self.readings.take(at_us) == Keep::Nothing {
            return Fate::Passed(NoReading::TooFast);
        }
        fate
    }

    /// A frame that is no new reading.
    pub(crate) fn pass(
        &mut self,
        at_us: i64,
        raw: &[u8],
        why: NoReading,
        last: Option<Value>,
        out: &mut Recorded,
    ) {
        if self.passed.is_some_and(|passed| passed.why != why) {
            self.tell_passed(at_us, out);
        }
        let mut passed = self.passed.unwrap_or(Passed {
            why,
            count: 0,
            since_us: at_us,
            last,
        });
        passed.count += 1;
        passed.last = last;
        self.passed = Some(passed);
        self.passed_raw.clear();
        self.passed_raw.extend_from_slice(raw);
        // Also where the clock was set back.
        if !(0..TOLD_US).contains(&at_us.saturating_sub(passed.since_us)) {
            self.tell_passed(at_us, out);
        }
    }

    /// A garbled frame. An error reply of the gauge is also its answer, where it was asked.
    pub(crate) fn unreadable(&mut self, at_us: i64, raw: &[u8], why: Garbled, out: &mut Recorded) {
        if matches!(why, Garbled::Device | Garbled::Battery | Garbled::Overflow) {
            self.taker.give_up();
        }
        let decoded = match self.garbled.take(at_us) {
            Keep::It => Decoded::Garbled(why),
            Keep::AsLastOf(count) => {
                self.skipped = None;
                as_last_of(count, why)
            }
            Keep::Nothing => {
                self.skipped = Some(why);
                self.skipped_raw.clear();
                self.skipped_raw.extend_from_slice(raw);
                return;
            }
        };
        out.push((at_us, self.observation(raw, decoded)));
    }

    /// The line is quiet: tells what was only counted, but for a stream, whose frames are far apart.
    pub(crate) fn quiet(&mut self, at_us: i64, out: &mut Recorded) {
        self.tell_garbled(at_us, out);
        if self.passed.is_some_and(|p| p.why != NoReading::Unsettled) {
            self.tell_passed(at_us, out);
        }
    }

    /// The port or the bridge is gone: tells everything that was only counted.
    pub(crate) fn gone(&mut self, at_us: i64, out: &mut Recorded) {
        // Nobody can answer any more.
        self.answer_by_us = at_us;
        self.overdue(at_us, out);
        self.taker = Taker::new(self.gauge.mode);
        self.tell_garbled(at_us, out);
        self.tell_passed(at_us, out);
    }

    /// Whether an answer is overdue; it is then told and no longer waited for.
    pub(crate) fn overdue(&mut self, at_us: i64, out: &mut Recorded) {
        if self.taker.is_asked() && at_us >= self.answer_by_us {
            self.taker.give_up();
            self.unreadable(at_us, b"", Garbled::NoAnswer, out);
        }
    }

    fn tell_garbled(&mut self, at_us: i64, out: &mut Recorded) {
        if let Some(why) = self.skipped.take()
            && let Some(count) = self.garbled.take_skipped()
        {
            let decoded = as_last_of(count, why);
            out.push((at_us, self.observation(&self.skipped_raw, decoded)));
        }
    }

    fn tell_passed(&mut self, at_us: i64, out: &mut Recorded) {
        if let Some(passed) = self.passed.take() {
            let decoded = Decoded::Suppressed(Suppressed {
                why: passed.why,
                count: passed.count,
                last: passed.last.map(|value| value.reading()),
            });
            out.push((at_us, self.observation(&self.passed_raw, decoded)));
        }
    }

    fn observation(&self, raw: &[u8], decoded: Decoded) -> Observation {
        Observation {
            gauge: self.gauge.gauge.clone(),
            via: self.via,
            raw: raw.to_vec(),
            decoded,
        }
    }
}
