//! Parts combined by the *Guide to the expression of uncertainty in measurement* (GUM, JCGM 100:2008).

use shared_types::Quantity;

use super::coverage::{Coverage, Expanded};
use super::part::Part;
use crate::InspectionError;

/// The parts of an uncertainty. They are taken as independent.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Budget {
    /// The parts, as a person reads them.
    pub parts: Vec<Part>,
}

/// What a part adds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// Standard uncertainty in grains.
    pub standard: f64,
    /// Of the combined variance, in per cent.
    pub percent: f64,
}

/// A budget, combined.
#[derive(Clone, Debug, PartialEq)]
pub struct Combined {
    /// The standard uncertainty in grains.
    pub standard: f64,
    /// Of it, what stays however often one repeats.
    pub lasting: f64,
    /// Of it, what becomes smaller in a mean.
    pub repeating: f64,
    /// Effective degrees of freedom (Welch and Satterthwaite, GUM G.4.1), rounded down; none where endless.
    pub freedom: Option<u32>,
    /// What each part adds, in the budget's order.
    pub shares: Vec<Share>,
    /// What its distribution is like.
    pub coverage: Coverage,
}

impl Budget {
    /// Combines the parts: u² = Σ (c u)² (GUM 5.1.2).
    ///
    /// # Errors
    /// A part that is no uncertainty, or nothing uncertain at all.
    pub fn combine(&self) -> Result<Combined, InspectionError> {
        for part in &self.parts {
            part.check()?;
        }
        let variance = |averages: Option<bool>| -> f64 {
            let parts = self.parts.iter();
            let counted = parts.filter(|part| averages.is_none_or(|a| part.averages == a));
            counted.map(|part| part.standard().powi(2)).sum()
        };
        let all = variance(None);
        if all <= 0.0 {
            return Err(InspectionError::NothingUncertain);
        }
        let share = |part: &Part| Share {
            standard: part.standard(),
            percent: 100.0 * part.standard().powi(2) / all,
        };
        let freedom = self.freedom(all);
        Ok(Combined {
            standard: all.sqrt(),
            lasting: variance(Some(false)).sqrt(),
            repeating: variance(Some(true)).sqrt(),
            freedom,
            shares: self.parts.iter().map(share).collect(),
            coverage: Coverage::of(&self.parts, freedom),
        })
    }

    fn freedom(&self, variance: f64) -> Option<u32> {
        let doubtful = self.parts.iter().filter_map(|part| {
            let freedom = part.freedom?;
            Some(part.standard().powi(4) / freedom)
        });
        let doubtful: f64 = doubtful.sum();
        // GUM G.4.1: to the next lower whole number. One part alone must not lose a degree to rounding.
        let freedom = (variance * variance / doubtful + 1e-9).floor();
        let counts = doubtful > 0.0 && freedom < f64::from(u32::MAX);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "the range is checked, and it is a whole number from one"
        )]
        counts.then_some(freedom as u32)
    }
}

impl Share {
    /// To the nearest whole per cent.
    #[must_use]
    pub fn whole_percent(&self) -> u8 {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a part of a sum of squares is 0 to 100 per cent of it"
        )]
        let whole = self.percent.round().clamp(0.0, 100.0) as u8;
        whole
    }
}

impl Combined {
    /// The expanded uncertainty for 95 %.
    #[must_use]
    pub fn expand_95(&self) -> Expanded {
        self.expand(0.95)
    }

    /// Of what was rounded to whole numbers before; nothing is told apart in it.
    #[must_use]
    pub fn whole(
        standard: Quantity,
        lasting: Quantity,
        repeating: Quantity,
        freedom: Option<u32>,
    ) -> Self {
        let grains = |quantity: Quantity| quantity.raw() as f64;
        Self {
            standard: grains(standard),
            lasting: grains(lasting),
            repeating: grains(repeating),
            freedom,
            shares: Vec::new(),
            coverage: freedom.map_or(Coverage::Normal, Coverage::Student),
        }
    }

    /// The expanded uncertainty at a coverage probability, as 0.95.
    #[must_use]
    pub fn expand(&self, probability: f64) -> Expanded {
        self.coverage.expand(self.standard, probability)
    }

    /// The standard uncertainty as a quantity of `kind`'s kind, rounded up to the next whole picometre or
    /// milliarcsecond; `None` beyond the range of its kind.
    #[must_use]
    pub fn quantity(&self, kind: Quantity) -> Option<Quantity> {
        up(self.standard, kind)
    }

    /// What lasts and what repeats, as quantities, each rounded up.
    #[must_use]
    pub fn quantities(&self, kind: Quantity) -> Option<(Quantity, Quantity)> {
        Some((up(self.lasting, kind)?, up(self.repeating, kind)?))
    }
}

pub(super) fn up(grains: f64, kind: Quantity) -> Option<Quantity> {
    let whole = grains.ceil();
    // 2^53: beyond the range of any quantity, and every whole float below it is exact.
    let in_range = (0.0..9_007_199_254_740_992.0).contains(&whole);
    #[expect(clippy::cast_possible_truncation, reason = "the range is checked")]
    in_range
        .then_some(whole as i64)
        .and_then(|raw| kind.with_raw(raw))
}
