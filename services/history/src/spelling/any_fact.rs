//! Any fact the types can hold, for the property tests of the spelling.

use std::sync::Arc;

use proptest::prelude::*;
use proptest::sample::select;
use shared_types::{
    Angle, Candidate, DISPOSITIONS, Day, Decoded, DerivedFinding, DisplayUnits, Event, Faces,
    Finding, FirstArticle, FittedNominal, Form, Garbled, GaugeSetup, GaugeState, Hand, HeldReason,
    Length, LimitOfError, Limits, NoReading, Observation, PieceId, Quantity, Reading, Reference,
    Rule, STAGES, SameOffset, Seq, Setup, Stage, StatedExpansion, StatedPart, StatedSpread,
    StudyAct, StudyCell, StudyPlan, Suppressed, Trust, Unit, Verdict, Via,
};

use super::any_climate::{climate, correction, expansion, temperature, temperature_of};
use super::tests::grounds::any_grounds;
use super::tests::plans::{id, paired_plan, saltmarsh_plan};

fn name() -> impl Strategy<Value = String> {
    "[a-zA-Z0-9][a-zA-Z0-9._-]{0,20}"
}

pub(super) fn quantity() -> impl Strategy<Value = Quantity> {
    prop_oneof![
        (-1_000_000_000_000_000_i64..=1_000_000_000_000_000)
            .prop_map(|pm| Quantity::Length(Length::from_pm(pm).unwrap())),
        (-12_960_000_000_i64..=12_960_000_000)
            .prop_map(|mas| Quantity::Angle(Angle::from_mas(mas).unwrap())),
    ]
}

fn form() -> impl Strategy<Value = Option<Form>> {
    prop::option::of(select(Form::ALL.to_vec()))
}

fn unit() -> impl Strategy<Value = Unit> {
    select(vec![
        Unit::Micrometre,
        Unit::Millimetre,
        Unit::Centimetre,
        Unit::Metre,
        Unit::Inch,
        Unit::Degree,
    ])
}

fn stage() -> impl Strategy<Value = Stage> {
    select(STAGES.to_vec())
}

fn piece() -> impl Strategy<Value = PieceId> {
    let hand = select(vec![None, Some(Hand::Left), Some(Hand::Right)]);
    (name(), 1_u32.., hand).prop_map(|(part, number, hand)| {
        let piece = PieceId::new(id(&part), number).unwrap();
        match hand {
            Some(hand) => piece.handed(hand),
            None => piece,
        }
    })
}

fn garbled() -> impl Strategy<Value = Garbled> {
    select(vec![
        Garbled::Grammar,
        Garbled::Range,
        Garbled::Unit,
        Garbled::Oversize,
        Garbled::Cut,
        Garbled::Retained,
        Garbled::Json,
        Garbled::Name,
        Garbled::Device,
        Garbled::Battery,
        Garbled::Overflow,
        Garbled::Channel,
        Garbled::NoAnswer,
    ])
}

