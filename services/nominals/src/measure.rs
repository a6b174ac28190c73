//! Lengths under computation, and the one place where a computed length is rounded.

use std::ops::{Add, Sub};

use shared_types::{Angle, Length};

/// Grain of a computed nominal: 0.1 µm, a hundredth of what a workshop caliper shows.
const GRAIN_PM: f64 = 100_000.0;

/// Grain of a computed angle: 0.36″, a ten-thousandth of a degree.
const GRAIN_MAS: f64 = 360.0;

/// A computed angle in degrees as a value for the rest of the house, rounded half to even to its grain.
/// Whole degrees stay whole. `None` beyond a turn.
pub(crate) fn angle(degrees: f64) -> Option<Angle> {
    let grains = (degrees * 3_600_000.0 / GRAIN_MAS).round_ties_even() * GRAIN_MAS;
    let in_range = degrees.abs() <= 360.0;
    #[expect(
        clippy::cast_possible_truncation,
        reason = "the range is checked, and a whole number of milliarcseconds in a turn is exact"
    )]
    in_range.then_some(grains as i64).and_then(Angle::from_mas)
}

/// A length being computed: what came straight from the plan is carried exactly, what came out of a
/// sine or a tangent beside it as a float. A length that needed none stays exact to the picometre.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Measure {
    exact_pm: i64,
    computed_pm: f64,
}

impl Measure {
    pub(crate) const ZERO: Self = Self {
        exact_pm: 0,
        computed_pm: 0.0,
    };

    /// A length as the plan gives it.
    pub(crate) const fn exact(length: Length) -> Self {
        Self {
            exact_pm: length.pm(),
            computed_pm: 0.0,
        }
    }

    /// A length that geometry gave.
    pub(crate) const fn computed(pm: f64) -> Self {
        Self {
            exact_pm: 0,
            computed_pm: pm,
        }
    }

    /// The length times a factor. The factors of a right angle, 1 and 0, keep it exact.
    pub(crate) fn times(self, factor: f64) -> Self {
        if factor == 1.0 {
            self
        } else if factor == 0.0 {
            Self::ZERO
        } else {
            Self::computed(self.pm() * factor)
        }
    }

    /// The length so many times over.
    pub(crate) fn times_whole(self, count: i64) -> Self {
        Self {
            exact_pm: self.exact_pm * count,
            computed_pm: self.computed_pm * count as f64,
        }
    }

    pub(crate) fn half(self) -> Self {
        if self.exact_pm % 2 == 0 {
            Self {
                exact_pm: self.exact_pm / 2,
                computed_pm: self.computed_pm / 2.0,
            }
        } else {
            self.times(0.5)
        }
    }

    /// The length as a float, for comparisons that decide no verdict.
    pub(crate) fn pm(self) -> f64 {
        self.exact_pm as f64 + self.computed_pm
    }

    /// The length as a value for the rest of the house: as it is where it is exact, otherwise rounded
    /// half to even to the grain of 0.1 µm. `None` beyond the range of a length.
    pub(crate) fn length(self) -> Option<Length> {
        if self.computed_pm == 0.0 {
            return Length::from_pm(self.exact_pm);
        }
        let grains = (self.pm() / GRAIN_PM).round_ties_even() * GRAIN_PM;
        let in_range = grains.abs() <= shared_types::LENGTH_MAX_PM as f64;
        #[expect(
            clippy::cast_possible_truncation,
            reason = "the range is checked, and a whole number of picometres below 2^53 is exact"
        )]
        in_range.then_some(grains as i64).and_then(Length::from_pm)
    }
}

impl From<Length> for Measure {
    fn from(length: Length) -> Self {
        Self::exact(length)
    }
}

impl Add for Measure {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            exact_pm: self.exact_pm + other.exact_pm,
            computed_pm: self.computed_pm + other.computed_pm,
        }
    }
}

impl Sub for Measure {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self {
            exact_pm: self.exact_pm - other.exact_pm,
            computed_pm: self.computed_pm - other.computed_pm,
        }
    }
}

impl std::iter::Sum for Measure {
    fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
        items.fold(Self::ZERO, Add::add)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn computed_lengths_round_half_to_even_to_a_tenth_of_a_micrometre_and_plan_lengths_not_at_all()
    {
        let rounded = |pm: f64| Measure::computed(pm).length().unwrap().pm();
        assert_eq!(rounded(149_999.0), 100_000);
        assert_eq!(rounded(150_000.0), 200_000);
        assert_eq!(rounded(250_000.0), 200_000);
        assert_eq!(rounded(-150_000.0), -200_000);
        let plan = Length::from_pm(123_457).unwrap();
        let sum = Measure::exact(plan).times(1.0) + Measure::exact(plan).times(0.0);
        assert_eq!(sum.length(), Some(plan));
        assert_eq!(Measure::computed(2e15).length(), None);
    }
}
