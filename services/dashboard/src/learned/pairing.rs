//! Which piece into which mating piece: predicted clearances from what is measured on both, and the assignment that
//! makes the worst of them best.
//!
//! A dimension that follows an opening was computed to leave the clearance wanted on both sides of it. So what is left
//! of an opening as measured is twice that clearance, more by what the opening is larger than planned, and less by
//! what the piece is larger than its own nominal.

use shared_types::{
    Characteristic, CharacteristicId, DisplayUnits, Fit, Follows, Hand, Length, PartId, PartPlan,
    PieceId, Quantity, Seq, Shop, Stage,
};
use trends::{PAIRING_MAX, Pairing, Table, TrendsError, clearances, pair};

use super::series::units;

/// Pieces of a part that are looked at, measured or not: as many again as can be paired.
pub(crate) const PIECES_MAX: usize = 2 * PAIRING_MAX;

/// What the shop knows of a part and what it goes into.
pub(crate) struct Pairs {
    pub(crate) seq: Seq,
    pub(crate) units: DisplayUnits,
    pub(crate) part: PartId,
    pub(crate) title: String,
    pub(crate) fit: Fit,
    /// The plain names of what is compared; empty where nothing follows the mating piece as measured.
    pub(crate) stations: Vec<String>,
    /// One, or one for each hand where both parts are made in pairs.
    pub(crate) groups: Vec<Group>,
    /// Whether a part has more pieces than are looked at.
    pub(crate) cut: bool,
}

/// Pieces and mating pieces that may go together.
pub(crate) struct Group {
    pub(crate) hand: Option<Hand>,
    pub(crate) pieces: Vec<Candidate>,
    pub(crate) mates: Vec<Candidate>,
    /// By places among those complete; why not where there is none.
    pub(crate) solved: Result<Solved, TrendsError>,
}

/// A piece or a mating piece.
pub(crate) struct Candidate {
    pub(crate) piece: PieceId,
    /// What it adds to the room left and what it takes, at each station, once all are measured.
    pub(crate) off: Option<Vec<Length>>,
    /// The names of what is not measured yet.
    pub(crate) lacking: Vec<String>,
    /// The mating piece that is named for it.
    pub(crate) named: Option<PieceId>,
}

/// Clearances of both sides together, and who goes where.
pub(crate) struct Solved {
    pub(crate) table: Table,
    pub(crate) pairing: Pairing,
}

impl Pairs {
    /// `None` where there is no such part, or it goes into nothing.
    pub(crate) fn gather(shop: &Shop, part: &PartId) -> Option<Self> {
        let plan = shop.parts.get(part)?.plan.as_ref();
        let fit = plan.fit.clone()?;
        let mating = shop.parts.get(&fit.into).map(|a| a.plan.as_ref());
        let stations = stations(plan);
        let by_hand = plan.mirrored.is_some() && mating.is_some_and(|m| m.mirrored.is_some());
        let hands: &[Option<Hand>] = if by_hand {
            &[Some(Hand::Left), Some(Hand::Right)]
        } else {
            &[None]
        };
        let some = |plan: &PartPlan, hand: Option<Hand>| -> Vec<PieceId> {
            let pieces = plan.pieces().take(PIECES_MAX);
            pieces
                .filter(|piece| hand.is_none() || piece.hand() == hand)
                // A scrapped piece goes into nothing, and nothing into it.
                .filter(|piece| shop.scrapped(piece).is_none())
                .collect()
        };
        let groups = hands.iter().map(|hand| {
            let pieces: Vec<Candidate> = some(plan, *hand)
                .into_iter()
                .map(|piece| own(shop, plan, &stations, piece))
                .collect();
            let mates: Vec<Candidate> = mating
                .map(|mating| some(mating, *hand))
                .unwrap_or_default()
                .into_iter()
                .filter_map(|mate| opening(shop, mating?, &stations, &fit, mate))
                .collect();
            Group {
                hand: *hand,
                solved: Err(TOO_FEW),
                pieces,
                mates,
            }
        });
        let groups = groups.collect();
        let all = [Some(plan), mating].into_iter().flatten();
        let cut = all
            .map(|plan| plan.pieces().take(PIECES_MAX + 1).count())
            .any(|n| n > PIECES_MAX);
        Some(Self {
            seq: shop.seq,
            units: units(shop),
            part: part.clone(),
            title: plan.title.clone(),
            stations: stations.iter().map(|s| s.last.name.clone()).collect(),
            fit,
            groups,
            cut,
        })
    }

    /// Apart from the gathering, since it is work and the shop need not be held for it.
    pub(crate) fn solve(mut self) -> Self {
        for group in &mut self.groups {
            group.solved = group.solve();
        }
        self
    }
}

const TOO_FEW: TrendsError = TrendsError::TooFew {
    what: "a pairing",
    found: 0,
    least: 1,
};

impl Group {
    fn solve(&self) -> Result<Solved, TrendsError> {
        let off = |all: &[Candidate]| -> Vec<Vec<Length>> {
            all.iter().filter_map(|one| one.off.clone()).collect()
        };
        let (pieces, mates) = (off(&self.pieces), off(&self.mates));
        let most = pieces.len().max(mates.len());
        if most > PAIRING_MAX {
            return Err(TrendsError::TooMany {
                what: "a pairing",
                found: most,
                most: PAIRING_MAX,
            });
        }
        if mates.is_empty() {
            return Err(TOO_FEW);
        }
        let table = clearances(&pieces, &mates)?;
        let pairing = pair(&table);
        Ok(Solved { table, pairing })
    }