pub(super) fn event() -> impl Strategy<Value = Event> {
    let via = select(vec![Via::Serial, Via::Mqtt, Via::MqttAgain, Via::Typed]);
    let raw = prop_oneof![
        prop::collection::vec(any::<u8>(), 0..40),
        "[ -~]{0,40}".prop_map(String::into_bytes),
    ];
    let reading = (any::<String>(), unit(), quantity()).prop_map(|(digits, unit, value)| Reading {
        digits,
        unit,
        value,
    });
    let reading = reading.boxed();
    let no_reading = select(vec![
        NoReading::Bounce,
        NoReading::Unsettled,
        NoReading::Echo,
        NoReading::TooFast,
    ]);
    let decoded = prop_oneof![
        reading.clone().prop_map(Decoded::Reading),
        garbled().prop_map(Decoded::Garbled),
        (garbled(), 2_u64..).prop_map(|(why, count)| Decoded::Flood { why, count }),
        (no_reading, 1_u64.., prop::option::of(reading))
            .prop_map(|(why, count, last)| Decoded::Suppressed(Suppressed { why, count, last })),
    ];
    let state = select(vec![
        GaugeState::Unknown,
        GaugeState::Connected,
        GaugeState::Unplugged,
        GaugeState::Offline,
        GaugeState::Silent,
    ]);
    prop_oneof![
        6 => (name(), via, raw, decoded).prop_map(|(gauge, via, raw, decoded)| {
            Event::Observed(Observation { gauge: id(&gauge), via, raw, decoded })
        }),
        1 => (name(), state).prop_map(|(gauge, state)| Event::GaugeSeen { gauge: id(&gauge), state }),
        1 => (name(), any::<String>())
            .prop_map(|(bench, name)| Event::Operator { bench: id(&bench), name }),
        1 => (name(), piece(), stage(), prop::option::of(any::<String>()))
            .prop_map(|(bench, piece, stage, reason)| Event::Laid { bench: id(&bench), piece, stage, reason }),
        1 => disposed(),
        1 => (name(), piece(), piece())
            .prop_map(|(bench, piece, mate)| Event::Mated { bench: id(&bench), piece, mate }),
        1 => name().prop_map(|part| Event::Withdrawn(id(&part))),
        1 => (name(), name()).prop_map(|(bench, characteristic)| Event::Picked {
            bench: id(&bench),
            characteristic: id(&characteristic),
        }),
        1 => (name(), any::<u64>(), name(), prop::option::of(unit()), form()).prop_map(
            |(bench, reading, characteristic, unit, form)| Event::Assigned {
                bench: id(&bench),
                reading: Seq(reading),
                characteristic: id(&characteristic),
                unit,
                form,
            }
        ),
        1 => (name(), any::<u64>(), any::<String>(), any::<bool>()).prop_map(
            |(bench, reading, reason, void)| {
                let (bench, reading) = (id(&bench), Seq(reading));
                if void {
                    Event::Voided { bench, reading, reason }
                } else {
                    Event::Dismissed { bench, reading, reason }
                }
            }
        ),
        1 => (name(), name(), prop::option::of(any::<String>())).prop_map(|(bench, gauge, reference)| {
            let (bench, gauge) = (id(&bench), id(&gauge));
            match reference {
                Some(reference) => Event::CheckBegun { bench, gauge, reference },
                None => Event::CheckLeft { bench, gauge },
            }
        }),
        1 => (name(), temperature_of(), temperature(), prop::option::of(name())).prop_map(
            |(bench, of, value, sensor)| Event::Temperature {
                bench: id(&bench),
                of,
                value,
                sensor: sensor.map(|sensor| id(&sensor)),
            }
        ),
        1 => (name(), name(), study()).prop_map(|(bench, gauge, act)| Event::Study {
            bench: id(&bench),
            gauge: id(&gauge),
            act,
        }),
        1 => (any::<String>(), any::<String>(), name(), trust(), climate(), any::<(bool, u32)>()).prop_map(|(version, text, gauge, trust, climate, (required, mates))| {
            Event::Opened {
                version,
                setup: Setup {
                    build: text.clone(),
                    units: DisplayUnits::Mm,
                    benches: vec![(id(&gauge), text.clone())],
                    gauges: vec![GaugeSetup {
                        id: id(&gauge),
                        title: text.clone(),
                        bench: id(&gauge),
                        kind: None,
                        serial_number: text,
                        trust,
                    }],
                    decision: Rule::Plain,
                    first_article: FirstArticle { required, mates },
                    climate,
                },
            }
        }),
        1 => (any::<[String; 5]>(), any::<bool>(), prop::option::of(expansion())).prop_map(|([title, rule, how, what, source], paired, expansion)| {
            let mut plan = if paired { paired_plan() } else { saltmarsh_plan() };
            plan.title = title;
            plan.sheet.expansion = expansion.map(|value| StatedExpansion { value, source });
            plan.characteristics[0].rule = rule;
            plan.characteristics[1].how = how;
            plan.warnings[0].what = what;
            Event::Adopted(Arc::new(plan))
        }),
    ]
}

fn disposed() -> impl Strategy<Value = Event> {
    (
        name(),
        piece(),
        prop::option::of(name()),
        prop::option::of(any::<u64>()),
        select(DISPOSITIONS.to_vec()),
        any::<[String; 2]>(),
    )
        .prop_map(
            |(bench, piece, characteristic, reading, disposition, [by, reason])| Event::Disposed {
                bench: id(&bench),
                piece,
                characteristic: characteristic.map(|c| id(&c)),
                reading: reading.map(Seq),
                disposition,
                by,
                reason,
            },
        )
}

fn study() -> impl Strategy<Value = StudyAct> {
    let plan = (
        any::<String>(),
        prop::option::of(quantity()),
        any::<u8>(),
        prop::collection::vec(any::<String>(), 0..3),
        any::<u8>(),
    );
    prop_oneof![
        plan.prop_map(
            |(of, width, pieces, appraisers, trials)| StudyAct::Begun(StudyPlan {
                of,
                width,
                pieces,
                appraisers,
                trials,
            })
        ),
        any::<u64>().prop_map(|study| StudyAct::Resumed(Seq(study))),
        Just(StudyAct::Left),
    ]
}

fn trust() -> impl Strategy<Value = Trust> {
    let faces = select(vec![Faces::Outside, Faces::Inside, Faces::Depth]);
    let limit = prop_oneof![
        Just(LimitOfError::Din862),
        quantity().prop_map(LimitOfError::Stated),
    ];
    let day = (1_u16..=9999, 1_u8..=12, 1_u8..=28).prop_map(|(y, m, d)| Day::new(y, m, d).unwrap());
    let reference = (any::<String>(), quantity(), faces)
        .prop_map(|(name, value, faces)| Reference { name, value, faces });
    (
        prop::option::of(quantity()),
        prop::option::of(limit),
        prop::option::of(day),
        prop::option::of(any::<u32>()),
        prop::collection::vec(reference, 0..3),
        prop::option::of(any::<u32>()),
        prop::collection::vec(stated(), 0..3),
        prop::collection::vec(name(), 0..2),
        prop::option::of(expansion()),
    )
        .prop_map(
            |(
                resolution,
                limit_of_error,
                calibrated_until,
                check_every_days,
                references,
                silent_after_s,
                uncertainty,
                typed_from,
                expansion,
            )| Trust {
                resolution,
                limit_of_error,
                calibrated_until,
                check_every_days,
                references,
                silent_after_s,
                uncertainty,
                typed_from: typed_from.iter().map(|gauge| id(gauge)).collect(),
                expansion,
            },
        )
}

