//! Temperatures through the real program: typed and from a thermometer over MQTT, lengths corrected by them, in the
//! record and after a restart.
#![allow(missing_docs, clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::path::Path;

use oddleg_tests::daemon::Daemon;
use oddleg_tests::door::Door;
use oddleg_tests::program;
use oddleg_tests::workshop::Workshop;
use rumqttc::{Event, Packet, QoS};
use serde_json::json;

const WARM: &str = r#"
[temperature]
correct = true
shop = "15 C to 30 C"

[sensor.shelf]
bench = "bench-1"
of = "gauge"
unit = "C"
"#;

/// The observations of the record: the value, as read, and what was made of the temperature.
fn observations(dir: &Path) -> Vec<[String; 3]> {
    let out = dir.join("build.csv");
    let run = program::run(["record".as_ref(), dir, "--out".as_ref(), &out]);
    assert_eq!(run.code, Some(0), "{}", run.complained);
    csv::Reader::from_path(&out)
        .unwrap()
        .deserialize::<BTreeMap<String, String>>()
        .map(Result::unwrap)
        .filter(|row| row["kind"] == "observation")
        .map(|row| ["value", "as_read", "correction"].map(|column| row[column].clone()))
        .collect()
}

/// 286.1 (1 + 11.5e-6 × 10) / (1 + 23.76e-6 × 10), computed with Python 3's `fractions`: aluminium 5052 measured with a
/// steel caliper, both at 30 °C.
#[tokio::test(flavor = "multi_thread")]
async fn a_reading_is_corrected_by_a_typed_and_a_sensed_temperature_and_says_so_in_the_record() {
    const AT_20: &str = "286.064932472 mm";
    let door = Door::new();
    let client = door.toml().replace(
        "[mqtt.client.lamp]",
        "sensors = [\"shelf\"]\ngauges = [\"bridge-1\"]\n\n[mqtt.client.lamp]",
    );
    let workshop = Workshop::plate(&(client + WARM));
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    let person = &daemon.person;
    let mut caliper = daemon.plug("caliper-1", &workshop.port("caliper-1"));
    let lay = |piece: &str| {
        let laid = json!({"bench": "bench-1", "piece": piece, "stage": "blank"});
        person.post("/api/bench", &laid);
    };
    lay("P1/1");
    assert!(
        person
            .text("/bench/bench-1")
            .contains("not corrected to 20 °C until the temperature is given")
    );
    let uncorrected = daemon.hears(&mut caliper, b"286.10 mm\r");
    let finding = &person.entry(uncorrected)["finding"]["judged"];
    assert_eq!(finding["correction"], json!({"not": "no-temperature"}));
    assert_eq!(finding["value"], json!({"pm": 286_100_000_000_i64}));

    let (bridge, mut connection) = door.client(oddleg_tests::broker::BRIDGE, "handle");
    let before = person.newest();
    bridge
        .publish(
            "oddleg/sensors/shelf/temperature",
            QoS::AtLeastOnce,
            false,
            "30.0",
        )
        .await
        .unwrap();
    // Acknowledged is on disk.
    while !matches!(
        connection.poll().await.unwrap(),
        Event::Incoming(Packet::PubAck(_))
    ) {}
    assert_eq!(person.newest(), before + 1);
    let sensed = &person.entry(before + 1)["event"]["temperature"];
    assert_eq!(sensed["sensor"], "shelf");
    assert_eq!(sensed["value"], "30 °C");
    let warm = json!({"bench": "bench-1", "temperature": "86 F", "of": "piece"});
    let typed = person.post("/api/temperatures", &warm);
    person.post(
        "/api/bench",
        &json!({"bench": "bench-1", "next": "blank.width"}),
    );
    let corrected = daemon.hears(&mut caliper, b"286.10 mm\r");
    let state = person.get("/api/bench?bench=bench-1");
    assert_eq!(state["last"]["value"], AT_20, "{state}");
    assert_eq!(state["last"]["as_read"], "286.1 mm");
    let page = person.text("/bench/bench-1");
    assert!(page.contains("at 20 °C; read as 286.10 mm, piece 30 °C, gauge 30 °C"));

    // The record says the same before and after a restart, and what was typed still holds.
    let recorded = observations(workshop.path());
    let by = format!(
        "to 20 °C: piece 30 °C (entry {typed}, 23.76e-6 / K), gauge 30 °C (entry {}, 11.5e-6 / K)",
        before + 1
    );
    let not = "not to 20 °C: no temperature was known; type it, or look at the sensor";
    assert_eq!(
        recorded,
        [
            ["286.1 mm", "", not].map(str::to_owned),
            [AT_20, "286.1 mm", &by].map(str::to_owned),
        ]
    );
    drop(daemon);
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    assert_eq!(observations(workshop.path()), recorded);
    let state = daemon.person.get("/api/bench?bench=bench-1");
    assert_eq!(state["last"]["seq"], corrected);
    assert_eq!(state["last"]["value"], AT_20);
    assert_eq!(state["temperatures"].as_array().unwrap().len(), 2);
    let page = daemon.person.text("/bench/bench-1");
    assert!(page.contains("Temperature: piece 30 °C, gauge 30 °C"));
}

#[test]
fn every_mistake_about_temperatures_is_told_at_once_with_its_line() {
    let workshop = Workshop::plate(
        r#"
[gauge.angle-1]
bench = "bench-1"
kind = "angle-gauge"
via = "serial"
port = "gauges/angle-1"
expansion = "11.5e-6 / K"

[temperature]
correct = "yes"
shop = "28 C to 15 C"
uncertainty = "1 C"
typed_holds = "2 days"

[sensor.shelf]
bench = "bench-9"
of = "shop"
unit = "K"
"#,
    );
    let part = workshop.path().join("parts/P1.toml");
    let text = std::fs::read_to_string(&part).unwrap();
    let wrong = text.replace("thickness", "expansion = \"23.6\"\nthickness");
    std::fs::write(&part, wrong).unwrap();
    let run = program::run(["check".as_ref(), workshop.path()]);
    assert_eq!(run.code, Some(64));
    for told in [
        "angle-1",
        "correct",
        "the colder one first",
        "\"1 K\"",
        "a time from 1 min to a day",
        "expected one of bench-1",
        "expected \"both\", \"piece\" or \"gauge\"",
        "expected \"C\" or \"F\"",
        "23.6e-6 / K",
    ] {
        assert!(run.complained.contains(told), "{told}: {}", run.complained);
    }
}
