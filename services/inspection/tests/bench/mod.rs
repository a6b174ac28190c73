//! A bench to try inspection on: an invented bulkhead of the Saltmarsh floats, one caliper, one angle
//! gauge and a keypad. Events go through `inspect` and the fold, as in the daemon.

#![allow(
    dead_code,
    clippy::unwrap_used,
    reason = "a bench for tests: what cannot be made here is the test's own mistake"
)]
use std::sync::Arc;

use inspection::{Doubt, inspect};
use shared_types::*;

pub(crate) fn id(text: &str) -> CharacteristicId {
    CharacteristicId::new(text).unwrap()
}

pub(crate) fn bench() -> BenchId {
    BenchId::new("bench-1").unwrap()
}

/// A characteristic with nominal and limits, its id after stage and name.
pub(crate) fn characteristic(
    number: u16,
    name: &str,
    stage: Stage,
    text: [&str; 3],
) -> Characteristic {
    let [nominal, lower, upper] = text.map(|t| Quantity::parse(t).unwrap());
    Characteristic {
        id: id(&format!("{stage}.{name}")),
        number,
        name: name.to_owned(),
        stage,
        gauge: match nominal {
            Quantity::Length(_) => GaugeKind::Caliper,
            Quantity::Angle(_) => GaugeKind::AngleGauge,
        },
        nominal,
        limits: Limits::new(Some(lower), Some(upper)).unwrap(),
        tolerance: Tolerance::Stated,
        rule: "as the plan".into(),
        how: "outside jaws".into(),
        if_small: "Work it up further.".into(),
        if_large: "Trim it.".into(),
        derived: None,
        follows: None,
        decision: None,
    }
}

/// An invented part, four pieces of it.
pub(crate) fn plan(part: &str, characteristics: Vec<Characteristic>) -> PartPlan {
    PartPlan {
        part: PartId::new(part).unwrap(),
        title: "Float bulkhead, bay 2".into(),
        quantity: 4,
        sheet: Sheet {
            alloy: "5052-H32".into(),
            thickness: Length::parse("0.032 in").unwrap(),
            expansion: None,
        },
        digest: String::new(),
        characteristics,
        views: vec![],
        warnings: vec![],
        mirrored: None,
        fit: None,
        bends: vec![],
    }
}

/// What the caliper is checked against. Blocks and rings are invented, as all of this shop is.
pub(crate) fn checkable() -> Trust {
    let reference = |name: &str, size, faces| Reference {
        name: name.into(),
        value: Quantity::parse(size).unwrap(),
        faces,
    };
    Trust {
        resolution: Some(Quantity::parse("0.01 mm").unwrap()),
        limit_of_error: Some(LimitOfError::Din862),
        references: vec![
            reference("block 25", "25 mm", Faces::Outside),
            reference("ring 50", "50 mm", Faces::Inside),
        ],
        ..Trust::default()
    }
}

pub(crate) struct Play {
    pub(crate) shop: Shop,
    pub(crate) entries: Vec<Entry>,
    /// Time that has gone by beside the microsecond each entry takes.
    pub(crate) later_us: i64,
}

impl Play {
    pub(crate) fn new() -> Self {
        let mut play = Self {
            shop: Shop::default(),
            entries: Vec::new(),
            later_us: 0,
        };
        let gauge = |name: &str, kind| GaugeSetup {
            id: GaugeId::new(name).unwrap(),
            title: name.into(),
            bench: bench(),
            kind,
            serial_number: String::new(),
            trust: if name == "caliper" {
                checkable()
            } else {
                Trust::default()
            },
        };
        let setup = Setup {
            // These tests lay whatever they look at; `first_article` has tests of its own.
            first_article: FirstArticle {
                required: false,
                ..FirstArticle::default()
            },
            build: "Saltmarsh floats (invented)".into(),
            units: DisplayUnits::Mm,
            benches: vec![
                (bench(), "by the window".into()),
                (BenchId::new("bench-2").unwrap(), "by the door".into()),
            ],
            gauges: vec![
                gauge("caliper", Some(GaugeKind::Caliper)),
                gauge("angle", Some(GaugeKind::AngleGauge)),
                gauge("keypad", None),
            ],
            climate: shared_types::Climate::default(),
            decision: shared_types::Rule::Plain,
        };
        play.act(Event::Opened {
            version: "0".into(),
            setup,
        })
        .unwrap();
        let formed = Stage::Formed;
        let characteristics = vec![
            characteristic(1, "left", formed, ["12.7 mm", "12.2 mm", "13.2 mm"]),
            characteristic(2, "right", formed, ["12.7 mm", "12.2 mm", "13.2 mm"]),
            characteristic(3, "angle", formed, ["90 deg", "89 deg", "91 deg"]),
            characteristic(4, "across", formed, ["286 mm", "285.5 mm", "286.5 mm"]),
            characteristic(5, "hole", formed, ["18 mm", "17.8 mm", "18.2 mm"]),
            characteristic(1, "left", Stage::Trimmed, ["9.5 mm", "9.3 mm", "9.7 mm"]),
        ];
        let plan = plan("B2", characteristics);
        play.act(Event::Adopted(Arc::new(plan))).unwrap();
        for bench in [bench(), BenchId::new("bench-2").unwrap()] {
            let name = "MK".into();
            play.act(Event::Operator { bench, name }).unwrap();
        }
        play
    }

