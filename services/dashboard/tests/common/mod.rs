//! An invented build, and a spine small enough to read: it judges what is typed against what is due,
//! with the real history underneath. The real matching belongs to another room.
#![allow(
    clippy::unwrap_used,
    dead_code,
    unreachable_pub,
    reason = "shared by tests and an example that each use a part"
)]

pub mod many;
pub mod pair;
pub mod plan;
pub mod served;
pub mod spine;

use shared_types::*;

pub use spine::Spine;

pub fn length(text: &str) -> Length {
    Length::parse(text).expect("a length")
}

pub fn id(text: &str) -> CharacteristicId {
    CharacteristicId::new(text).expect("a name")
}

pub fn gauge(text: &str) -> GaugeId {
    GaugeId::new(text).expect("a name")
}

pub fn bench() -> BenchId {
    BenchId::new("bench-1").expect("a name")
}

pub fn piece(text: &str) -> PieceId {
    text.parse().expect("a piece")
}

pub fn setup(benches: usize) -> Setup {
    let mut list = vec![(bench(), "Bench by the window".to_owned())];
    if benches > 1 {
        list.push((
            BenchId::new("bench-2").expect("a name"),
            "Bench at the door".to_owned(),
        ));
    }
    let one = |name: &str, title: &str, kind| GaugeSetup {
        id: gauge(name),
        title: title.to_owned(),
        bench: bench(),
        kind,
        serial_number: "SM-0117".to_owned(),
        trust: trust(name),
    };
    Setup {
        first_article: FirstArticle::default(),
        build: "Saltmarsh floats (invented)".to_owned(),
        units: DisplayUnits::Mm,
        benches: list,
        gauges: vec![
            one("caliper-1", "caliper 1", Some(GaugeKind::Caliper)),
            one("angle-1", "angle gauge", Some(GaugeKind::AngleGauge)),
            one("typed", "typed entry", None),
        ],
        climate: shared_types::Climate::default(),
        decision: shared_types::Rule::Plain,
    }
}

/// What the caliper is checked against; nothing is stated of the others. Invented, as all of it.
fn trust(name: &str) -> Trust {
    if name != "caliper-1" {
        return Trust::default();
    }
    Trust {
        resolution: Some(Quantity::Length(length("0.01 mm"))),
        limit_of_error: Some(LimitOfError::Din862),
        check_every_days: Some(7),
        references: vec![Reference {
            name: "gauge block 25".to_owned(),
            value: Quantity::Length(length("25 mm")),
            faces: Faces::Outside,
        }],
        ..Trust::default()
    }
}

pub fn observed(name: &str, via: Via, raw: &str, decoded: Decoded) -> Event {
    Event::Observed(Observation {
        gauge: gauge(name),
        via,
        raw: raw.as_bytes().to_vec(),
        decoded,
    })
}

/// What is typed: a quantity with its unit, or garbled.
pub fn type_in(gauge: &GaugeId, text: &str) -> Observation {
    let decoded = text
        .split_once(' ')
        .and_then(|(digits, unit)| Reading::new(digits, Unit::from_name(unit)?).ok())
        .map_or(Decoded::Garbled(Garbled::Grammar), Decoded::Reading);
    Observation {
        gauge: gauge.clone(),
        via: Via::Typed,
        raw: text.as_bytes().to_vec(),
        decoded,
    }
}

pub fn reads(name: &str, digits: &str, unit: Unit) -> Event {
    let reading = Reading::new(digits, unit).expect("a reading");
    observed(
        name,
        Via::Serial,
        &format!("{digits} {}", unit.sign()),
        Decoded::Reading(reading),
    )
}

/// Puts a piece half through its formed stage; `scene` says what came last.
pub fn play(spine: &mut Spine, scene: &str) {
    if scene == "pair" {
        return pair::play(spine);
    }
    if scene == "trends" {
        return many::play(spine);
    }
    let mut put = |event| spine.put(event).expect("accepted");
    for name in ["caliper-1", "angle-1"] {
        put(Event::GaugeSeen {
            gauge: gauge(name),
            state: GaugeState::Connected,
        });
    }
    if scene == "empty" {
        return;
    }
    put(Event::Operator {
        bench: bench(),
        name: "R. H.".to_owned(),
    });
    put(Event::Laid {
        bench: bench(),
        piece: piece("B2/3"),
        stage: Stage::Formed,
        reason: None,
    });
    let good = [
        ("caliper-1", "286.02", Unit::Millimetre),
        ("caliper-1", "170.94", Unit::Millimetre),
        ("caliper-1", "12.61", Unit::Millimetre),
        ("angle-1", "90.2", Unit::Degree),
        ("caliper-1", "12.83", Unit::Millimetre),
        ("angle-1", "89.7", Unit::Degree),
    ];
    for (name, digits, unit) in good {
        put(reads(name, digits, unit));
    }
    match scene {
        "fail" => {
            put(Event::GaugeSeen {
                gauge: gauge("angle-1"),
                state: GaugeState::Unplugged,
            });
            put(reads("caliper-1", "14.02", Unit::Millimetre));
        }
        "held" => {
            put(reads("caliper-1", "99.99", Unit::Millimetre));
            put(reads("caliper-1", "0.502", Unit::Millimetre));
        }
        "zero" => {
            put(reads("caliper-1", "99.98", Unit::Millimetre));
        }
        "leg" => {
            put(Event::Picked {
                bench: bench(),
                characteristic: id("formed.angle.bottom"),
            });
            put(reads("angle-1", "119.5", Unit::Degree));
        }
        "wrong" => {
            put(Event::CheckBegun {
                bench: bench(),
                gauge: gauge("caliper-1"),
                reference: "gauge block 25".to_owned(),
            });
            put(reads("caliper-1", "25.06", Unit::Millimetre));
            put(observed(
                "angle-1",
                Via::Serial,
                "E2",
                Decoded::Garbled(Garbled::Battery),
            ));
            put(Event::CheckBegun {
                bench: bench(),
                gauge: gauge("caliper-1"),
                reference: "zero".to_owned(),
            });
            put(Event::GaugeSeen {
                gauge: gauge("angle-1"),
                state: GaugeState::Silent,
            });
        }
        "garbled" => {
            put(reads("caliper-1", "11.20", Unit::Millimetre));
            put(observed(
                "caliper-1",
                Via::Serial,
                "<script>alert(1)</script>\u{7}",
                Decoded::Garbled(Garbled::Grammar),
            ));
        }
        "done" => {
            for (name, digits, unit) in [
                ("caliper-1", "12.7", Unit::Millimetre),
                ("angle-1", "90.0", Unit::Degree),
                ("caliper-1", "12.55", Unit::Millimetre),
                ("angle-1", "90.9", Unit::Degree),
            ] {
                put(reads(name, digits, unit));
            }
        }
        _ => {}
    }
}
