//! From quantities to whole grains, and back.

use shared_types::Quantity;

use crate::TrendsError;

/// The whole grains of readings of one kind.
///
/// # Errors
/// [`TrendsError::WrongKind`] where a length stands beside an angle.
pub fn grains(readings: &[Quantity]) -> Result<Vec<i64>, TrendsError> {
    let same = |reading: &Quantity| {
        readings
            .first()
            .is_none_or(|first| first.same_kind(*reading))
    };
    if !readings.iter().all(same) {
        return Err(TrendsError::WrongKind {
            what: "a statistic",
        });
    }
    Ok(readings.iter().map(|reading| reading.raw()).collect())
}

/// A result as a quantity of `like`'s kind, rounded half to even to a whole picometre or milliarcsecond: for showing, not
/// for judging. `None` beyond the range of its kind.
#[must_use]
pub fn quantity(grains: f64, like: Quantity) -> Option<Quantity> {
    let whole = grains.round_ties_even();
    // 2^53: beyond the range of any quantity, and every whole float below it is exact.
    let in_range = whole.abs() < 9_007_199_254_740_992.0;
    #[expect(clippy::cast_possible_truncation, reason = "the range is checked")]
    in_range
        .then_some(whole as i64)
        .and_then(|raw| like.with_raw(raw))
}
