//! A budget as a person reads it: whole numbers only.

use shared_types::{GaugeSetup, Quantity, Shop, SpreadWord};

use crate::known::{Beside, beside, budget};
use crate::thermal::now;

/// One row of a budget.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// What it comes from.
    pub name: String,
    /// How it is spread.
    pub spread: SpreadWord,
    /// Its standard uncertainty, rounded up.
    pub standard: Quantity,
    /// Of the combined variance, in per cent.
    pub percent: u8,
    /// Degrees of freedom, where stated.
    pub freedom: Option<u32>,
    /// Whether it becomes smaller in a mean of repeated readings.
    pub averages: bool,
    /// Where the figure comes from.
    pub source: String,
}

/// A budget, combined.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// The size it is for.
    pub size: Quantity,
    /// Its parts.
    pub rows: Vec<Row>,
    /// u, rounded up.
    pub standard: Quantity,
    /// k for 95 %, in hundredths, rounded up.
    pub k_hundredths: u32,
    /// U for 95 %, rounded up.
    pub expanded: Quantity,
    /// Effective degrees of freedom where they matter.
    pub freedom: Option<u32>,
}

/// The budget of one reading of `size` by a gauge; `None` where nothing is known.
#[must_use]
pub fn told(shop: &Shop, gauge: &GaugeSetup, size: Quantity) -> Option<Told> {
    let beside = Beside {
        temperature: now(shop, gauge, size),
        ..beside(shop, &gauge.id)
    };
    let budget = budget(gauge, size, beside)?;
    let combined = budget.combine().ok()?;
    let rows = budget
        .parts
        .iter()
        .zip(&combined.shares)
        .map(|(part, share)| {
            Some(Row {
                name: part.name.clone(),
                spread: part.spread.word(),
                standard: part.quantity(size)?,
                percent: share.whole_percent(),
                freedom: part.whole_freedom(),
                averages: part.averages,
                source: part.source.clone(),
            })
        });
    let expanded = combined.expand_95();
    Some(Told {
        size,
        rows: rows.collect::<Option<_>>()?,
        standard: combined.quantity(size)?,
        k_hundredths: expanded.k_hundredths(),
        expanded: expanded.quantity(size)?,
        freedom: combined.freedom,
    })
}
