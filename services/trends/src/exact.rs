//! An exact sum, turned into a float once.

/// `whole + over / under`, with `0 <= over < under`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Exact {
    whole: i128,
    over: i128,
    under: i128,
}

impl Exact {
    /// `whole + over / under`; `under` is above zero.
    pub(crate) fn new(whole: i128, over: i128, under: i128) -> Self {
        assert!(under > 0, "a count is above zero");
        Self {
            whole: whole + over.div_euclid(under),
            over: over.rem_euclid(under),
            under,
        }
    }

    /// The nearest float, or the next to it.
    pub(crate) fn f64(self) -> f64 {
        match self
            .whole
            .checked_mul(self.under)
            .and_then(|product| product.checked_add(self.over))
        {
            // One division of two whole numbers, so that a sum just below zero keeps all its digits.
            Some(over) => over as f64 / self.under as f64,
            // Beyond 2^127 / n the part below one is beyond the last digit of a float anyway.
            None => self.whole as f64 + self.over as f64 / self.under as f64,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sum_that_all_but_cancels_keeps_its_digits() {
        assert_eq!(
            Exact::new(-1, 2_999_999, 3_000_000).f64(),
            -1.0 / 3_000_000.0
        );
        assert_eq!(Exact::new(0, -1, 3).f64(), -1.0 / 3.0);
        assert_eq!(Exact::new(i128::MAX - 1, 1, 2).f64(), 2_f64.powi(127));
    }
}
