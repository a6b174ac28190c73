//! Pairs, computed characteristics and mating pieces in the record.
#![allow(clippy::unwrap_used, reason = "whatever fails here fails the test")]

use std::collections::BTreeMap;
use std::sync::Arc;

use build_record::{Row, Source, csv, json};
use shared_types::*;

fn id(text: &str) -> CharacteristicId {
    CharacteristicId::new(text).unwrap()
}

fn q(text: &str) -> Quantity {
    Quantity::parse(text).unwrap()
}

fn piece(text: &str) -> PieceId {
    text.parse().unwrap()
}

fn bench() -> BenchId {
    BenchId::new("bench-1").unwrap()
}

/// An invented pair that goes into S2.
fn plan() -> PartPlan {
    let rise = Characteristic {
        id: id("formed.rise"),
        number: 1,
        name: "rising diagonal".into(),
        stage: Stage::Formed,
        gauge: GaugeKind::Caliper,
        nominal: q("330 mm"),
        limits: Limits::new(Some(q("329 mm")), Some(q("331 mm"))).unwrap(),
        tolerance: Tolerance::Stated,
        rule: String::new(),
        how: String::new(),
        if_small: String::new(),
        if_large: String::new(),
        derived: None,
        follows: Some(Follows {
            characteristic: id("formed.opening"),
            planned: q("331 mm"),
        }),
        decision: None,
    };
    let fall = Characteristic {
        id: id("formed.fall"),
        number: 2,
        name: "falling diagonal".into(),
        follows: None,
        ..rise.clone()
    };
    let apart = Characteristic {
        id: id("formed.apart"),
        number: 3,
        name: "difference".into(),
        nominal: q("0 mm"),
        limits: Limits::new(None, Some(q("0.3 mm"))).unwrap(),
        derived: Some(Derived::Difference {
            of: [id("formed.rise"), id("formed.fall")],
            absolute: true,
        }),
        ..fall.clone()
    };
    let gap = Characteristic {
        id: id("fit-up.gap"),
        number: 1,
        stage: Stage::FitUp,
        nominal: q("0.5 mm"),
        limits: Limits::new(Some(q("0 mm")), Some(q("1 mm"))).unwrap(),
        ..fall.clone()
    };
    let characteristics = vec![rise, fall, apart, gap];
    let words = characteristics.iter().map(|c| Words {
        name: format!("{}, right", c.name),
        ..Words::default()
    });
    PartPlan {
        part: PartId::new("B2").unwrap(),
        title: "Float bulkhead".into(),
        quantity: 4,
        sheet: Sheet {
            alloy: "5052-H32".into(),
            thickness: Length::parse("0.032 in").unwrap(),
            expansion: None,
        },
        digest: String::new(),
        mirrored: Some(Mirrored {
            words: words.collect(),
            views: vec![],
        }),
        fit: Some(Fit {
            into: PartId::new("S2").unwrap(),
            clearance: Length::parse("0.5 mm").unwrap(),
            source: FitSource::Measured,
            first_article_mates: None,
        }),
        characteristics,
        views: vec![],
        warnings: vec![],
        bends: vec![],
    }
}

struct History(Vec<Row>);

impl History {
    fn put(&mut self, event: Event, finding: Finding) {
        let seq = Seq(self.0.len() as u64 + 1);
        let at_us = 1_795_600_000_000_000 + i64::try_from(seq.0).unwrap() * 1_000_000;
        let fact = Fact {
            at_us,
            event,
            finding,
        };
        self.0.push(Row {
            entry: Entry { seq, fact },
            body: String::new(),
        });
    }

    fn read(
        &mut self,
        of: &str,
        digits: &str,
        (into, fitted): (Option<&str>, Option<u64>),
        derived: Option<(&str, Verdict, [u64; 2])>,
    ) {
        let reading = Reading::new(digits, Unit::Millimetre).unwrap();
        let derived = derived.map(|(value, verdict, from)| DerivedFinding {
            characteristic: id("formed.apart"),
            value: q(value),
            verdict,
            from: from.map(Seq).to_vec(),
            grounds: None,
        });
        let finding = Finding::Judged {
            piece: piece("B2/3R"),
            characteristic: id(of),
            revision: Seq(2),
            value: reading.value,
            verdict: Verdict::Pass,
            into: into.map(piece),
            fitted: fitted.map(Seq),
            derived: derived.into_iter().collect(),
            correction: None,
            grounds: None,
        };
        let event = Event::Observed(Observation {
            gauge: GaugeId::new("caliper-1").unwrap(),
            via: Via::Serial,
            raw: digits.as_bytes().to_vec(),
            decoded: Decoded::Reading(reading),
        });
        self.put(event, finding);
    }

    fn mate(&mut self, mate: &str, nominals: Vec<FittedNominal>) {
        let event = Event::Mated {
            bench: bench(),
            piece: piece("B2/3R"),
            mate: piece(mate),
        };
        self.put(event, Finding::Fitted { nominals });
    }
}