    pub(crate) fn laid() -> Self {
        let mut play = Self::new();
        play.lay("B2/1", Stage::Formed).unwrap();
        play
    }

    pub(crate) fn act(&mut self, event: Event) -> Result<Finding, Refusal> {
        self.act_doubting(event, Doubt::None)
    }

    pub(crate) fn act_doubting(&mut self, event: Event, doubt: Doubt) -> Result<Finding, Refusal> {
        let seq = Seq(self.shop.seq.0 + 1);
        let at_us = i64::try_from(seq.0).unwrap() + self.later_us;
        let finding = inspect(&self.shop, at_us, &event, doubt)?;
        let fact = Fact {
            at_us,
            event,
            finding: finding.clone(),
        };
        let entry = Entry { seq, fact };
        self.shop.apply(&entry);
        self.entries.push(entry);
        Ok(finding)
    }

    pub(crate) fn lay(&mut self, piece: &str, stage: Stage) -> Result<Finding, Refusal> {
        self.act(Event::Laid {
            bench: bench(),
            piece: piece.parse().unwrap(),
            stage,
            reason: None,
        })
    }

    pub(crate) fn adopt(&mut self, plan: PartPlan) {
        self.act(Event::Adopted(Arc::new(plan))).unwrap();
    }

    pub(crate) fn mate(&mut self, piece: &str, mate: &str) -> Result<Finding, Refusal> {
        self.act(Event::Mated {
            bench: bench(),
            piece: piece.parse().unwrap(),
            mate: mate.parse().unwrap(),
        })
    }

    /// What stands for a characteristic, as `12.7 mm pass`.
    pub(crate) fn standing(&self, piece: &str, of: &str) -> String {
        let piece = self.shop.pieces.get(&piece.parse().unwrap());
        match piece.and_then(|piece| piece.standing(&id(of))) {
            Some(stands) => format!("{} {}", stands.value, stands.verdict),
            None => "nothing".into(),
        }
    }

    pub(crate) fn pick(&mut self, characteristic: &str) -> Result<Finding, Refusal> {
        self.act(Event::Picked {
            bench: bench(),
            characteristic: id(characteristic),
        })
    }

    pub(crate) fn assign(
        &mut self,
        reading: Seq,
        to: &str,
        unit: Option<Unit>,
    ) -> Result<Finding, Refusal> {
        self.act(Event::Assigned {
            bench: bench(),
            reading,
            characteristic: id(to),
            unit,
            form: None,
        })
    }

    /// As [`Play::assign`], with the value understood by a form.
    pub(crate) fn assign_as(
        &mut self,
        reading: Seq,
        to: &str,
        form: Form,
    ) -> Result<Finding, Refusal> {
        self.act(Event::Assigned {
            bench: bench(),
            reading,
            characteristic: id(to),
            unit: None,
            form: Some(form),
        })
    }

    pub(crate) fn void(&mut self, reading: Seq, reason: &str) -> Result<Finding, Refusal> {
        self.act(Event::Voided {
            bench: bench(),
            reading,
            reason: reason.into(),
        })
    }

    pub(crate) fn event(gauge: &str, digits: &str, unit: Unit, via: Via) -> Event {
        Event::Observed(Observation {
            gauge: GaugeId::new(gauge).unwrap(),
            via,
            raw: digits.as_bytes().to_vec(),
            decoded: Decoded::Reading(Reading::new(digits, unit).unwrap()),
        })
    }

    /// Measures and says in one line what came of it: `left pass`, `held: it could be either: left, right`.
    pub(crate) fn measure(&mut self, gauge: &str, digits: &str, unit: Unit) -> String {
        let finding = self
            .act(Self::event(gauge, digits, unit, Via::Serial))
            .unwrap();
        Self::said(&finding)
    }

    pub(crate) fn said(finding: &Finding) -> String {
        match finding {
            Finding::Noted => "noted".into(),
            Finding::Fitted { nominals } => format!("fitted {}", nominals.len()),
            Finding::Judged {
                characteristic,
                verdict,
                ..
            } => format!("{characteristic} {verdict}"),
            Finding::Checked {
                reference,
                verdict,
                limit,
                ..
            } => format!("checked at {reference} within {limit}: {verdict}"),
            Finding::Studied { study, cell } => format!(
                "studied {study}: {} {} {}",
                cell.appraiser, cell.piece, cell.trial
            ),
            Finding::Held {
                reason, candidates, ..
            } => {
                let named: Vec<_> = candidates
                    .iter()
                    .map(|c| {
                        let form = c.form.map(|form| format!(" {}", form.name()));
                        let unit = c.unit.sign();
                        format!("{} in {unit}{}", c.characteristic, form.unwrap_or_default())
                    })
                    .collect();
                format!("held {reason:?}: {}", named.join(", "))
            }
        }
    }

    pub(crate) fn due(&self) -> String {
        match &self.shop.benches[&bench()].due {
            Some((due, why)) => format!("{due} {why:?}"),
            None => "nothing".into(),
        }
    }
}
