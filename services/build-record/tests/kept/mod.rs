//! One small invented history of the Saltmarsh floats, from which records are made.
#![allow(clippy::unwrap_used, reason = "whatever fails here fails the test")]

use std::collections::BTreeMap;
use std::sync::Arc;

use build_record::{COLUMNS, Row, Source, csv};
use shared_types::*;

pub(crate) const NOTE: &str = "oddleg/saltmarsh\n14\nAAAA\n";

pub(crate) fn id(text: &str) -> CharacteristicId {
    CharacteristicId::new(text).unwrap()
}

pub(crate) fn bench() -> BenchId {
    BenchId::new("bench-1").unwrap()
}

pub(crate) fn piece() -> PieceId {
    "B2/3".parse().unwrap()
}

pub(crate) fn q(text: &str) -> Quantity {
    Quantity::parse(text).unwrap()
}

pub(crate) fn plan() -> PartPlan {
    let characteristic =
        |number, of: &str, name: &str, nominal: &str, lower: &str, upper: &str| Characteristic {
            id: id(of),
            number,
            name: name.to_owned(),
            stage: Stage::Formed,
            gauge: GaugeKind::Caliper,
            nominal: q(nominal),
            limits: Limits::new(Some(q(lower)), Some(q(upper))).unwrap(),
            tolerance: Tolerance::Stated,
            rule: "as the plan states it".to_owned(),
            how: "outside jaws".to_owned(),
            if_small: "work it up further".to_owned(),
            if_large: "trim it".to_owned(),
            derived: None,
            follows: None,
            decision: None,
        };
    PartPlan {
        part: PartId::new("B2").unwrap(),
        title: "=Float bulkhead".to_owned(),
        quantity: 4,
        sheet: Sheet {
            alloy: "5052-H32".to_owned(),
            thickness: Length::parse("0.032 in").unwrap(),
            expansion: None,
        },
        digest: "ab".repeat(32),
        characteristics: vec![
            characteristic(
                1,
                "formed.height.left",
                "height of the left flange",
                "1/2 in",
                "15/32 in",
                "17/32 in",
            ),
            characteristic(
                2,
                "formed.angle.left",
                "angle of the left flange",
                "90 deg",
                "89 deg",
                "91 deg",
            ),
            characteristic(
                3,
                "formed.height.right",
                "height of the right flange",
                "1/2 in",
                "15/32 in",
                "17/32 in",
            ),
        ],
        views: Vec::new(),
        warnings: Vec::new(),
        mirrored: None,
        fit: None,
        bends: Vec::new(),
    }
}

pub(crate) struct History(pub(crate) Vec<Row>);

impl History {
    pub(crate) fn put(&mut self, event: Event, finding: Finding) -> Seq {
        let seq = Seq(self.0.len() as u64 + 1);
        // 2026-11-25 10:41:00 UTC and a second for each entry, invented.
        let at_us = 1_795_603_260_000_000 + i64::try_from(seq.0).unwrap() * 1_000_000;
        let fact = Fact {
            at_us,
            event,
            finding,
        };
        let body = serde_json::to_string(&fact).unwrap();
        self.0.push(Row {
            entry: Entry { seq, fact },
            body,
        });
        seq
    }

    pub(crate) fn read(&mut self, raw: &str, decoded: Decoded, finding: Finding) -> Seq {
        let gauge = GaugeId::new("caliper-1").unwrap();
        let observation = Observation {
            gauge,
            via: Via::Serial,
            raw: raw.as_bytes().to_vec(),
            decoded,
        };
        self.put(Event::Observed(observation), finding)
    }
}

pub(crate) fn reading(digits: &str, unit: Unit) -> Decoded {
    Decoded::Reading(Reading::new(digits, unit).unwrap())
}

