//! The spelling of temperatures and of what is made of them, pinned by lines of its own.

use std::sync::Arc;

use shared_types::{
    Climate, Correction, Decoded, Event, Expansion, Fact, Finding, NotCorrected, PartPlan,
    Quantity, Reading, Seq, Setup, StatedExpansion, TemperatureOf, Trust, Unit, Verdict, Via,
    Warmth,
};

use super::plans::{bent_plan, id, mm, trusted_setup};
use super::{decode, encode, judged, observed};

/// As stored by format 1. The Saltmarsh build is invented.
const FIXTURE: &str = include_str!("../format-1-temperature.txt");

/// What is known of temperatures, and what is made of it.
fn facts() -> Vec<Fact> {
    let noted = |event| (event, Finding::Noted);
    let felt = |of, text: &str, sensor| Event::Temperature {
        bench: id("bench-1"),
        of,
        value: text.parse().unwrap(),
        sensor,
    };
    let reading = Reading::new("500.00", Unit::Millimetre).unwrap();
    let corrected = |correction, value| {
        let mut finding = judged(value, Verdict::Pass);
        if let Finding::Judged { correction: at, .. } = &mut finding {
            *at = Some(correction);
        }
        let event = observed(b"500.00", Via::Serial, Decoded::Reading(reading.clone()));
        (event, finding)
    };
    let warmth = |from, text: &str, e9| Warmth {
        temperature: text.parse().unwrap(),
        from: Seq(from),
        expansion: Expansion::from_e9(e9).unwrap(),
    };
    let made = Correction::Made {
        read: mm("500 mm"),
        piece: warmth(27, "30 C", 23_600),
        gauge: warmth(28, "86.1 F", 11_500),
    };
    let facts = [
        noted(felt(TemperatureOf::Piece, "30 C", None)),
        noted(felt(TemperatureOf::Gauge, "86.1 F", Some(id("shelf")))),
        noted(felt(TemperatureOf::Both, "-0.05 C", None)),
        corrected(made, Quantity::Length(mm("499.939514276 mm"))),
        corrected(Correction::Not(NotCorrected::NoExpansion), reading.value),
        noted(Event::Opened {
            version: "0.3.0".into(),
            setup: warm_setup(),
        }),
        noted(Event::Adopted(Arc::new(warm_plan()))),
    ];
    (1_795_600_000_000_000_i64..)
        .step_by(1_000_000)
        .zip(facts)
        .map(|(at_us, (event, finding))| Fact {
            at_us,
            event,
            finding,
        })
        .collect()
}

/// A build that corrects lengths.
fn warm_setup() -> Setup {
    let mut setup = trusted_setup();
    setup.gauges.truncate(1);
    setup.gauges[0].trust = Trust {
        expansion: Expansion::from_e9(10_500),
        ..Trust::default()
    };
    setup.climate = Climate {
        correct: true,
        shop: Some(("15 C".parse().unwrap(), "82 F".parse().unwrap())),
        ..Climate::default()
    };
    setup
}

/// A plan whose sheet states how much it grows.
fn warm_plan() -> PartPlan {
    let mut plan = bent_plan();
    plan.sheet.expansion = Some(StatedExpansion {
        value: Expansion::from_e9(23_800).unwrap(),
        source: "stated in the part file".into(),
    });
    plan
}

#[test]
fn temperatures_and_corrections_are_spelt_as_in_their_fixture_and_read_from_it() {
    let bodies: Vec<&str> = FIXTURE.lines().collect();
    let facts = facts();
    let spelt: Vec<String> = facts.iter().map(|fact| encode(fact, None)).collect();
    assert_eq!(spelt, bodies, "written differently:\n{}", spelt.join("\n"));
    for (fact, body) in facts.iter().zip(bodies) {
        assert_eq!(&decode(body).unwrap(), fact);
    }
}

#[test]
fn a_coefficient_no_material_has_and_a_temperature_no_shop_has_are_refused() {
    let last = FIXTURE.lines().last().unwrap();
    let wrong = last.replace("23800", "200001");
    assert!(
        decode(&wrong)
            .unwrap_err()
            .to_string()
            .contains("200001e-9")
    );
    let first = FIXTURE.lines().next().unwrap();
    assert!(decode(&first.replace("30 °C", "300 °C")).is_err());
}
