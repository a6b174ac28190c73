//! All that stands of one characteristic, piece after piece, in the order it was measured.

use shared_types::{
    Adopted, Attempt, Characteristic, CharacteristicId, Derived, DisplayUnits, PartId, Piece,
    PieceId, Quantity, Seq, Shop, Verdict,
};

/// The values of one characteristic. Both hands of a part in pairs are of one process and stand together.
#[derive(Clone, Debug)]
pub(crate) struct Series {
    pub(crate) part: PartId,
    pub(crate) title: String,
    /// In the words of the left piece.
    pub(crate) characteristic: Characteristic,
    pub(crate) pairs: bool,
    /// The newest entry it knows.
    pub(crate) seq: Seq,
    pub(crate) units: DisplayUnits,
    pub(crate) points: Vec<Point>,
    /// How many pieces the plan has.
    pub(crate) planned: usize,
    /// How many readings of a piece a mean is made of; 1 where there is none.
    pub(crate) group: usize,
    /// Standing values left out because another nominal was wanted when they were judged.
    pub(crate) otherwise: usize,
}

/// What stands for one piece.
#[derive(Clone, Debug)]
pub(crate) struct Point {
    pub(crate) piece: PieceId,
    pub(crate) seq: Seq,
    /// As read.
    pub(crate) value: Quantity,
    /// The same, less what its mating piece has moved the nominal: as if all had been made to the plan's own.
    pub(crate) charted: Quantity,
    pub(crate) verdict: Verdict,
    /// The readings of its mean, charted likewise; empty where there is none, or where it is incomplete.
    pub(crate) group: Vec<Quantity>,
}

impl Series {
    /// Of a characteristic of a part in force, or withdrawn; `None` where there is none of that name.
    pub(crate) fn gather(shop: &Shop, part: &PartId, id: &CharacteristicId) -> Option<Self> {
        let adopted = shop.parts.get(part)?;
        let plan = &adopted.plan;
        let c = plan.characteristic(id)?;
        let mean = Mean::of(adopted, c);
        let (mut points, mut otherwise) = (Vec::new(), 0);
        // Scrapped pieces stay: the same hands and blocks made them.
        for (piece, state) in &shop.pieces {
            let Some(standing) = standing(piece, part, state, id) else {
                continue;
            };
            let Some(moved) = moved(shop, adopted, piece, c, standing) else {
                otherwise += 1;
                continue;
            };
            let charted = |value: Quantity| value.with_raw(value.raw() - moved);
            let Some(value) = charted(standing.value) else {
                otherwise += 1;
                continue;
            };
            let group = mean.as_ref().and_then(|mean| {
                let readings = mean.readings(state, standing)?;
                readings.into_iter().map(charted).collect()
            });
            points.push(Point {
                piece: piece.clone(),
                seq: standing.seq,
                value: standing.value,
                charted: value,
                verdict: standing.verdict,
                group: group.unwrap_or_default(),
            });
        }
        points.sort_by_key(|point| point.seq);
        Some(Self {
            part: part.clone(),
            title: plan.title.clone(),
            characteristic: c.clone(),
            pairs: plan.mirrored.is_some(),
            seq: shop.seq,
            units: units(shop),
            points,
            planned: plan.pieces().count(),
            group: mean.map_or(1, |mean| mean.size),
            otherwise,
        })
    }

    /// Whether a mating piece has moved any nominal.
    pub(crate) fn is_moved(&self) -> bool {
        self.points.iter().any(|point| point.charted != point.value)
    }
}

/// The units the build shows.
pub(crate) fn units(shop: &Shop) -> DisplayUnits {
    shop.setup
        .as_ref()
        .map_or(DisplayUnits::Mm, |setup| setup.units)
}

/// What stands of a characteristic of a piece of that part.
pub(crate) fn standing<'a>(
    piece: &PieceId,
    part: &PartId,
    state: &'a Piece,
    id: &CharacteristicId,
) -> Option<&'a Attempt> {
    (piece.part() == part).then(|| state.standing(id)).flatten()
}

/// By how much the mating piece had moved the nominal when a value was judged. `None` where the plan wanted another
/// nominal then, or what it wanted is no longer known: such a value belongs to another series.
fn moved(
    shop: &Shop,
    adopted: &Adopted,
    piece: &PieceId,
    c: &Characteristic,
    standing: &Attempt,
) -> Option<i64> {
    let planned = if standing.revision == adopted.seq {
        c.nominal
    } else {
        let former = adopted.former.iter().find(|f| f.seq == standing.revision)?;
        former.wanted.get(&c.id)?.0
    };
    let (wanted, _) = shop.wanted_then(piece, c, standing)?;
    (planned == c.nominal && standing.value.same_kind(planned))
        .then(|| wanted.raw() - planned.raw())
}

/// The mean that makes several readings of one piece a subgroup.
struct Mean<'a> {
    /// Of which characteristic.
    of: &'a CharacteristicId,
    size: usize,
    /// Its own id, where the series is of its readings.
    own: Option<&'a CharacteristicId>,
}

impl<'a> Mean<'a> {
    fn of(adopted: &'a Adopted, c: &'a Characteristic) -> Option<Self> {
        if let Some(Derived::Mean { of, readings }) = &c.derived {
            return Some(Self {
                of,
                size: usize::from(*readings),
                own: None,
            });
        }
        let all = &adopted.plan.characteristics;
        all.iter().find_map(|mean| match &mean.derived {
            Some(Derived::Mean { of, readings }) if *of == c.id => Some(Self {
                of,
                size: usize::from(*readings),
                own: Some(&mean.id),
            }),
            _ => None,
        })
    }

    /// The readings of the mean that stands, all of them or none.
    fn readings(&self, state: &Piece, standing: &Attempt) -> Option<Vec<Quantity>> {
        let mean = match self.own {
            Some(own) => state.standing(own)?,
            None => standing,
        };
        let readings: Vec<Quantity> = state
            .counting(self.of)
            .filter(|reading| reading.from.is_empty() && mean.from.contains(&reading.seq))
            .map(|reading| reading.value)
            .collect();
        (readings.len() == self.size).then_some(readings)
    }
}
