use proptest::prelude::*;
use shared_types::{Decoded, GaugeId, GaugeKind, GaugeState, Observation, Unit, Via};

use super::{Meaning, Message, meaning};
use crate::mqtt::Topics;
use crate::{Dialect, FRAME_BYTES_MAX};

fn topics() -> Topics {
    let mut topics = Topics::default();
    let comma = Dialect::line(Unit::Millimetre, ',', Some(GaugeKind::Caliper));
    let name = GaugeId::new("comma").unwrap();
    topics.dialects.insert(name, comma);
    topics
}

fn message<'a>(topic: &'a str, payload: &'a [u8]) -> Message<'a> {
    Message {
        topic,
        payload,
        kept: false,
        again: false,
    }
}

fn observed(message: &Message<'_>) -> (Observation, Option<String>) {
    match meaning(&topics(), message) {
        Meaning::Observed { said, key } => (said.observation(), key),
        other => panic!("{other:?}"),
    }
}

fn said(topic: &str, payload: &str) -> String {
    let (observation, key) = observed(&message(topic, payload.as_bytes()));
    let decoded = match observation.decoded {
        Decoded::Reading(r) => format!("{} {}", r.digits, r.unit.sign()),
        Decoded::Garbled(why) => format!("{why:?}"),
        other => panic!("{other:?} is not told of a message"),
    };
    match key {
        Some(key) => format!("{decoded} {key}"),
        None => decoded,
    }
}

const READING: &str = "oddleg/gauges/caliper-1/reading";

#[test]
fn a_payload_is_a_line_or_json_whose_value_is_taken_digit_for_digit() {
    let cases = [
        ("+  12.340, MM\r\n", "12.340 mm"),
        ("12.34", "12.34 mm"),
        ("12.34\n\n", "Grammar"),
        (r#"{"value": "12.34", "unit": "mm"}"#, "12.34 mm"),
        (r#"{"value": 12.340}"#, "12.340 mm"),
        // Through a double this would be 0.1 and 20 digits of noise.
        (r#"{"value": 0.100000000, "unit": "in"}"#, "0.100000000 in"),
        (
            r#"{"value": -0.05, "id": "7f"}"#,
            "-0.05 mm mqtt:caliper-1:7f",
        ),
        (
            r#"{"value": "90.5", "unit": "deg", "at": "2026-11-25T16:05:00Z"}"#,
            "90.5 \u{b0}",
        ),
        (r#"{"value": "12.3 mm", "unit": "mm"}"#, "12.3 mm"),
        (r#"{"value": "12.3 mm", "unit": "in"}"#, "Unit"),
        (
            r#"{"value": 12.3, "unit": "parsec", "id": "8"}"#,
            "Unit mqtt:caliper-1:8",
        ),
        (r#"{"value": 1e3}"#, "Grammar"),
        (
            r#"{"value": "twelve", "id": "9"}"#,
            "Grammar mqtt:caliper-1:9",
        ),
        (r#"{"value": null}"#, "Json"),
        (r#"{"value": [1]}"#, "Json"),
        (r#"{"value": 012}"#, "Json"),
        (r#"{"unit": "mm"}"#, "Json"),
        (r#"{"value": 1, "value": 2}"#, "Json"),
        (r#"{"value": 1, "Value": 2}"#, "Json"),
        (r#"{"value": 1, "id": "a", "id": "b"}"#, "Json"),
        (r#"{"value": 1, "scale": 10}"#, "Json"),
        (r#"{"value": 1, "id": ""}"#, "Json"),
        (r#"{"value": 1, "at": "yesterday"}"#, "Json"),
        (r#"{"value": 1} {"value": 2}"#, "Json"),
        ("{", "Json"),
        ("", "Grammar"),
    ];
    for (payload, expected) in cases {
        assert_eq!(said(READING, payload), expected, "{payload}");
    }
}

#[test]
fn a_json_number_has_a_point_also_where_the_gauge_speaks_with_a_comma() {
    let topic = "oddleg/gauges/comma/reading";
    assert_eq!(said(topic, "12,34"), "12.34 mm");
    assert_eq!(said(topic, r#"{"value": 12.34}"#), "12.34 mm");
    assert_eq!(said(topic, r#"{"value": "12,34"}"#), "12.34 mm");
    assert_eq!(said(topic, r#"{"value": "12.34"}"#), "Grammar");
    assert_eq!(said(topic, r#"{"value": 90, "unit": "deg"}"#), "Unit");
}

#[test]
fn a_gauge_level_that_is_no_name_is_kept_with_its_topic() {
    for gauge in ["", "a b", "-x", "ü", &"g".repeat(65)] {
        let topic = format!("oddleg/gauges/{gauge}/reading");
        let (observation, _) = observed(&message(&topic, b"12.34"));
        assert_eq!(observation.gauge.as_str(), "unnamed");
        assert_eq!(observation.raw, format!("{topic} 12.34").into_bytes());
        assert_eq!(said(&topic, "12.34"), "Name");
    }
}

#[test]
fn a_kept_message_is_never_a_reading_but_a_kept_state_is_the_state() {
    let kept = |topic, payload| Message {
        kept: true,
        ..message(topic, payload)
    };
    for payload in [&b"12.34"[..], br#"{"value": 1, "id": "7"}"#, &[b'7'; 999]] {
        let (observation, key) = observed(&kept(READING, payload));
        assert_eq!(
            observation.decoded,
            Decoded::Garbled(shared_types::Garbled::Retained)
        );
        assert_eq!(key, None);
    }
    let topic = "oddleg/gauges/caliper-1/state";
    for (payload, expected) in [
        (&b"online"[..], GaugeState::Connected),
        (b"offline", GaugeState::Offline),
    ] {
        let gauge = GaugeId::new("caliper-1").unwrap();
        let state = Meaning::State {
            gauge,
            state: expected,
        };
        assert_eq!(meaning(&topics(), &kept(topic, payload)), state);
    }
    assert_eq!(said(topic, "asleep"), "Grammar");
}

#[test]
fn a_repeat_is_marked_as_one_only_where_no_id_can_tell() {
    let again = |payload| {
        observed(&Message {
            again: true,
            ..message(READING, payload)
        })
    };
    assert_eq!(again(b"12.34").0.via, Via::MqttAgain);
    let (observation, key) = again(br#"{"value": 1, "id": "7"}"#);
    assert_eq!(observation.via, Via::Mqtt);
    assert_eq!(key.as_deref(), Some("mqtt:caliper-1:7"));
}

#[test]
fn an_oversize_payload_is_kept_up_to_the_limit_of_a_frame() {
    let long = vec![b'1'; 60_000];
    for topic in [READING, "oddleg/gauges/caliper-1/state"] {
        let (observation, _) = observed(&message(topic, &long));
        assert_eq!(observation.raw.len(), FRAME_BYTES_MAX);
        assert_eq!(
            observation.decoded,
            Decoded::Garbled(shared_types::Garbled::Oversize)
        );
    }
}

proptest! {
    #[test]
    fn no_payload_and_no_topic_panics(topic in "(oddleg/gauges/)?.{0,80}", payload in proptest::collection::vec(any::<u8>(), 0..300)) {
        meaning(&topics(), &message(&topic, &payload));
    }
}
