//! Which standard flat washer scribes a wanted line: rolled along an edge with a pen in its hole, it draws a
//! line parallel to that edge.
//!
//! The pen stands at the side of the hole that is nearer to the edge: the middle of its line then lies half
//! the difference of the two diameters from the edge, and half the pen's width more. Common practice of
//! builders; what is computed is geometry alone.

use shared_types::{DisplayUnits, Length, Quantity, show};

/// A line farther off than this is not the line that was wanted: half a millimetre is what a felt pen smears.
const OFF_MAX: Length = length(500_000_000);
/// Width of the line of an ordinary fine felt pen.
pub const PEN_USUAL: Length = length(700_000_000);
/// How many are told: the nearest, and one on either side of it.
const TOLD_MAX: usize = 3;

/// A flat washer by its nominal sizes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Washer {
    /// As one asks for it: `M8`, `7/16 in wide`.
    pub name: &'static str,
    /// The standard it is named by.
    pub standard: &'static str,
    /// Diameter of its hole.
    pub hole: Length,
    /// Outside diameter.
    pub outside: Length,
}

impl Washer {
    /// How far from the edge it draws its line with a pen that draws lines of width `pen`.
    #[must_use]
    pub fn draws(&self, pen: Length) -> Length {
        let pm = (self.outside.pm() - self.hole.pm() + pen.pm()) / 2;
        // Half of what a length may be, whatever the pen.
        Length::from_pm(pm).unwrap_or(self.outside)
    }
}

/// A washer held against a wanted line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Suggestion {
    /// Which one.
    pub washer: &'static Washer,
    /// Where its line lies.
    pub draws: Length,
    /// How much farther from the edge than wanted; negative: nearer.
    pub off: Length,
}

impl Suggestion {
    /// Whether the line may stand for the one that was wanted.
    #[must_use]
    pub fn serves(&self) -> bool {
        self.off.abs() <= OFF_MAX
    }
}

/// The washers that draw nearest to a line `wanted` from the edge, the nearest first.
#[must_use]
pub fn washers(wanted: Length, pen: Length) -> Vec<Suggestion> {
    let mut all: Vec<Suggestion> = WASHERS
        .iter()
        .filter_map(|washer| {
            let draws = washer.draws(pen);
            let off = Length::from_pm(draws.pm() - wanted.pm())?;
            Some(Suggestion { washer, draws, off })
        })
        .collect();
    // Stable: of two as near, the one that stands first in the table.
    all.sort_by_key(|one| one.off.abs());
    all.truncate(TOLD_MAX);
    all
}

/// The nearest washer for a line in one sentence.
#[must_use]
pub fn advice(wanted: Length, pen: Length, units: DisplayUnits) -> String {
    let text = |length: Length| show(Quantity::Length(length), units);
    match washers(wanted, pen).first() {
        Some(best) if best.off == Length::ZERO => {
            format!("{} washer draws it", best.washer.name)
        }
        Some(best) if best.serves() => {
            let way = if best.off > Length::ZERO {
                "too far"
            } else {
                "too near"
            };
            let (draws, off) = (text(best.draws), text(best.off.abs()));
            format!("{} washer draws {draws}, {off} {way}", best.washer.name)
        }
        Some(best) => format!(
            "no washer within {} (nearest: {}, {})",
            text(OFF_MAX),
            best.washer.name,
            text(best.draws)
        ),
        None => String::new(),
    }
}

const fn length(pm: i64) -> Length {
    Length::from_pm(pm).expect("sizes of washers lie far below a kilometre")
}

const ISO: &str = "ISO 7089";
const INCH: &str = "ASME B18.21.1 type A";

const fn metric(name: &'static str, hole_um: i64, outside_um: i64) -> Washer {
    Washer {
        name,
        standard: ISO,
        hole: length(hole_um * 1_000_000),
        outside: length(outside_um * 1_000_000),
    }
}

/// In thousandths of an inch, as the table prints them.
const fn inch(name: &'static str, hole: i64, outside: i64) -> Washer {
    Washer {
        name,
        standard: INCH,
        hole: length(hole * 25_400_000),
        outside: length(outside * 25_400_000),
    }
}

/// Nominal (basic) sizes. Real ones differ by some tenths; measure the line it draws before trusting it.
///
/// Metric: ISO 7089:2000, nominal d1 and d2 (from memory; the same as a dealer's table of ISO 7089).
/// Inch: ANSI/ASME B18.21.1-2009 type A preferred sizes, narrow (SAE) and wide (USS), basic inside and outside
/// diameters as in Machinery's Handbook, 31st edition, "Washers", table 1a.
const WASHERS: [Washer; 29] = [
    metric("M3", 3_200, 7_000),
    metric("M4", 4_300, 9_000),
    metric("M5", 5_300, 10_000),
    metric("M6", 6_400, 12_000),
    metric("M8", 8_400, 16_000),
    metric("M10", 10_500, 20_000),
    metric("M12", 13_000, 24_000),
    metric("M16", 17_000, 30_000),
    metric("M20", 21_000, 37_000),
    metric("M24", 25_000, 44_000),
    metric("M30", 31_000, 56_000),
    metric("M36", 37_000, 66_000),
    inch("No. 6", 156, 375),
    inch("No. 8", 188, 438),
    inch("No. 10", 219, 500),
    inch("1/4 in narrow", 281, 625),
    inch("1/4 in wide", 312, 734),
    inch("5/16 in narrow", 344, 688),
    inch("5/16 in wide", 375, 875),
    inch("3/8 in narrow", 406, 812),
    inch("3/8 in wide", 438, 1_000),
    inch("7/16 in narrow", 469, 922),
    inch("7/16 in wide", 500, 1_250),
    inch("1/2 in narrow", 531, 1_062),
    inch("1/2 in wide", 562, 1_375),
    inch("5/8 in narrow", 656, 1_312),
    inch("5/8 in wide", 688, 1_750),
    inch("3/4 in narrow", 812, 1_469),
    inch("3/4 in wide", 812, 2_000),
];
