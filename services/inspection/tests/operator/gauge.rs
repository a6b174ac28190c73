//! A gauge in the operator's hand: what it shows, and what has happened to it.

use shared_types::*;

use super::chance::Chance;
use super::rates;
use super::tally::Cause;

pub(crate) struct Gauge {
    pub(crate) id: GaugeId,
    kind: GaugeKind,
    /// The unit it names.
    names: Unit,
    /// It shows the other one.
    bumped: bool,
    /// What it shows too much, in picometres or milliarcseconds.
    offset: i64,
}

/// The caliper and the angle gauge of a bench.
pub(crate) fn pair(bench: &BenchId, inches: bool) -> [Gauge; 2] {
    let gauge = |name: &str, kind, names| Gauge {
        id: GaugeId::new(&format!("{bench}-{name}")).unwrap(),
        kind,
        names,
        bumped: false,
        offset: 0,
    };
    let length = if inches { Unit::Inch } else { Unit::Millimetre };
    [
        gauge("caliper", GaugeKind::Caliper, length),
        gauge("angle", GaugeKind::AngleGauge, Unit::Degree),
    ]
}

impl Gauge {
    pub(crate) fn setup(&self, bench: &BenchId) -> GaugeSetup {
        GaugeSetup {
            id: self.id.clone(),
            title: self.id.to_string(),
            bench: bench.clone(),
            kind: Some(self.kind),
            serial_number: String::new(),
            trust: Trust::default(),
        }
    }

    /// What may happen to it before a reading; and what is wrong with it now.
    pub(crate) fn wear(&mut self, chance: &mut Chance) -> Option<Cause> {
        if self.kind == GaugeKind::Caliper && chance.one_in(rates::UNIT_BUMPED) {
            self.bumped = true;
        }
        if self.offset == 0 && chance.one_in(rates::BAD_ZERO) {
            // 0.1 to 3 mm, or 0.5° to 5°.
            let (least, most) = match self.kind {
                GaugeKind::Caliper => (100_000_000, 3_000_000_000),
                GaugeKind::AngleGauge => (1_800_000, 18_000_000),
            };
            self.offset = chance.between(least, most) * [1, -1][usize::from(chance.one_in(2))];
        }
        match (self.bumped, self.offset) {
            (true, _) => Some(Cause::UnitBumped),
            (false, 0) => None,
            (false, _) => Some(Cause::BadZero),
        }
    }

    pub(crate) fn at_nought(&self) -> bool {
        self.offset == 0
    }

    pub(crate) fn put_right(&mut self) {
        (self.bumped, self.offset) = (false, 0);
    }

    /// The unit its digits are in.
    pub(crate) fn true_unit(&self) -> Unit {
        match (self.names, self.bumped) {
            (Unit::Millimetre, true) => Unit::Inch,
            (Unit::Inch, true) => Unit::Millimetre,
            (names, _) => names,
        }
    }

    /// Steps of its last digits: 0.01 mm, 0.0005 in, 0.05°.
    fn step(&self) -> i64 {
        match self.true_unit() {
            Unit::Inch => 12_700_000,
            Unit::Degree => 180_000,
            _ => 10_000_000,
        }
    }

    /// Degrees in steps.
    pub(crate) fn degrees(&self, degrees: i64) -> i64 {
        degrees * 3_600_000 / self.step()
    }

    /// What it shows of a value, in steps: with a hand's scatter of 0.01 mm or 0.1°.
    pub(crate) fn shows(&self, chance: &mut Chance, value: Quantity) -> i64 {
        let scatter = match self.kind {
            GaugeKind::Caliper => 10_000_000,
            GaugeKind::AngleGauge => 360_000,
        };
        let raw = value.raw() + self.offset + chance.bell(scatter);
        (raw + self.step() / 2).div_euclid(self.step())
    }

    /// The reading it sends of so many steps.
    pub(crate) fn reading(&self, shown: i64) -> Reading {
        let (places, each) = match self.true_unit() {
            Unit::Inch => (4, 5),
            Unit::Degree => (2, 5),
            _ => (2, 1),
        };
        let sign = if shown < 0 { "-" } else { "" };
        let (whole, all) = (10_i64.pow(places), shown.abs() * each);
        let digits = format!(
            "{sign}{}.{:0places$}",
            all / whole,
            all % whole,
            places = usize::try_from(places).unwrap()
        );
        Reading::new(&digits, self.names).unwrap()
    }
}
