//! The spelling is pinned: what was written once is read for ever.

use std::sync::Arc;

use proptest::prelude::*;
use shared_types::{
    Angle, Bend, BendWay, Candidate, Characteristic, Day, Decoded, Derived, DerivedFinding,
    Dimension, DimensionShape, DisplayUnits, Event, Faces, Fact, Finding, Fit, FitSource,
    FittedNominal, Follows, Form, Garbled, GaugeKind, GaugeSetup, GaugeState, HeldReason, Layer,
    Length, LimitOfError, Limits, Mirrored, NoReading, Observation, PartPlan, Point, Quantity,
    Reading, Reference, Seq, Setup, Sheet, Stage, Stroke, StrokeShape, Suppressed, Tolerance,
    Trust, Unit, Verdict, Via, View, Warning,
};

use super::any_fact::{event, finding, quantity};
use super::words::Words;
use super::{decode, encode, stored_key};

/// One body for each event and each finding, as stored by format 1. The Saltmarsh build is invented.
const FIXTURE: &str = include_str!("format-1.txt");

pub(super) fn id<T: std::str::FromStr>(text: &str) -> T {
    text.parse().ok().expect("a name")
}

fn mm(text: &str) -> Length {
    Length::parse(text).unwrap()
}

fn point(x: &str, y: &str) -> Point {
    Point { x: mm(x), y: mm(y) }
}

fn degrees(text: &str) -> Angle {
    Angle::parse(text).unwrap()
}

pub(super) fn saltmarsh_plan() -> PartPlan {
    let height = Characteristic {
        id: id("formed.height.left"),
        number: 1,
        name: "height of the left flange".into(),
        stage: Stage::Formed,
        gauge: GaugeKind::Caliper,
        nominal: Quantity::Length(mm("1/2 in")),
        limits: Limits::new(
            Some(Quantity::Length(mm("12.5 mm"))),
            Some(Quantity::Length(mm("12.9 mm"))),
        )
        .unwrap(),
        tolerance: Tolerance::General("ISO 2768-1 m".into()),
        rule: "as given".into(),
        how: "outside jaws, from the \"web\" to the edge".into(),
        if_small: "the flange cannot grow: ask".into(),
        if_large: "trim".into(),
        derived: None,
        follows: None,
    };
    let angle = Characteristic {
        id: id("formed.angle.left"),
        number: 2,
        gauge: GaugeKind::AngleGauge,
        nominal: Quantity::Angle(degrees("90 deg")),
        limits: Limits::new(None, Some(Quantity::Angle(degrees("90°30'")))).unwrap(),
        tolerance: Tolerance::Stated,
        ..height.clone()
    };
    let shapes = [
        StrokeShape::Line {
            from: point("0 mm", "0 mm"),
            to: point("286 mm", "-1 mm"),
        },
        StrokeShape::Circle {
            centre: point("5 mm", "5 mm"),
            radius: mm("1/16 in"),
        },
        StrokeShape::Arc {
            centre: point("0 mm", "0 mm"),
            radius: mm("3 mm"),
            start: degrees("0 deg"),
            sweep: degrees("-90 deg"),
        },
    ];
    let layers = [Layer::Cut, Layer::Bend, Layer::Section];
    let dimensions = [
        DimensionShape::Linear {
            from: point("0 mm", "0 mm"),
            to: point("286 mm", "0 mm"),
            offset: mm("-10 mm"),
        },
        DimensionShape::Diameter {
            centre: point("5 mm", "5 mm"),
            radius: mm("1/16 in"),
        },
        DimensionShape::Angle {
            vertex: point("0 mm", "0 mm"),
            from: point("1 mm", "0 mm"),
            to: point("0 mm", "1 mm"),
        },
    ];
    PartPlan {
        part: id("B2"),
        title: "Float bulkhead, bay 2 – µ".into(),
        quantity: 4,
        sheet: Sheet {
            alloy: "5052-H32".into(),
            thickness: mm("0.032 in"),
        },
        digest: "0f".repeat(32),
        characteristics: vec![height, angle],
        views: vec![View {
            stage: Stage::Formed,
            title: "from outside".into(),
            strokes: layers
                .into_iter()
                .zip(shapes)
                .map(|(layer, shape)| Stroke { layer, shape })
                .collect(),
            dimensions: dimensions
                .into_iter()
                .map(|shape| Dimension {
                    characteristic: id("formed.height.left"),
                    shape,
                })
                .collect(),
        }],
        warnings: vec![Warning {
            what: "radius below the usual minimum".into(),
            source: "common practice, no source".into(),
        }],
        mirrored: None,
        fit: None,
        bends: vec![],
    }
}

