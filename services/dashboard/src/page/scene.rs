//! What one bench's sections are drawn from, looked up once.

use jiff::tz::TimeZone;
use shared_types::{
    Bench, BenchId, Characteristic, CharacteristicId, DisplayUnits, Due, GaugeSetup, PartPlan,
    Piece, PieceId, Quantity, Seq, Setup, Shop, Stage, show,
};

use crate::Asking;
use crate::state::App;

pub(super) struct Scene<'a> {
    pub(super) shop: &'a Shop,
    pub(super) setup: &'a Setup,
    pub(super) id: &'a BenchId,
    pub(super) bench: &'a Bench,
    pub(super) zone: &'a TimeZone,
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
    pub(super) plan: &'a PartPlan,
    /// The entry of the plan in force.
    pub(super) revision: Seq,
    pub(super) measured: Option<&'a Piece>,
}

impl<'a> Scene<'a> {
    pub(super) fn new(shop: &'a Shop, id: &'a BenchId, app: &'a App) -> Option<Self> {
        let setup = shop.setup.as_deref()?;
        let bench = shop.benches.get(id)?;
        let work = bench.on_bench.as_ref().and_then(|(piece, stage)| {
            let adopted = shop.parts.get(piece.part())?;
            Some(Work {
                piece,
                stage: *stage,
                plan: &adopted.plan,
                revision: adopted.seq,
                measured: shop.pieces.get(piece),
            })
        });
        Some(Self {
            shop,
            setup,
            id,
            bench,
            zone: &app.zone,
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
}

/// `7 · height of the left flange`.
pub(super) fn numbered(c: &Characteristic) -> String {
    format!("{} · {}", c.number, c.name)
}