    /// Those that are measured, in the order of the table's rows.
    pub(crate) fn complete(of: &[Candidate]) -> Vec<&Candidate> {
        of.iter().filter(|one| one.off.is_some()).collect()
    }

    /// The place of the station where a piece has least room in a mating piece.
    pub(crate) fn tightest(piece: &Candidate, mate: &Candidate) -> Option<usize> {
        let (sizes, openings) = (piece.off.as_ref()?, mate.off.as_ref()?);
        let room = sizes
            .iter()
            .zip(openings)
            .map(|(size, opening)| opening.pm() - size.pm());
        room.enumerate()
            .min_by_key(|(_, room)| *room)
            .map(|(at, _)| at)
    }
}

/// On each side, were the piece to sit in the middle: half of what both have, rounded down.
pub(crate) fn each_side(both: Length) -> Length {
    Length::from_pm(both.pm().div_euclid(2)).unwrap_or(both)
}

/// A dimension of the piece that must leave room in an opening.
struct Station<'a> {
    /// At the last stage it is measured at.
    last: &'a Characteristic,
    /// The same before the flanges were trimmed; counts until it is measured again.
    before: Option<&'a Characteristic>,
    opening: &'a CharacteristicId,
}

/// What must leave room once the piece is formed; of a part that is not formed, its blank.
fn stations(plan: &PartPlan) -> Vec<Station<'_>> {
    let at = |stage: Stage| {
        plan.at(stage)
            .filter_map(|c| Some((c, c.follows.as_ref()?)))
            .collect::<Vec<(&Characteristic, &Follows)>>()
    };
    let (formed, trimmed) = (at(Stage::Formed), at(Stage::Trimmed));
    let found = if formed.is_empty() && trimmed.is_empty() {
        return at(Stage::Blank).into_iter().map(Station::alone).collect();
    } else {
        formed.iter().chain(&trimmed)
    };
    let mut stations: Vec<Station<'_>> = Vec::new();
    for (c, follows) in found {
        match stations.iter_mut().find(|s| place(s.last) == place(c)) {
            Some(station) => {
                station.before = Some(station.last);
                station.last = c;
            }
            None => stations.push(Station::alone((c, follows))),
        }
    }
    stations
}

/// An id without its stage: the same place on the piece at another stage.
fn place(c: &Characteristic) -> &str {
    let id = c.id.as_str();
    id.split_once('.').map_or(id, |(_, place)| place)
}

impl<'a> Station<'a> {
    fn alone((c, follows): (&'a Characteristic, &'a Follows)) -> Self {
        Self {
            last: c,
            before: None,
            opening: &follows.characteristic,
        }
    }
}

/// By how much a piece is larger than its nominals.
fn own(shop: &Shop, plan: &PartPlan, stations: &[Station<'_>], piece: PieceId) -> Candidate {
    let state = shop.pieces.get(&piece);
    let standing = |c: &Characteristic| {
        let value = state?.standing(&c.id)?.value;
        length(value.minus(c.nominal)?)
    };
    let measured = stations.iter().map(|station| {
        let found = standing(station.last).or_else(|| standing(station.before?));
        found.ok_or_else(|| name(plan, &station.last.id, &piece))
    });
    let (off, lacking) = sorted(measured);
    Candidate {
        named: shop.mate(&piece).cloned(),
        off,
        lacking,
        piece,
    }
}

/// What an opening leaves beside a piece of nominal size. `None` where the clearance wanted is out of all range.
fn opening(
    shop: &Shop,
    mating: &PartPlan,
    stations: &[Station<'_>],
    fit: &Fit,
    mate: PieceId,
) -> Option<Candidate> {
    let state = shop.pieces.get(&mate);
    let both_pm = fit.clearance.pm().checked_mul(2)?;
    let measured = stations.iter().map(|station| {
        let found = state.and_then(|state| {
            let value = state.standing(station.opening)?.value;
            let more = length(value.minus(station.last.follows.as_ref()?.planned)?)?;
            Length::from_pm(more.pm().checked_add(both_pm)?)
        });
        found.ok_or_else(|| name(mating, station.opening, &mate))
    });
    let (off, lacking) = sorted(measured);
    Some(Candidate {
        named: None,
        off,
        lacking,
        piece: mate,
    })
}

/// All, or the names of those that are lacking, each once.
fn sorted(
    measured: impl Iterator<Item = Result<Length, String>>,
) -> (Option<Vec<Length>>, Vec<String>) {
    let (mut off, mut lacking) = (Vec::new(), Vec::new());
    for one in measured {
        match one {
            Ok(length) => off.push(length),
            Err(name) if lacking.contains(&name) => {}
            Err(name) => lacking.push(name),
        }
    }
    let whole = lacking.is_empty() && !off.is_empty();
    (whole.then_some(off), lacking)
}

fn name(plan: &PartPlan, id: &CharacteristicId, piece: &PieceId) -> String {
    let words = plan.words(id, piece.hand());
    words.map_or_else(|| id.to_string(), |words| words.name.to_owned())
}

fn length(quantity: Quantity) -> Option<Length> {
    match quantity {
        Quantity::Length(length) => Some(length),
        Quantity::Angle(_) => None,
    }
}