fn stated() -> impl Strategy<Value = StatedPart> {
    let spread = prop_oneof![
        Just(StatedSpread::Normal),
        (100_u32..=1000).prop_map(StatedSpread::Expanded),
        Just(StatedSpread::Rectangular),
        Just(StatedSpread::Triangular),
        Just(StatedSpread::UShaped),
    ];
    let freedom = prop::option::of(any::<u32>());
    (
        any::<[String; 2]>(),
        quantity(),
        spread,
        freedom,
        any::<bool>(),
    )
        .prop_map(
            |([name, source], value, spread, freedom, repeats)| StatedPart {
                name,
                value,
                spread,
                source,
                freedom,
                repeats,
            },
        )
}

pub(super) fn finding() -> impl Strategy<Value = Finding> {
    let verdict = select(vec![
        Verdict::Pass,
        Verdict::TooSmall,
        Verdict::TooLarge,
        Verdict::Undecided,
    ]);
    let grounded =
        || quantity().prop_flat_map(|value| any_grounds(value).prop_map(move |g| (value, g)));
    let derived = (
        name(),
        grounded(),
        verdict.clone(),
        prop::collection::vec(any::<u64>(), 0..4),
    )
        .prop_map(
            |(characteristic, (value, grounds), verdict, from)| DerivedFinding {
                characteristic: id(&characteristic),
                value,
                verdict,
                from: from.into_iter().map(Seq).collect(),
                grounds,
            },
        )
        // Boxed here and below, or the strategy as a whole is too large for the stack of a test.
        .boxed();
    let nominal = (name(), quantity(), any::<u64>()).prop_map(|(characteristic, nominal, from)| {
        FittedNominal {
            characteristic: id(&characteristic),
            nominal,
            limits: Limits::new(None, Some(nominal)).unwrap(),
            from: Seq(from),
        }
    });
    let fit = (
        prop::option::of(piece()),
        prop::option::of(any::<u64>()),
        prop::collection::vec(derived, 0..3),
        prop::option::of(correction()),
    )
        .boxed();
    let reason = select(vec![
        HeldReason::NothingOnBench,
        HeldReason::NothingDue,
        HeldReason::FitsNothing,
        HeldReason::FitsAnother,
        HeldReason::FitsTwo,
        HeldReason::WrongUnit,
        HeldReason::UnknownGauge,
        HeldReason::IdReused,
        HeldReason::PerhapsRepeat,
        HeldReason::PressedTwice,
        HeldReason::OtherLeg,
        HeldReason::OtherSign,
        HeldReason::NotZeroed,
        HeldReason::OtherBench,
    ]);
    let candidate = (name(), unit(), form())
        .prop_map(|(characteristic, unit, form)| Candidate {
            characteristic: id(&characteristic),
            unit,
            form,
        })
        .boxed();
    prop_oneof![
        Just(Finding::Noted),
        (
            piece(),
            name(),
            any::<u64>(),
            grounded(),
            verdict.clone(),
            fit
        )
            .prop_map(
                |(
                    piece,
                    characteristic,
                    revision,
                    (value, grounds),
                    verdict,
                    (into, fitted, derived, correction),
                )| {
                    Finding::Judged {
                        piece,
                        characteristic: id(&characteristic),
                        revision: Seq(revision),
                        value,
                        verdict,
                        into,
                        fitted: fitted.map(Seq),
                        derived,
                        grounds,
                        correction,
                    }
                }
            )
            .boxed(),
        (any::<String>(), quantity(), quantity(), verdict).prop_map(
            |(reference, wanted, limit, verdict)| Finding::Checked {
                reference,
                wanted,
                limit,
                verdict
            }
        ),
        (any::<u64>(), any::<[u8; 3]>()).prop_map(|(study, [appraiser, piece, trial])| {
            let cell = StudyCell {
                appraiser,
                piece,
                trial,
            };
            Finding::Studied {
                study: Seq(study),
                cell,
            }
        }),
        prop::collection::vec(nominal, 0..3).prop_map(|nominals| Finding::Fitted { nominals }),
        (
            reason,
            prop::option::of((piece(), stage())),
            prop::collection::vec(candidate, 0..3),
            prop::option::of((quantity(), prop::collection::vec(any::<u64>(), 0..3)))
        )
            .prop_map(|(reason, on_bench, candidates, offset)| Finding::Held {
                reason,
                on_bench,
                candidates,
                offset: offset.map(|(by, readings)| SameOffset {
                    by,
                    readings: readings.into_iter().map(Seq).collect(),
                }),
            })
            .boxed(),
    ]
    .boxed()
}
