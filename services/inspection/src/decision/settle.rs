//! What would decide an undecided reading.

use shared_types::{Limits, Quantity, Rule, Settle, Verdict};

use super::Zones;

/// Most readings a person is asked for: past that many of one dimension, time is better spent on a better gauge.
pub const REPEATS_MAX: u32 = 20;

/// What would decide `value`, of which `lasting` is the standard uncertainty that stays and `repeating` that which
/// becomes smaller in a mean. `None` where it is decided, or the rule or the kinds do not allow a judgement.
#[must_use]
pub fn settle(
    rule: Rule,
    limits: &Limits,
    value: Quantity,
    lasting: Quantity,
    repeating: Quantity,
) -> Option<Settle> {
    let ruling = |u: Quantity| Zones::new(rule, limits, u).ok()?.ruling(value);
    if ruling(uncertainty_of_mean(lasting, repeating, 1)?)? != Verdict::Undecided {
        return None;
    }
    let decided = |u: Quantity| ruling(u).is_some_and(|ruling| ruling != Verdict::Undecided);
    let repeats = (2..=REPEATS_MAX)
        .find(|n| uncertainty_of_mean(lasting, repeating, *n).is_some_and(decided));
    let to = Zones::new(Rule::Plain, limits, lasting.with_raw(1)?)
        .ok()?
        .ruling(value)?;
    Some(Settle {
        repeats,
        uncertainty: largest(lasting, decided),
        to,
    })
}

/// The standard uncertainty of a mean of `n` readings, rounded up to a whole picometre or milliarcsecond: what stays, and
/// the `n`-th part of the variance that repeats. `None` for no reading, or for a length with an angle.
#[must_use]
pub fn uncertainty_of_mean(lasting: Quantity, repeating: Quantity, n: u32) -> Option<Quantity> {
    if n == 0 || !lasting.same_kind(repeating) {
        return None;
    }
    let square = |quantity: Quantity| u128::from(quantity.raw().unsigned_abs()).pow(2);
    let variance = square(lasting) + square(repeating).div_ceil(u128::from(n));
    let root = variance.isqrt();
    let up = if root * root < variance {
        root + 1
    } else {
        root
    };
    lasting.with_raw(i64::try_from(up).ok()?)
}

/// The largest uncertainty that decides, by halving: a larger one never decides what a smaller one leaves open.
fn largest(kind: Quantity, decided: impl Fn(Quantity) -> bool) -> Option<Quantity> {
    let at = |raw: i64| kind.with_raw(raw);
    if !decided(at(1)?) {
        return None;
    }
    let (mut low, mut high) = (1_i64, 2_i64);
    while at(high).is_some_and(&decided) {
        (low, high) = (high, high * 2);
    }
    while high - low > 1 {
        let middle = i64::midpoint(low, high);
        if at(middle).is_some_and(&decided) {
            low = middle;
        } else {
            high = middle;
        }
    }
    at(low)
}