/// A revision with what was added to the format later.
fn bent_plan() -> PartPlan {
    PartPlan {
        characteristics: vec![],
        views: vec![],
        warnings: vec![],
        bends: vec![
            Bend {
                line: id("blank.line.left"),
                angle: degrees("90 deg"),
                radius: mm("1/8 in"),
                allowance: mm("5.551 mm"),
                way: BendWay::Down,
                trim: Some(mm("1/8 in")),
            },
            Bend {
                line: id("blank.line.right"),
                angle: degrees("30 deg"),
                radius: mm("0 mm"),
                allowance: mm("1 mm"),
                way: BendWay::Up,
                trim: None,
            },
        ],
        ..saltmarsh_plan()
    }
}

/// The same part, made in pairs, fitted to a skin, with a mean, a difference and a gap.
pub(super) fn paired_plan() -> PartPlan {
    let mut plan = saltmarsh_plan();
    let height = plan.characteristics[0].clone();
    plan.characteristics[0].follows = Some(Follows {
        characteristic: id("formed.opening.width"),
        planned: Quantity::Length(mm("286 mm")),
    });
    let computed = |name: &str, derived| Characteristic {
        id: id(name),
        derived: Some(derived),
        ..height.clone()
    };
    plan.characteristics.extend([
        computed(
            "formed.diagonal.difference",
            Derived::Difference {
                of: [id("formed.diagonal.rise"), id("formed.diagonal.fall")],
                absolute: true,
            },
        ),
        computed(
            "formed.taper.left",
            Derived::Difference {
                of: [id("formed.width.left"), id("formed.width.left.far")],
                absolute: false,
            },
        ),
        computed(
            "formed.height.left.mean",
            Derived::Mean {
                of: id("formed.height.left"),
                readings: 3,
            },
        ),
    ]);
    plan.mirrored = Some(Mirrored {
        words: plan
            .characteristics
            .iter()
            .map(|c| shared_types::Words {
                name: c.name.replace("left", "right"),
                how: c.how.clone(),
                if_small: c.if_small.clone(),
                if_large: c.if_large.clone(),
            })
            .collect(),
        views: plan.views.clone(),
    });
    plan.fit = Some(Fit {
        into: id("S2"),
        clearance: mm("0.5 mm"),
        source: FitSource::Measured,
    });
    plan
}

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
    }
}

/// Gauges with all that can be stated of them.
fn trusted_setup() -> Setup {
    let gauge = |name: &str, kind, trust| GaugeSetup {
        id: id(name),
        title: name.into(),
        bench: id("bench-1"),
        kind: Some(kind),
        serial_number: "S 17".into(),
        trust,
    };
    let caliper = Trust {
        resolution: Some(Quantity::Length(mm("0.01 mm"))),
        limit_of_error: Some(LimitOfError::Din862),
        calibrated_until: Day::new(2027, 3, 31),
        check_every_days: Some(7),
        references: vec![
            Reference {
                name: "gauge block 25".into(),
                value: Quantity::Length(mm("25 mm")),
                faces: Faces::Outside,
            },
            Reference {
                name: "ring 50".into(),
                value: Quantity::Length(mm("50 mm")),
                faces: Faces::Inside,
            },
        ],
        silent_after_s: Some(60),
    };
    let angle = Trust {
        limit_of_error: Some(LimitOfError::Stated(Quantity::Angle(degrees("0.2 deg")))),
        ..Trust::default()
    };
    Setup {
        build: "Saltmarsh".into(),
        units: DisplayUnits::Mm,
        benches: vec![(id("bench-1"), "By the window".into())],
        gauges: vec![
            gauge("caliper-1", GaugeKind::Caliper, caliper),
            gauge("angle-1", GaugeKind::AngleGauge, angle),
        ],
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
                }],
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
            },
            None,
        ),
        (
            Event::Assigned {
                bench: id("bench-1"),
                reading: Seq(27),
                characteristic: id("formed.angle.left"),
                unit: None,
                form: Some(Form::Supplement),
            },
            judged(Quantity::parse("88.5 deg").unwrap(), Verdict::Pass),
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
        "nothing-on-bench nothing-due fits-nothing fits-another fits-two wrong-unit unknown-gauge id-reused perhaps-repeat pressed-twice other-leg other-sign",
    );
    check::<Layer>("cut bend section hidden");
    check::<NoReading>("bounce unsettled echo too-fast");
    check::<Stage>("blocks blank formed trimmed fit-up");
    check::<Unit>("um mm cm m in deg");
    check::<Verdict>("pass small large");
    check::<Via>("serial mqtt mqtt-again typed");
}