pub(crate) fn judged(of: &str, value: &str, verdict: Verdict) -> Finding {
    Finding::Judged {
        piece: piece(),
        characteristic: id(of),
        revision: Seq(2),
        value: q(value),
        verdict,
        into: None,
        fitted: None,
        derived: Vec::new(),
        correction: None,
        grounds: None,
    }
}

pub(crate) fn history() -> Vec<Row> {
    let mut h = History(Vec::new());
    let setup = Setup {
        first_article: FirstArticle::default(),
        build: "Saltmarsh floats (invented)".to_owned(),
        units: DisplayUnits::Mm,
        benches: vec![(bench(), "Bench".to_owned())],
        gauges: vec![GaugeSetup {
            id: GaugeId::new("caliper-1").unwrap(),
            title: "@caliper".to_owned(),
            bench: bench(),
            kind: Some(GaugeKind::Caliper),
            serial_number: "SM-0117".to_owned(),
            trust: Trust::default(),
        }],
        climate: shared_types::Climate::default(),
        decision: shared_types::Rule::Plain,
    };
    h.put(
        Event::Opened {
            version: "0".to_owned(),
            setup,
        },
        Finding::Noted,
    );
    h.put(Event::Adopted(Arc::new(plan())), Finding::Noted);
    h.put(
        Event::Operator {
            bench: bench(),
            name: "=HYPERLINK(\"x\")".to_owned(),
        },
        Finding::Noted,
    );
    h.put(
        Event::Laid {
            bench: bench(),
            piece: piece(),
            stage: Stage::Formed,
            reason: None,
        },
        Finding::Noted,
    );
    // 5: too large, later voided. 6: passes and stands. 7: an angle. 8: held, later assigned in inches.
    h.read(
        "+14.02",
        reading("14.02", Unit::Millimetre),
        judged("formed.height.left", "14.02 mm", Verdict::TooLarge),
    );
    h.read(
        "12.7 mm",
        reading("12.7", Unit::Millimetre),
        judged("formed.height.left", "12.7 mm", Verdict::Pass),
    );
    h.read(
        "-0.5",
        reading("90.2501", Unit::Degree),
        judged("formed.angle.left", "90.2501 deg", Verdict::Pass),
    );
    let held = Finding::Held {
        reason: HeldReason::WrongUnit,
        on_bench: Some((piece(), Stage::Formed)),
        candidates: Vec::new(),
        offset: None,
    };
    h.read("0.502", reading("0.502", Unit::Millimetre), held.clone());
    h.read(
        "=cmd|' /C calc'!A0\u{1b}",
        Decoded::Garbled(Garbled::Grammar),
        Finding::Noted,
    );
    h.put(
        Event::Voided {
            bench: bench(),
            reading: Seq(5),
            reason: "the jaws slipped".to_owned(),
        },
        Finding::Noted,
    );
    let assigned = Event::Assigned {
        bench: bench(),
        reading: Seq(8),
        characteristic: id("formed.height.right"),
        unit: Some(Unit::Inch),
        form: None,
    };
    h.put(
        assigned,
        judged("formed.height.right", "0.502 in", Verdict::Pass),
    );
    // 12: judged too small at first, then said to be of another: it is the last put there, so it stands.
    h.read("11.0", reading("11.0", Unit::Millimetre), held.clone());
    h.put(
        Event::Assigned {
            bench: bench(),
            reading: Seq(12),
            characteristic: id("formed.height.left"),
            unit: None,
            form: None,
        },
        judged("formed.height.left", "11 mm", Verdict::TooSmall),
    );
    h.read("99", reading("99", Unit::Millimetre), held);
    h.0
}

pub(crate) fn sheet(rows: &[Row]) -> Vec<BTreeMap<String, String>> {
    let bytes = csv(&Source {
        rows,
        checkpoint: NOTE,
    });
    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    assert_eq!(
        reader.headers().unwrap().iter().collect::<Vec<_>>(),
        COLUMNS
    );
    reader.deserialize().map(|row| row.unwrap()).collect()
}
