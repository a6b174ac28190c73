//! What one bench's sections are drawn from, looked up once.

use std::borrow::Cow;

use jiff::tz::TimeZone;
use shared_types::{
    Adopted, Attempt, Bench, BenchId, Characteristic, CharacteristicId, Day, Derived, DisplayUnits,
    Due, GaugeSetup, PartPlan, Piece, PieceId, Quantity, Setup, Shop, Stage, Verdict, show,
};

use crate::Asking;
use crate::clock::today;
use crate::state::App;

pub(super) struct Scene<'a> {
    pub(super) shop: &'a Shop,
    pub(super) setup: &'a Setup,
    pub(super) id: &'a BenchId,
    pub(super) bench: &'a Bench,
    pub(super) zone: &'a TimeZone,
    /// When it is drawn.
    pub(super) now_us: i64,
    pub(super) today: Day,
    pub(super) links: Option<String>,
    pub(super) trouble: Option<String>,
    pub(super) asking: &'a Asking,
    /// What lies there, with its plan.
    pub(super) work: Option<Work<'a>>,
}

#[derive(Clone, Copy)]
pub(super) struct Work<'a> {
    pub(super) piece: &'a PieceId,
    pub(super) stage: Stage,
    /// As it is for this piece: in the words of its hand, with nominals as its mating piece moves them.
    pub(super) plan: &'a PartPlan,
    /// The entry of the plan in force.
    pub(super) adopted: &'a Adopted,
    pub(super) measured: Option<&'a Piece>,
}

/// The plan for what lies on a bench.
pub(super) fn plan_of_work<'a>(shop: &'a Shop, id: &BenchId) -> Option<Cow<'a, PartPlan>> {
    let (piece, _) = shop.benches.get(id)?.on_bench.as_ref()?;
    shop.plan_for(piece)
}

impl<'a> Scene<'a> {
    /// `plan` is the one for the piece that lies there, see [`plan_of_work`].
    pub(super) fn new(
        shop: &'a Shop,
        id: &'a BenchId,
        app: &'a App,
        now_us: i64,
        plan: Option<&'a PartPlan>,
    ) -> Option<Self> {
        let setup = shop.setup.as_deref()?;
        let bench = shop.benches.get(id)?;
        let work = bench.on_bench.as_ref().and_then(|(piece, stage)| {
            let adopted = shop.parts.get(piece.part())?;
            Some(Work {
                piece,
                stage: *stage,
                plan: plan?,
                adopted,
                measured: shop.pieces.get(piece),
            })
        });
        Some(Self {
            shop,
            setup,
            id,
            bench,
            zone: &app.zone,
            now_us,
            today: today(now_us, &app.zone),
            links: app.links(),
            trouble: app.trouble(),
            asking: &app.asking,
            work,
        })
    }

    /// What is due, and why.
    pub(super) fn due(&self) -> Option<(&'a Characteristic, Due)> {
        let (id, why) = self.bench.due.as_ref()?;
        Some((self.work?.plan.characteristic(id)?, *why))
    }

    pub(super) fn characteristic(&self, id: &CharacteristicId) -> Option<&'a Characteristic> {
        self.work?.plan.characteristic(id)
    }

    /// In the build's units.
    pub(super) fn shown(&self, quantity: Quantity) -> String {
        show(quantity, self.setup.units).to_string()
    }

    /// In the other units; nothing for an angle, which has none.
    pub(super) fn other(&self, quantity: Quantity) -> Option<String> {
        match quantity {
            Quantity::Length(_) => Some(show(quantity, self.setup.units.other()).to_string()),
            Quantity::Angle(_) => None,
        }
    }

    /// The gauge's title, or its name where it is in no configuration.
    pub(super) fn gauge_title(&self, id: &'a shared_types::GaugeId) -> &'a str {
        self.setup
            .gauges
            .iter()
            .find(|gauge| &gauge.id == id)
            .map_or(id.as_str(), |gauge| gauge.title.as_str())
    }

    /// The gauges of this bench.
    pub(super) fn gauges(&self) -> impl Iterator<Item = &'a GaugeSetup> {
        let id = self.id;
        self.setup
            .gauges
            .iter()
            .filter(move |gauge| &gauge.bench == id)
    }

    /// The first by which readings are typed here.
    pub(super) fn typed(&self) -> Option<&'a GaugeSetup> {
        self.gauges().find(|gauge| gauge.kind.is_none())
    }

    pub(super) fn units(&self) -> DisplayUnits {
        self.setup.units
    }
}

impl<'a> Work<'a> {
    /// The stage's characteristics in route order.
    pub(super) fn route(self) -> impl Iterator<Item = &'a Characteristic> {
        self.plan.at(self.stage)
    }

    /// What of the stage a person measures, in route order.
    pub(super) fn measured_here(self) -> impl Iterator<Item = &'a Characteristic> {
        self.route().filter(|c| c.derived.is_none())
    }

    /// What stands for a characteristic.
    pub(super) fn standing(self, id: &CharacteristicId) -> Option<&'a Attempt> {
        self.measured?.standing(id)
    }

    /// The verdict that stands.
    pub(super) fn verdict(self, id: &CharacteristicId) -> Option<Verdict> {
        self.standing(id).map(|standing| standing.verdict)
    }
}

/// What a computed characteristic is computed from: `1 and 2`, `the last 3 of 1`.
pub(super) fn computed_from(plan: &PartPlan, derived: &Derived) -> String {
    let number = |id: &CharacteristicId| {
        let c = plan.characteristic(id);
        c.map_or_else(|| id.to_string(), |c| c.number.to_string())
    };
    match derived {
        Derived::Difference {
            of: [first, second],
            absolute: true,
        } => format!("{} and {}", number(first), number(second)),
        Derived::Difference {
            of: [first, second],
            absolute: false,
        } => format!("{} less {}", number(first), number(second)),
        Derived::Mean { of, readings } => format!("the last {readings} of {}", number(of)),
    }
}

/// `7 · height of the left flange`.
pub(super) fn numbered(c: &Characteristic) -> String {
    format!("{} · {}", c.number, c.name)
}
