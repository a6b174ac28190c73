//! What the simulated operator does, and how often: one in so many. No source is known that counts such slips at a
//! bench; these are estimates for a careful person, to be changed here.

/// Most readings a day, at two benches together.
pub(crate) const READINGS_A_DAY: u64 = 500;

/// Measures another open dimension than the one due, without saying so; half the time the next in the route.
pub(crate) const OUT_OF_ORDER: u64 = 200;
/// Measures any other dimension of the stage by mistake, passed or not.
pub(crate) const WRONG_DIMENSION: u64 = 500;
/// Picks another open dimension on the screen before measuring it.
pub(crate) const PICKS: u64 = 50;
/// Presses the button twice …
pub(crate) const PRESSED_TWICE: u64 = 300;
/// … and of those, one in so many with the last digit moved by one.
pub(crate) const PRESSED_TWICE_MOVED: u64 = 10;
/// Bumps the unit button: the gauge shows another unit than it names until somebody sees it.
pub(crate) const UNIT_BUMPED: u64 = 2000;
/// Sets the gauge to nought somewhere else than with closed jaws, and goes on until it is seen.
pub(crate) const BAD_ZERO: u64 = 2000;
/// A reading that is held makes the operator look at the gauge: one in so many …
pub(crate) const LOOKS_AT_GAUGE: u64 = 2;
/// … and one that fails, since most look at the part first.
pub(crate) const LOOKS_AFTER_FAIL: u64 = 5;
/// Reads an angle from the other leg: 180° less.
pub(crate) const SUPPLEMENT: u64 = 300;
/// Reads an angle with the gauge zeroed square to where the plan counts from: 90° less.
pub(crate) const COMPLEMENT: u64 = 1000;
/// Closes the jaws the other way round, or turns the angle gauge over: the other sign.
pub(crate) const OTHER_SIGN: u64 = 2000;
/// Comes back from an interruption, and another piece lies there than the screen says, for two readings.
pub(crate) const INTERRUPTED: u64 = 2000;
/// Uses the gauge of the other bench.
pub(crate) const OTHER_BENCH: u64 = 2000;

/// Every length of a part is off by the same, batch after batch, by up to six tenths of a millimetre: one part in so
/// many.
pub(crate) const BATCH_OFF: u64 = 20;
/// A dimension misses its limits grossly, by up to three widths.
pub(crate) const GROSS_MISS: u64 = 40;
/// Of a hundred that failed, so many are worked over and measured again at once; the others are left for later.
pub(crate) const AGAIN_IN_100: u64 = 70;
/// Of dimensions that do not miss grossly: half the width between the limits is so many tenths of a deviation.
pub(crate) const DEVIATIONS_TENTHS: i64 = 25;
