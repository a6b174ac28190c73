//! A gauge that is not at nought: what it shows is off by the same amount, whatever it measures.
//!
//! A part can be off by the same amount too: a flange laid out wrongly makes both its heights too long, and a
//! batch may be a little long throughout. So it takes different sizes, each out of its limits, and then one
//! reading waits and a person looks. Nothing is corrected, and what was judged before stays as it was.

use shared_types::{CharacteristicId, Counted, GaugeId, PieceId, Quantity, SameOffset, Shop};

/// So many different sizes out by the same amount, the reading at hand among them. Two may well be by chance or by
/// one mistake at the layout.
const SIZES_LEAST: usize = 3;
/// Readings looked back at: a piece or so. What is longer ago says little of the gauge as it is now.
const BACK_MOST: usize = 8;

/// How far a value lies from the middle of its limits.
#[derive(Clone, Copy)]
struct Off {
    /// The middle.
    middle: Quantity,
    /// Half the width between the limits, in picometres or milliarcseconds.
    half: i64,
    /// The value less the middle, likewise.
    by: i64,
}

impl Off {
    /// Of a characteristic with both limits; one alone does not say what was made for.
    fn new(
        shop: &Shop,
        piece: &PieceId,
        characteristic: &CharacteristicId,
        value: Quantity,
    ) -> Option<Self> {
        let adopted = shop.parts.get(piece.part())?;
        let planned = adopted.plan.characteristic(characteristic)?;
        let (wanted, _) = shop.wanted(piece, shop.mate(piece), planned);
        let (lower, upper) = (wanted.limits.lower()?.raw(), wanted.limits.upper()?.raw());
        let half = (upper - lower) / 2;
        let middle = wanted.nominal.with_raw(lower + half)?;
        Some(Self {
            middle,
            half,
            by: value.minus(middle)?.raw(),
        })
    }

    const fn is_out(self) -> bool {
        self.by.abs() > self.half
    }

    /// By the same amount: closer than half the limits' width of one of them, which is what work scatters.
    const fn agrees(self, other: Self) -> bool {
        let apart = (self.by - other.by).abs();
        apart <= self.half || apart <= other.half
    }

    fn of_one_size(self, other: Self) -> bool {
        let apart = (self.middle.raw() - other.middle.raw()).abs();
        apart <= self.half.max(other.half)
    }
}

/// Whether a reading out of its limits and those before it of the same gauge are all off by one amount that no person
/// has said to be the part's.
pub(crate) fn same_offset(
    shop: &Shop,
    gauge: &GaugeId,
    piece: &PieceId,
    characteristic: &CharacteristicId,
    value: Quantity,
) -> Option<SameOffset> {
    let checks = shop.checks(gauge)?;
    // Whoever types stands between us and the gauge.
    shop.gauge_setup(gauge)?.kind?;
    let now = Off::new(shop, piece, characteristic, value).filter(|now| now.is_out())?;
    let mut sizes = vec![now];
    let mut all = vec![now];
    let mut readings = Vec::new();
    for (seq, counted) in checks.since_check().take(BACK_MOST) {
        let Some(before) = off(shop, counted).filter(|before| before.agrees(now)) else {
            break;
        };
        if !before.is_out() || before.by.signum() != now.by.signum() {
            // Its limits are wide enough to hide the amount: it says nothing either way.
            continue;
        }
        readings.push(seq);
        all.push(before);
        if sizes.iter().all(|size| !size.of_one_size(before)) {
            sizes.push(before);
        }
    }
    if sizes.len() < SIZES_LEAST {
        return None;
    }
    readings.reverse();
    let bys: Option<Vec<Quantity>> = all.iter().map(|off| value.with_raw(off.by)).collect();
    let by = Quantity::mean(&bys?)?;
    let usual = checks.usual(piece.part());
    let known = usual.is_some_and(|usual| (usual.raw() - by.raw()).abs() <= now.half);
    (!known).then_some(SameOffset { by, readings })
}

fn off(shop: &Shop, counted: &Counted) -> Option<Off> {
    let Counted {
        piece,
        characteristic,
        value,
        ..
    } = counted;
    Off::new(shop, piece, characteristic, *value)
}