fn history() -> Vec<Row> {
    let mut h = History(Vec::new());
    let setup = Setup {
        first_article: FirstArticle::default(),
        build: "Saltmarsh floats (invented)".into(),
        units: DisplayUnits::Mm,
        benches: vec![(bench(), "Bench".into())],
        gauges: vec![GaugeSetup {
            id: GaugeId::new("caliper-1").unwrap(),
            title: "Caliper".into(),
            bench: bench(),
            kind: None,
            serial_number: String::new(),
            trust: Trust::default(),
        }],
        climate: shared_types::Climate::default(),
        decision: shared_types::Rule::Plain,
    };
    let version = "0".into();
    h.put(Event::Opened { version, setup }, Finding::Noted);
    h.put(Event::Adopted(Arc::new(plan())), Finding::Noted);
    let laid = Event::Laid {
        bench: bench(),
        piece: piece("B2/3R"),
        stage: Stage::Formed,
        reason: None,
    };
    h.put(laid, Finding::Noted);
    let bare = (None, None);
    h.read("formed.rise", "330.2", bare, None); // 4
    h.read(
        "formed.fall",
        "330.0",
        bare,
        Some(("0.2 mm", Verdict::Pass, [4, 5])),
    ); // 5
    h.read(
        "formed.fall",
        "330.6",
        bare,
        Some(("0.4 mm", Verdict::TooLarge, [4, 6])),
    ); // 6
    let voided = Event::Voided {
        bench: bench(),
        reading: Seq(6),
        reason: "the jaws slipped".into(),
    };
    h.put(voided, Finding::Noted); // 7: what came of 4 and 5 stands again
    let moved = FittedNominal {
        characteristic: id("formed.rise"),
        nominal: q("330.5 mm"),
        limits: Limits::new(Some(q("329.5 mm")), Some(q("331.5 mm"))).unwrap(),
        from: Seq(1),
    };
    h.mate("S2/1", vec![moved]); // 8
    h.read(
        "formed.rise",
        "330.1",
        (None, Some(8)),
        Some(("0.1 mm", Verdict::Pass, [9, 5])),
    ); // 9
    h.read("fit-up.gap", "0.4", (Some("S2/1"), None), None); // 10
    h.mate("S2/2", vec![]); // 11
    h.read("fit-up.gap", "0.6", (Some("S2/2"), None), None); // 12
    h.mate("S2/1", vec![]); // 13: what was read in S2/1 stands
    h.0
}

fn rows(kind: &str) -> Vec<BTreeMap<String, String>> {
    let rows = history();
    let bytes = csv(&Source {
        rows: &rows,
        checkpoint: "",
    });
    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    let all = reader.deserialize().map(|row| row.unwrap());
    all.filter(|row: &BTreeMap<String, String>| row["kind"] == kind)
        .collect()
}

#[test]
fn computed_values_are_rows_of_their_own_with_the_readings_they_came_from() {
    let told: Vec<_> = rows("computed")
        .iter()
        .map(|row| {
            let of = ["seq", "name", "value", "verdict", "computed_from", "stands"];
            of.map(|column| row[column].clone()).join(", ")
        })
        .collect();
    assert_eq!(
        told,
        [
            "5, difference, right, 0.2 mm, pass, 4 5, no",
            "9, difference, right, 0.1 mm, pass, 9 5, yes",
        ],
        "the one of the voided reading is not among them"
    );
    assert!(rows("not measured").is_empty());
}

#[test]
fn each_reading_says_what_it_was_judged_by_and_in_which_mating_piece_it_was_tried() {
    let told: Vec<_> = rows("observation")
        .iter()
        .map(|row| {
            let of = ["seq", "nominal", "judged_by", "tried_in", "stands"];
            of.map(|column| row[column].clone()).join(", ")
        })
        .collect();
    assert_eq!(
        told,
        [
            "4, 330 mm, by the plan, , no",
            "5, 330 mm, by the plan, , yes",
            "6, , , , no",
            "9, 330.5 mm, by the measured opening of S2/1, entry 8, , yes",
            "10, 0.5 mm, by the plan, S2/1, yes",
            "12, 0.5 mm, by the plan, S2/2, no",
        ]
    );
}

#[test]
fn the_record_agrees_with_the_shop_on_what_stands_of_computed_and_tried_ones_too() {
    let rows = history();
    let mut shop = Shop::default();
    // After every entry, not only at the end.
    for (count, row) in rows.iter().enumerate() {
        shop.apply(&row.entry);
        let record: serde_json::Value = serde_json::from_str(&json(&Source {
            rows: &rows[..=count],
            checkpoint: "",
        }))
        .unwrap();
        let Some(state) = shop.pieces.get(&piece("B2/3R")) else {
            continue;
        };
        let stages = record["pieces"][0]["stages"].as_array().unwrap();
        for recorded in stages
            .iter()
            .flat_map(|s| s["characteristics"].as_array().unwrap())
        {
            let of = id(recorded["id"].as_str().unwrap());
            let stands = state.standing(&of);
            assert_eq!(
                recorded["standing"].as_u64(),
                stands.map(|a| a.seq.0),
                "{of} after entry {}",
                row.entry.seq
            );
            assert_eq!(
                recorded["verdict"],
                serde_json::json!(stands.map(|a| a.verdict)),
                "{of} after entry {}",
                row.entry.seq
            );
        }
        if count + 1 == rows.len() {
            assert_eq!(record["pieces"][0]["mate"], "S2/1");
            assert_eq!(record["fits"][0]["nominals"][0]["nominal"], "330.5 mm");
        }
    }
}
