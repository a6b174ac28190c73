//! A thermometer at both doors: what it says is an event once, and only while it is news.

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests, where a panic is the report"
)]

mod door;
mod support;

use door::{Door, SOON, publish};
use intake::mqtt::Sensor;
use shared_types::{
    BenchId, Decoded, Event, Garbled, Outcome, SensorId, Seq, Submission, TemperatureOf,
    TemperatureUnit,
};
use support::{Intake, Mosquitto};
use tokio::time::timeout;

fn said(submission: &Submission) -> String {
    match &submission.event {
        Event::Temperature {
            bench,
            of,
            value,
            sensor,
        } => format!("{bench} {} {value} {}", of.word(), sensor.as_ref().unwrap()),
        Event::Observed(seen) => match &seen.decoded {
            Decoded::Garbled(why) => format!("{} {why:?}", seen.gauge),
            other => panic!("{other:?}"),
        },
        other => panic!("{other:?}"),
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn at_our_own_door_a_temperature_is_acknowledged_once_it_is_on_disk_and_a_repeat_at_once() {
    const SHELF: &str = "oddleg/sensors/shelf/temperature";
    let mut door = Door::open().await;
    let mut bridge = door.known("caliper-2", "tide").await;
    bridge.send(&publish(SHELF, 1, "21.5")).await;
    // Not acknowledged: the other one, which is no news, waits behind it.
    bridge.send(&publish(SHELF, 2, "21.55")).await;
    let first = timeout(SOON, door.events.recv()).await.unwrap().unwrap();
    assert_eq!(said(&first), "bench-1 both 21.5 °C shelf");
    first.receipt.tell(Outcome::Committed(Seq(1)));
    assert_eq!(bridge.acknowledged().await, 1);
    assert_eq!(bridge.acknowledged().await, 2);
    bridge.send(&publish(SHELF, 3, "85.0")).await;
    let garbled = timeout(SOON, door.events.recv()).await.unwrap().unwrap();
    assert_eq!(said(&garbled), format!("shelf {:?}", Garbled::Range));
    garbled.receipt.tell(Outcome::Committed(Seq(2)));
    assert_eq!(bridge.acknowledged().await, 3);
    // It may speak for no other thermometer.
    bridge
        .send(&publish("oddleg/sensors/oven/temperature", 4, "21.5"))
        .await;
    assert_eq!(bridge.hears().await, None);
}

#[tokio::test(flavor = "multi_thread")]
async fn through_a_broker_what_it_had_kept_says_nothing_of_now() {
    // The shipped access list lets a user speak for the sensor of its own name.
    const TOPIC: &str = "oddleg/sensors/caliper-1/temperature";
    let broker = Mosquitto::start();
    assert!(broker.publish(&[(TOPIC, b"35".to_vec(), true)]).await);
    let mut settings = broker.settings();
    let sensor = Sensor {
        bench: BenchId::new("bench-1").unwrap(),
        of: TemperatureOf::Piece,
        unit: TemperatureUnit::Fahrenheit,
    };
    let name = SensorId::new("caliper-1").unwrap();
    settings.topics.sensors.insert(name, sensor);
    let mut intake = Intake::start(settings);
    intake.up().await;
    let now = r#"{"value": 70, "at": "2026-11-25T23:00:00Z"}"#;
    let messages = [
        ("oddleg/sensors/oven/temperature", b"50".to_vec(), false),
        (TOPIC, now.as_bytes().to_vec(), false),
    ];
    assert!(broker.publish(&messages).await);
    let told = intake.next().await;
    assert_eq!(said(&told), "bench-1 piece 70 °F caliper-1");
    told.receipt.tell(Outcome::Committed(Seq(1)));
}
