//! When a streaming gauge stands still in a new place.

use shared_types::Quantity;

/// Longest gap between two values of a stream: gauges repeat at least three times a second, so after
/// this it was switched off or its cable was out, and nobody knows what it did meanwhile.
const GAP_MAX_US: i64 = 2_000_000;

/// A value must be away for so many frames in a row before its return is another movement: one that lost a
/// digit on its way is away for a single one, and a hand that opens the jaws takes longer than two.
const AWAY_MIN: u32 = 2;

/// What standing still means. Lengths in picometres or angles in milliarcseconds, as the gauge has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Settle {
    /// For how long the value stands.
    pub still_us: i64,
    /// In how many frames at least.
    pub count: u32,
    /// The most it may swing meanwhile, from the lowest to the highest value: a trembling hand.
    pub tremor: i64,
    /// How far it must have been from the last reading before there can be another.
    pub move_min: i64,
    /// Within this of zero the jaws are closed, which is no reading.
    pub zero: i64,
}

/// What is known of a stream.
#[derive(Clone, Debug, Default)]
pub(super) struct Stillness {
    /// Where it was read last, or first seen: what lies near is not new.
    rest: Option<Quantity>,
    /// Frames in a row far enough from there.
    away: u32,
    /// It has been far enough from there for long enough.
    moved: bool,
    window: Option<Window>,
}

/// Values that stand together.
#[derive(Clone, Copy, Debug)]
struct Window {
    since_us: i64,
    last_us: i64,
    count: u32,
    low: Quantity,
    high: Quantity,
}

/// What one more value shows.
pub(super) struct Seen {
    /// It stands still.
    pub(super) is_still: bool,
    /// It stands still in a place where it was not read before, and not at zero.
    pub(super) is_new_place: bool,
}

impl Stillness {
    pub(super) fn value(&mut self, at_us: i64, value: Quantity, settle: &Settle) -> Seen {
        let rest = *self.rest.get_or_insert(value);
        if !rest.same_kind(value) {
            // Another unit of another kind: a new beginning.
            *self = Self::default();
            return self.value(at_us, value, settle);
        }
        self.away = if apart(rest, value) >= settle.move_min {
            self.away.saturating_add(1)
        } else {
            0
        };
        self.moved |= self.away >= AWAY_MIN;
        let window = match self.window {
            Some(window) if window.goes_on(at_us, value, settle) => window.with(at_us, value),
            _ => Window::of(at_us, value),
        };
        self.window = Some(window);
        let is_still = window.count >= settle.count
            && window.last_us.saturating_sub(window.since_us) >= settle.still_us;
        let closed = value.raw().abs() <= settle.zero;
        if is_still && closed && self.moved {
            // The jaws were closed and begin anew from there.
            self.taken(value);
        }
        Seen {
            is_still,
            is_new_place: is_still && self.moved && !closed,
        }
    }

    /// The value was read: it must move before there is another.
    pub(super) fn taken(&mut self, value: Quantity) {
        self.rest = Some(value);
        self.away = 0;
        self.moved = false;
    }
}

impl Window {
    const fn of(at_us: i64, value: Quantity) -> Self {
        Self {
            since_us: at_us,
            last_us: at_us,
            count: 1,
            low: value,
            high: value,
        }
    }

    fn goes_on(&self, at_us: i64, value: Quantity, settle: &Settle) -> bool {
        let gap_us = at_us.saturating_sub(self.last_us);
        let with = self.with(at_us, value);
        (0..=GAP_MAX_US).contains(&gap_us) && apart(with.low, with.high) <= settle.tremor
    }

    fn with(mut self, at_us: i64, value: Quantity) -> Self {
        if value.raw() < self.low.raw() {
            self.low = value;
        }
        if value.raw() > self.high.raw() {
            self.high = value;
        }
        self.last_us = at_us;
        self.count = self.count.saturating_add(1);
        self
    }
}

/// How far apart: both bounded, so this cannot overflow.
const fn apart(a: Quantity, b: Quantity) -> i64 {
    (a.raw() - b.raw()).abs()
}