/// Each line is the fixture's reading with one thing made wrong.
#[test]
fn a_body_that_breaks_an_invariant_is_refused() {
    let good = FIXTURE.lines().nth(5).unwrap();
    decode(good).unwrap();
    for (part, wrong) in [
        (r#""caliper-1""#, r#""caliper 1""#),
        (r#""B2/3""#, r#""B2/03""#),
        (r#""B2/3""#, r#""B2/0""#),
        (r#""pass""#, r#""passed""#),
        (r#""mm""#, r#""furlong""#),
        (r#"{"pm":12700000000}"#, r#"{"pm":1000000000000001}"#),
        (r#"{"pm":12700000000}"#, r#"{"pm":12.7}"#),
        (r#""v":"mqtt""#, r#""v":"mqtt","v":"mqtt""#),
        (r#""v":"mqtt""#, r#""v":"mqtt","more":1"#),
        (r#""b":"+0012.70mm","#, ""),
        (r#""b":"+0012.70mm""#, r#""b":"1","x":"MQ""#),
        (r#""b":"+0012.70mm""#, r#""x":"?""#),
        (r#","d":["12.70","mm",{"pm":12700000000}]"#, ""),
        (r#","d":["#, r#","u":"cut","d":["#),
        (r#"{"pm":12700000000}]"#, r#"{"pm":12700000000}],"c":2"#),
        (
            r#"{"pm":12700000000}]"#,
            r#"{"pm":12700000000}],"s":"echo","c":1"#,
        ),
        (r#"}}}"#, r#"}}} "t""#),
    ] {
        let body = good.replacen(part, wrong, 1);
        assert_ne!(body, good, "{part} is not in the fixture");
        assert!(decode(&body).is_err(), "{body}");
    }
    let plan = FIXTURE.lines().nth(1).unwrap();
    let crossed = plan.replacen(r#""l":{"pm":12500000000}"#, r#""l":{"pm":12900000001}"#, 1);
    assert_ne!(crossed, plan);
    assert!(decode(&crossed).is_err());
    let paired = FIXTURE.lines().nth(13).unwrap();
    decode(paired).unwrap();
    for (part, wrong) in [
        (
            r#""mean":["formed.height.left",3]"#,
            r#""mean":["formed.height.left",1]"#,
        ),
        (
            r#""mean":["formed.height.left",3]"#,
            r#""mean":["formed.height.left",26]"#,
        ),
        // Words for one characteristic more than there are.
        (r#""m":{"w":["#, r#""m":{"w":[["","","",""],"#),
        (r#""s":"measured""#, r#""s":"guessed""#),
    ] {
        let body = paired.replacen(part, wrong, 1);
        assert_ne!(body, paired, "{part} is not in the fixture");
        assert!(decode(&body).is_err(), "{body}");
    }
    let verdict_on_nothing =
        FIXTURE
            .lines()
            .nth(9)
            .unwrap()
            .replacen(r#""q":{"pm":12700000000},"#, "", 1);
    assert!(decode(&verdict_on_nothing).is_err());
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
