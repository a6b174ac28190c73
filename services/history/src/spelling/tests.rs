//! The spelling is pinned: what was written once is read for ever.

use std::sync::Arc;

use proptest::prelude::*;
use shared_types::{
    BendWay, Candidate, Decoded, DerivedFinding, DisplayUnits, Disposition, Event, Faces, Fact,
    Finding, FirstArticle, FitSource, FittedNominal, Form, Garbled, GaugeKind, GaugeSetup,
    GaugeState, HeldReason, Layer, Limits, NoReading, Observation, Quantity, Reading, SameOffset,
    Seq, Setup, SpreadWord, Stage, StudyAct, StudyCell, StudyPlan, Suppressed, Trust, Unit,
    Verdict, Via,
};

use super::any_fact::{event, finding, quantity};
use super::words::Words;
use super::{decode, encode, stored_key};

use plans::{bent_plan, blocked_plan, id, mm, paired_plan, saltmarsh_plan, trusted_setup};

mod acts;
pub(super) mod grounds;
pub(super) mod plans;
mod refused;
mod warmth;

/// One body for each event and each finding, as stored by format 1. The Saltmarsh build is invented.
const FIXTURE: &str = include_str!("format-1.txt");

fn observed(raw: &[u8], via: Via, decoded: Decoded) -> Event {
    Event::Observed(Observation {
        gauge: id("caliper-1"),
        via,
        raw: raw.to_vec(),
        decoded,
    })
}

fn judged(value: Quantity, verdict: Verdict) -> Finding {
    Finding::Judged {
        piece: id("B2/3"),
        characteristic: id("formed.height.left"),
        revision: Seq(2),
        value,
        verdict,
        into: None,
        fitted: None,
        derived: Vec::new(),
        grounds: None,
        correction: None,
    }
}

fn study(act: StudyAct) -> Event {
    Event::Study {
        bench: id("bench-1"),
        gauge: id("caliper-1"),
        act,
    }
}

