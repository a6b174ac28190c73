//! The pieces as they really are.

use std::collections::BTreeMap;
use std::sync::Arc;

use shared_types::*;

use super::Truth;
use super::chance::Chance;
use super::rates;
use super::tally::Cause;

pub(crate) struct World {
    plans: Vec<Arc<PartPlan>>,
    really: BTreeMap<(PieceId, CharacteristicId), i64>,
    /// By how much every length of a part is off.
    off: BTreeMap<PartId, i64>,
}

impl World {
    pub(crate) fn new(plans: Vec<Arc<PartPlan>>, chance: &mut Chance) -> Self {
        let mut off = BTreeMap::new();
        for plan in &plans {
            if chance.one_in(rates::BATCH_OFF) {
                let by = chance.between(100_000_000, 600_000_000);
                off.insert(
                    plan.part.clone(),
                    by * [1, -1][usize::from(chance.one_in(2))],
                );
            }
        }
        Self {
            plans,
            off,
            really: BTreeMap::new(),
        }
    }

    fn plan(&self, piece: &PieceId) -> Arc<PartPlan> {
        let plan = self.plans.iter().find(|plan| &plan.part == piece.part());
        Arc::clone(plan.unwrap())
    }

    /// Every piece through every stage it is measured at alone, the last first, in an order of the day.
    pub(crate) fn pieces(&self, chance: &mut Chance) -> Vec<(PieceId, Stage)> {
        let mut round: Vec<Vec<(PieceId, Stage)>> = Vec::new();
        for plan in &self.plans {
            for piece in plan.pieces() {
                let stages = plan.stages().filter(|stage| *stage != Stage::FitUp);
                let mut stages: Vec<_> = stages.map(|stage| (piece.clone(), stage)).collect();
                stages.reverse();
                let at =
                    usize::try_from(chance.below(u64::try_from(round.len() + 1).unwrap())).unwrap();
                round.insert(at, stages);
            }
        }
        round.into_iter().flatten().collect()
    }

    /// What is measured directly at a stage, but for one.
    pub(crate) fn measured_at(
        &self,
        piece: &PieceId,
        stage: Stage,
        but: &CharacteristicId,
    ) -> Vec<CharacteristicId> {
        let plan = self.plan(piece);
        let at = plan
            .at(stage)
            .filter(|c| c.derived.is_none() && &c.id != but);
        at.map(|c| c.id.clone()).collect()
    }

    /// Another piece, of the same part as often as not.
    pub(crate) fn another(&self, chance: &mut Chance, than: &PieceId) -> Option<PieceId> {
        let same = chance.one_in(2);
        let others: Vec<PieceId> = self
            .plans
            .iter()
            .flat_map(|plan| plan.pieces())
            .filter(|piece| piece != than && (!same || piece.part() == than.part()))
            .collect();
        chance.one_of(&others).cloned()
    }

    /// The dimension of that name, else another of that stage, else any.
    pub(crate) fn like(
        &self,
        chance: &mut Chance,
        piece: &PieceId,
        stage: Stage,
        id: &CharacteristicId,
    ) -> CharacteristicId {
        let plan = self.plan(piece);
        if plan.characteristic(id).is_some() {
            return id.clone();
        }
        let direct = || {
            plan.characteristics
                .iter()
                .filter(|c| c.derived.is_none() && c.stage != Stage::FitUp)
        };
        let mut all: Vec<_> = direct().filter(|c| c.stage == stage).collect();
        if all.is_empty() {
            all = direct().collect();
        }
        chance.one_of(&all).unwrap().id.clone()
    }

    /// What it really is.
    pub(crate) fn value(
        &mut self,
        chance: &mut Chance,
        piece: &PieceId,
        id: &CharacteristicId,
    ) -> Quantity {
        let plan = self.plan(piece);
        let planned = plan.characteristic(id).unwrap();
        let key = (piece.clone(), id.clone());
        let off = match planned.nominal {
            Quantity::Length(_) => self.off.get(piece.part()).copied().unwrap_or(0),
            Quantity::Angle(_) => 0,
        };
        let raw = *self
            .really
            .entry(key)
            .or_insert_with(|| made(chance, planned) + off);
        planned.nominal.with_raw(raw).unwrap()
    }

    /// By how much every length of its part is off.
    pub(super) fn batch_off(&self, piece: &PieceId) -> i64 {
        self.off.get(piece.part()).copied().unwrap_or(0)
    }

    /// Whether a value is within the limits of what it is of.
    pub(super) fn passes(&self, truth: &Truth, value: Quantity) -> bool {
        let plan = self.plan(&truth.piece);
        let limits = &plan.characteristic(&truth.characteristic).unwrap().limits;
        limits.place(value) == Some(Place::Within)
    }

    /// Whether what was really measured should be what the other may be.
    pub(super) fn looks_like(&self, truth: &Truth, taken: (&PieceId, &CharacteristicId)) -> bool {
        let really = self
            .plan(&truth.piece)
            .characteristic(&truth.characteristic)
            .unwrap()
            .nominal;
        let shown = match (truth.cause, truth.form) {
            (Cause::UnitBumped, _) => None,
            (_, Some(form)) => form.of(really),
            (_, None) => Some(really),
        };
        let plan = self.plan(taken.0);
        let limits = &plan.characteristic(taken.1).unwrap().limits;
        shown.is_some_and(|shown| limits.place(shown) == Some(Place::Within))
    }

    /// Works it over.
    pub(crate) fn rework(&mut self, chance: &mut Chance, piece: &PieceId, id: &CharacteristicId) {
        let plan = self.plan(piece);
        let raw = made(chance, plan.characteristic(id).unwrap());
        self.really.insert((piece.clone(), id.clone()), raw);
    }
}

fn made(chance: &mut Chance, planned: &Characteristic) -> i64 {
    let nominal = planned.nominal.raw();
    let lower = planned.limits.lower().map_or(nominal, Quantity::raw);
    let upper = planned.limits.upper().map_or(nominal, Quantity::raw);
    let half = (upper - lower) / 2;
    let middle = lower + half;
    if chance.one_in(rates::GROSS_MISS) {
        let miss = chance.between(half, 7 * half);
        return middle + miss * [1, -1][usize::from(chance.one_in(2))];
    }
    middle + chance.bell(half * 10 / rates::DEVIATIONS_TENTHS)
}
