//! Bridges that stream, played on a clock of the test's own.

use proptest::prelude::*;
use shared_types::{Decoded, Event, Garbled, GaugeId, GaugeState, Observation};

use super::Streams;
use crate::Dialect;
use crate::mqtt::{Played, Topics};
use crate::take::{Mode, Settle};
use crate::voice::{Recorded, SerialGauge};

const EACH_US: i64 = 100_000;

fn id(gauge: &str) -> GaugeId {
    GaugeId::new(gauge).unwrap()
}

fn streaming(asked: bool) -> Mode {
    Mode::Stream {
        settle: Settle {
            still_us: 600_000,
            count: 3,
            tremor: 20_000_000,
            move_min: 200_000_000,
            zero: 50_000_000,
        },
        asked,
    }
}

/// Bridges of these gauges, and the streams among them; what is not named is read message by message.
fn bridges(modes: &[(&str, Mode)]) -> (Played, Streams) {
    let streams = Streams::new(modes.iter().map(|(gauge, mode)| {
        let gauge = SerialGauge {
            gauge: id(gauge),
            dialect: Dialect::default(),
            mode: *mode,
        };
        (gauge, 500_000)
    }));
    let topics = Topics {
        streams: streams.clone(),
        ..Topics::default()
    };
    (Played::new(topics), streams)
}

fn words((_, event, key): (i64, Event, Option<String>)) -> String {
    let said = match event {
        Event::Observed(seen) => match seen.decoded {
            Decoded::Reading(reading) => reading.digits,
            Decoded::Garbled(why) => format!("{why:?}"),
            Decoded::Suppressed(passed) => format!("{} {:?}", passed.count, passed.why),
            Decoded::Flood { count, why } => format!("{count} {why:?}"),
        },
        Event::GaugeSeen { state, .. } => format!("{state:?}"),
        other => panic!("{other:?}"),
    };
    key.map_or(said.clone(), |key| format!("{said} {key}"))
}