/// Every event and every finding, each at least once.
fn every_kind() -> Vec<(Fact, Option<&'static str>)> {
    let reading = Reading::new("12.70", Unit::Millimetre).unwrap();
    let value = reading.value;
    let again = reading.clone();
    let slip = Reading::new("0.5", Unit::Millimetre).unwrap();
    let setup = Setup {
        build: "Saltmarsh".into(),
        units: DisplayUnits::InFractions,
        first_article: FirstArticle::default(),
        benches: vec![(id("bench-1"), "By the window".into())],
        gauges: vec![
            GaugeSetup {
                id: id("caliper-1"),
                title: "Long caliper".into(),
                bench: id("bench-1"),
                kind: Some(GaugeKind::Caliper),
                serial_number: "S 17".into(),
                trust: Trust::default(),
            },
            GaugeSetup {
                id: id("typed"),
                title: "Keyboard".into(),
                bench: id("bench-1"),
                kind: None,
                serial_number: String::new(),
                trust: Trust::default(),
            },
        ],
        decision: shared_types::Rule::Plain,
        climate: shared_types::Climate::default(),
    };
    let noted = |event| (event, Finding::Noted, None);
    let facts = [
        noted(Event::Opened {
            version: "0.1.0".into(),
            setup,
        }),
        noted(Event::Adopted(Arc::new(saltmarsh_plan()))),
        noted(Event::GaugeSeen {
            gauge: id("caliper-1"),
            state: GaugeState::Connected,
        }),
        noted(Event::Operator {
            bench: id("bench-1"),
            name: "Wren \"W\"".into(),
        }),
        noted(Event::Laid {
            bench: id("bench-1"),
            piece: id("B2/3"),
            stage: Stage::Formed,
            reason: None,
        }),
        (
            observed(b"+0012.70mm", Via::Mqtt, Decoded::Reading(reading)),
            judged(value, Verdict::Pass),
            Some("mqtt:caliper-1:00000000000017"),
        ),
        (
            observed(b"0.5", Via::Typed, Decoded::Reading(slip)),
            Finding::Held {
                reason: HeldReason::WrongUnit,
                on_bench: Some((id("B2/3"), Stage::Formed)),
                candidates: vec![Candidate {
                    characteristic: id("formed.height.left"),
                    unit: Unit::Inch,
                    form: None,
                }],
                offset: None,
            },
            None,
        ),
        noted(observed(
            &[0x2b, 0x31, 0xff, 0x00, 0x0d],
            Via::Serial,
            Decoded::Garbled(Garbled::Cut),
        )),
        noted(Event::Picked {
            bench: id("bench-1"),
            characteristic: id("formed.angle.left"),
        }),
        (
            Event::Assigned {
                bench: id("bench-1"),
                reading: Seq(7),
                characteristic: id("formed.height.left"),
                unit: Some(Unit::Inch),
                form: None,
            },
            judged(value, Verdict::TooLarge),
            None,
        ),
        noted(Event::Dismissed {
            bench: id("bench-1"),
            reading: Seq(7),
            reason: String::new(),
        }),
        noted(Event::Voided {
            bench: id("bench-1"),
            reading: Seq(6),
            reason: "dropped it".into(),
        }),
        // Added later; everything above is spelt as it was before.
        noted(Event::Adopted(Arc::new(bent_plan()))),
        noted(Event::Adopted(Arc::new(paired_plan()))),
        noted(Event::Withdrawn(id("S2"))),
        (
            Event::Mated {
                bench: id("bench-1"),
                piece: id("B2/3R"),
                mate: id("S2/1"),
            },
            Finding::Fitted {
                nominals: vec![FittedNominal {
                    characteristic: id("formed.height.left"),
                    nominal: value,
                    limits: Limits::new(None, Some(Quantity::Length(mm("13 mm")))).unwrap(),
                    from: Seq(412),
                }],
            },
            None,
        ),
        (
            Event::Mated {
                bench: id("bench-1"),
                piece: id("B2/3L"),
                mate: id("S2/1"),
            },
            Finding::Fitted {
                nominals: Vec::new(),
            },
            None,
        ),
        (
            observed(b"12.70", Via::Serial, Decoded::Reading(again)),
            Finding::Judged {
                piece: id("B2/3R"),
                characteristic: id("formed.height.left"),
                revision: Seq(13),
                value,
                verdict: Verdict::Pass,
                into: Some(id("S2/1")),
                fitted: Some(Seq(15)),
                derived: vec![DerivedFinding {
                    characteristic: id("formed.height.left.mean"),
                    value,
                    verdict: Verdict::TooSmall,
                    from: vec![Seq(6), Seq(17)],
                    grounds: None,
                }],
                grounds: None,
                correction: None,
            },
            None,
        ),
        noted(observed(
            b"##",
            Via::Serial,
            Decoded::Flood {
                why: Garbled::Grammar,
                count: 982,
            },
        )),
        noted(observed(
            b"12.71",
            Via::Serial,
            Decoded::Suppressed(Suppressed {
                why: NoReading::Unsettled,
                count: 37,
                last: Some(Reading::new("12.71", Unit::Millimetre).unwrap()),
            }),
        )),
        noted(observed(
            b"?",
            Via::Serial,
            Decoded::Suppressed(Suppressed {
                why: NoReading::Echo,
                count: 1,
                last: None,
            }),
        )),
        noted(Event::Opened {
            version: "0.2.0".into(),
            setup: trusted_setup(),
        }),
        noted(Event::GaugeSeen {
            gauge: id("caliper-1"),
            state: GaugeState::Silent,
        }),
        noted(Event::CheckBegun {
            bench: id("bench-1"),
            gauge: id("caliper-1"),
            reference: "gauge block 25".into(),
        }),
        noted(Event::CheckLeft {
            bench: id("bench-1"),
            gauge: id("caliper-1"),
        }),
        (
            observed(
                b"25.04",
                Via::Serial,
                Decoded::Reading(Reading::new("25.04", Unit::Millimetre).unwrap()),
            ),
            Finding::Checked {
                reference: "gauge block 25".into(),
                wanted: Quantity::Length(mm("25 mm")),
                limit: Quantity::Length(mm("0.02 mm")),
                verdict: Verdict::TooLarge,
            },
            None,
        ),
        noted(Event::Adopted(Arc::new(blocked_plan()))),
        (
            observed(
                b"91.5",
                Via::Serial,
                Decoded::Reading(Reading::new("91.5", Unit::Degree).unwrap()),
            ),
            Finding::Held {
                reason: HeldReason::OtherLeg,
                on_bench: Some((id("B2/3"), Stage::Formed)),
                candidates: [None, Some(Form::Supplement)]
                    .map(|form| Candidate {
                        characteristic: id("formed.angle.left"),
                        unit: Unit::Degree,
                        form,
                    })
                    .to_vec(),
                offset: None,
            },
            None,
        ),
        (
            Event::Assigned {
                bench: id("bench-1"),
                reading: Seq(28),
                characteristic: id("formed.angle.left"),
                unit: None,
                form: Some(Form::Supplement),
            },
            judged(Quantity::parse("88.5 deg").unwrap(), Verdict::Pass),
            None,
        ),
        noted(study(StudyAct::Begun(StudyPlan {
            of: "width of ten strips".into(),
            width: Some(Quantity::Length(mm("0.4 mm"))),
            pieces: 10,
            appraisers: vec!["AB".into(), "CD".into()],
            trials: 3,
        }))),
        (
            observed(
                b"25.04",
                Via::Serial,
                Decoded::Reading(Reading::new("25.04", Unit::Millimetre).unwrap()),
            ),
            Finding::Studied {
                study: Seq(27),
                cell: StudyCell {
                    appraiser: 1,
                    piece: 9,
                    trial: 2,
                },
            },
            None,
        ),
        noted(study(StudyAct::Resumed(Seq(27)))),
        noted(study(StudyAct::Left)),
        (
            observed(
                b"13.90",
                Via::Serial,
                Decoded::Reading(Reading::new("13.90", Unit::Millimetre).unwrap()),
            ),
            Finding::Held {
                reason: HeldReason::NotZeroed,
                on_bench: Some((id("B2/3"), Stage::Formed)),
                candidates: vec![Candidate {
                    characteristic: id("formed.height.left"),
                    unit: Unit::Millimetre,
                    form: None,
                }],
                offset: Some(SameOffset {
                    by: Quantity::Length(mm("1.2 mm")),
                    readings: vec![Seq(17), Seq(26)],
                }),
            },
            None,
        ),
    ];
    (1_795_600_000_000_000_i64..)
        .step_by(1_000_000)
        .zip(facts)
        .map(|(at_us, (event, finding, key))| {
            let fact = Fact {
                at_us,
                event,
                finding,
            };
            (fact, key)
        })
        .collect()
}