#[test]
fn a_stream_behind_a_bridge_is_read_once_where_it_stands_and_only_the_reading_keeps_its_id() {
    let (mut bridge, _) = bridges(&[("radio-1", streaming(false))]);
    let (mut at_us, mut told) = (0, Vec::new());
    let sizes = [("0.00", 10), ("8.00", 1), ("12.70", 10), ("0.00", 10)];
    for (number, size) in sizes
        .iter()
        .flat_map(|(size, times)| std::iter::repeat_n(size, *times))
        .enumerate()
    {
        at_us += EACH_US;
        let payload = format!(r#"{{"value": {size}, "id": "{number}"}}"#);
        told.extend(bridge.reading(at_us, &id("radio-1"), payload.as_bytes()));
    }
    // Ten at rest, one on the way, and six before the seventh has stood for 0.6 s.
    let told: Vec<String> = told.into_iter().map(words).collect();
    assert_eq!(told, ["17 Unsettled", "12.70 mqtt:radio-1:17"]);
    // The last will: what was only counted is told before it.
    let gone = bridge.state(at_us, &id("radio-1"), GaugeState::Offline);
    let gone: Vec<String> = gone.into_iter().map(words).collect();
    assert_eq!(gone, ["13 Unsettled", "Offline"]);
    assert_eq!(bridge.end(at_us), []);
}

#[test]
fn a_stream_is_read_where_it_stands_once_asked_and_what_moves_on_is_told() {
    let (mut bridge, streams) = bridges(&[("radio-1", streaming(true))]);
    let mut at_us = 0;
    let mut sends = |sizes: &[&str]| {
        let mut told = Vec::new();
        for size in sizes {
            at_us += EACH_US;
            told.extend(bridge.reading(at_us, &id("radio-1"), size.as_bytes()));
        }
        (at_us, told.into_iter().map(words).collect::<Vec<_>>())
    };
    let (now_us, told) = sends(&["0.02"; 10]);
    assert_eq!(told, [""; 0]);
    streams.ask(&id("radio-1"), now_us);
    assert_eq!(streams.answer_by_us(), Some(now_us + 500_000));
    let (now_us, told) = sends(&["0.02"]);
    assert_eq!(told, ["10 Unsettled", "0.02"], "even at closed jaws");
    assert_eq!(streams.answer_by_us(), None);
    streams.ask(&id("radio-1"), now_us);
    let (now_us, told) = sends(&["3.00", "5.00", "7.00", "9.00", "11.00"]);
    assert_eq!(told, [""; 0]);
    let mut recorded = Recorded::new();
    streams.overdue(now_us - 1, &mut recorded);
    assert_eq!(recorded, []);
    streams.overdue(now_us, &mut recorded);
    assert_eq!(recorded.len(), 1);
    let why = recorded.remove(0).1.decoded;
    assert_eq!(why, Decoded::Garbled(Garbled::NoAnswer));
    assert_eq!(streams.answer_by_us(), None);
}

/// How many messages an entry stands for.
fn stands_for(observation: &Observation) -> u64 {
    match &observation.decoded {
        Decoded::Reading(_) | Decoded::Garbled(_) => 1,
        Decoded::Flood { count, .. } => *count,
        Decoded::Suppressed(passed) => passed.count,
    }
}

#[derive(Clone, Debug)]
enum Step {
    Say(usize, &'static str),
    Wait(i64),
    Ask,
    Leave,
}

fn step() -> impl Strategy<Value = Step> {
    let payloads = vec![
        "12.70",
        "12.71",
        "0.00",
        "286.10 mm",
        "noise",
        r#"{"value": 12.70, "id": "7"}"#,
        r#"{"value": 25.4, "id": "8"}"#,
        r#"{"value": }"#,
    ];
    prop_oneof![
        16 => (0..4_usize, prop::sample::select(payloads)).prop_map(|(gauge, said)| Step::Say(gauge, said)),
        4 => (0..900_000_i64).prop_map(Step::Wait),
        1 => Just(Step::Ask),
        1 => Just(Step::Leave),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn every_message_ends_as_exactly_one_of_reading_suppressed_or_garbled(
        steps in prop::collection::vec((step(), 1..40_usize), 0..60),
    ) {
        let names = ["settles", "waits", "bounces", "plain"];
        let (mut bridge, streams) = bridges(&[
            ("settles", streaming(false)),
            ("waits", streaming(true)),
            ("bounces", Mode::Send { interval_min_us: 300_000 }),
        ]);
        let (mut at_us, mut messages, mut unanswered) = (0_i64, 0, 0);
        let mut told = Vec::new();
        for (step, times) in steps {
            for _ in 0..times {
                at_us += 40_000;
                match step {
                    Step::Say(gauge, said) => {
                        messages += 1;
                        let all = bridge.reading(at_us, &id(names[gauge]), said.as_bytes());
                        // What makes room for it counts on this.
                        prop_assert!(all.len() <= super::STORED_MAX);
                        told.extend(all);
                    }
                    Step::Wait(us) => {
                        at_us += us;
                        told.extend(bridge.wait(at_us));
                    }
                    Step::Ask => streams.ask(&id("waits"), at_us),
                    Step::Leave => {
                        unanswered += u64::from(streams.answer_by_us().is_some());
                        let all = bridge.state(at_us, &id("waits"), GaugeState::Offline);
                        prop_assert!(all.len() <= super::STORED_MAX);
                        told.extend(all);
                    }
                }
            }
        }
        unanswered += u64::from(streams.answer_by_us().is_some());
        told.extend(bridge.end(at_us));
        let stored = told.iter().map(|(_, event, key)| match event {
            Event::Observed(seen) => {
                // An id belongs to the very message it came with.
                if key.is_some() {
                    assert!(matches!(seen.decoded, Decoded::Reading(_) | Decoded::Garbled(_)));
                    assert!(seen.raw.starts_with(b"{"));
                }
                stands_for(seen)
            }
            _ => 0,
        });
        // A question nobody answered is told as one garbled too, though it is no message.
        prop_assert_eq!(stored.sum::<u64>(), messages + unanswered);
    }
}