#[test]
fn every_event_and_finding_is_spelt_as_in_the_fixture_and_read_from_it() {
    let bodies: Vec<&str> = FIXTURE.lines().collect();
    let facts = every_kind();
    let spelt: Vec<String> = facts.iter().map(|(fact, key)| encode(fact, *key)).collect();
    assert_eq!(spelt, bodies, "written differently:\n{}", spelt.join("\n"));
    for ((fact, _), body) in facts.iter().zip(bodies) {
        assert_eq!(&decode(body).unwrap(), fact);
    }
}

/// What is on disk already holds these words. One may be added; none may change.
#[test]
fn every_word_is_spelt_as_in_format_1() {
    fn check<T: Words + PartialEq + std::fmt::Debug>(words: &str) {
        assert_eq!(T::ALL.join(" "), words);
        for word in T::ALL {
            assert_eq!(T::of(word).unwrap().word(), *word);
        }
    }
    check::<BendWay>("up down");
    check::<Disposition>("rework as-is scrap");
    check::<DisplayUnits>("mm in in-fractions");
    check::<Form>("complement supplement other-sign");
    check::<Garbled>(
        "grammar range unit oversize cut retained json name device battery overflow channel no-answer",
    );
    check::<Faces>("outside inside depth");
    check::<FitSource>("plan measured");
    check::<GaugeKind>("caliper angle-gauge");
    check::<GaugeState>("unknown connected unplugged offline silent");
    check::<HeldReason>(
        "nothing-on-bench nothing-due fits-nothing fits-another fits-two wrong-unit unknown-gauge id-reused perhaps-repeat pressed-twice other-leg other-sign not-zeroed other-bench",
    );
    check::<Layer>("cut bend section hidden");
    check::<NoReading>("bounce unsettled echo too-fast");
    check::<shared_types::NotCorrected>(
        "no-temperature no-piece-temperature no-gauge-temperature no-expansion out-of-range",
    );
    check::<shared_types::TemperatureOf>("piece gauge both");
    check::<Stage>("blocks blank formed trimmed fit-up");
    check::<Unit>("um mm cm m in deg");
    check::<SpreadWord>("normal rect tri u");
    check::<Verdict>("pass small large undecided");
    check::<Via>("serial mqtt mqtt-again typed");
}

proptest! {
    #[test]
    fn what_is_written_is_read_back(at_us: i64, event in event(), finding in finding(), key: Option<String>) {
        let fact = Fact { at_us, event, finding };
        prop_assert_eq!(decode(&encode(&fact, key.as_deref())).unwrap(), fact);
    }

    #[test]
    fn a_verdict_on_the_readings_own_value_is_read_back(at_us: i64, value in quantity()) {
        let reading = Reading { digits: "1".into(), unit: Unit::Inch, value };
        let event = observed(b"1", Via::Serial, Decoded::Reading(reading));
        let fact = Fact { at_us, event, finding: judged(value, Verdict::Pass) };
        prop_assert_eq!(decode(&encode(&fact, None)).unwrap(), fact);
    }

    #[test]
    fn no_text_makes_reading_panic(line in 0..FIXTURE.lines().count(), at in any::<prop::sample::Index>(), with in "\\PC{0,3}|[0-9\"{}:,\\[\\]]{0,3}", noise: String) {
        prop_assert!(decode(&noise).is_err());
        let body: Vec<char> = FIXTURE.lines().nth(line).unwrap().chars().collect();
        let at = at.index(body.len());
        let altered: String = body[..at].iter().copied().chain(with.chars()).chain(body[at + 1..].iter().copied()).collect();
        // Whatever still reads must be a fact that can be written and read again.
        if let Ok(fact) = decode(&altered) {
            prop_assert_eq!(decode(&encode(&fact, None)).unwrap(), fact);
        }
    }

    #[test]
    fn two_keys_are_never_stored_alike_nor_with_a_control_character(a in "\\PC*|=[A-Za-z0-9]*|[\\x00-\\x1f]{0,4}", b in "\\PC*|=[A-Za-z0-9]*|[\\x00-\\x1f]{0,4}") {
        prop_assert_eq!(stored_key(&a) == stored_key(&b), a == b);
        prop_assert!(!stored_key(&a).chars().any(char::is_control));
    }
}
