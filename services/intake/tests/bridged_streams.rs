//! Bridges that publish whatever the gauge shows, at our own door and behind the real broker: what becomes a
//! reading is acknowledged after its commit, what is passed over at once, and none is lost from the counts.

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests, where a panic is the report"
)]

mod door;
mod support;

use std::time::Duration;

use door::{Client, Door, publish};
use intake::mqtt::{Streams, Topics};
use intake::serial::SerialGauge;
use intake::{Dialect, Mode, Settle};
use rumqttc::mqttbytes::v4::Packet;
use shared_types::{Decoded, Event, GaugeId, Outcome, Receipt, Seq, Submission};
use support::{Intake, Mosquitto};
use tokio::time::timeout;

/// Topics where this gauge streams.
fn topics(gauge: &str) -> Topics {
    let settle = Settle {
        still_us: 200_000,
        count: 3,
        tremor: 20_000_000,
        move_min: 200_000_000,
        zero: 50_000_000,
    };
    let gauge = SerialGauge {
        gauge: GaugeId::new(gauge).unwrap(),
        dialect: Dialect::default(),
        mode: Mode::Stream {
            settle,
            asked: false,
        },
    };
    Topics {
        streams: Streams::new([(gauge, 1_000_000)]),
        ..Topics::default()
    }
}

/// What a submission stands for, with the reading's digits where it is one.
fn taken(submission: Submission) -> (u64, Option<String>, Receipt) {
    match submission.event {
        Event::Observed(seen) => match seen.decoded {
            Decoded::Reading(reading) => (1, Some(reading.digits), submission.receipt),
            Decoded::Suppressed(passed) => (passed.count, None, submission.receipt),
            other => panic!("{other:?}"),
        },
        other => panic!("{other:?}"),
    }
}

/// Says one value and waits a moment, as a gauge does.
async fn says(client: &mut Client, packet: &mut u16, value: &str) {
    *packet += 1;
    client.send(&publish(door::READING, *packet, value)).await;
    tokio::time::sleep(Duration::from_millis(20)).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn at_our_door_a_stream_is_acknowledged_as_it_passes_and_its_reading_after_the_commit() {
    let mut door = Door::hears(64, topics("caliper-2")).await;
    let mut bridge = door.known("caliper-2", "tide").await;
    let mut packet = 0;
    for value in ["0.00", "0.00", "6.00", "9.00"] {
        says(&mut bridge, &mut packet, value).await;
        assert_eq!(bridge.acknowledged().await, packet);
    }
    // It stands: at some message there is the count of those before, and the reading.
    let mut count = None;
    while count.is_none() {
        says(&mut bridge, &mut packet, "12.70").await;
        if let Ok(first) = door.events.try_recv() {
            count = Some(taken(first).0);
        } else {
            assert_eq!(bridge.acknowledged().await, packet);
        }
        assert!(packet < 1000, "it never stands still");
    }
    let (_, reading, receipt) = taken(door.next().await);
    assert_eq!(reading.as_deref(), Some("12.70"));
    assert_eq!(count, Some(u64::from(packet) - 1));
    // What follows waits behind it: acknowledgements keep the order.
    let read = packet;
    says(&mut bridge, &mut packet, "12.70").await;
    let silent = timeout(Duration::from_millis(300), bridge.hears()).await;
    assert!(
        silent.is_err(),
        "acknowledged before its commit: {silent:?}"
    );
    receipt.tell(Outcome::Committed(Seq(1)));
    assert_eq!(bridge.acknowledged().await, read);
    assert_eq!(bridge.acknowledged().await, packet);

    // Thrown out by its own next connection, and the stop: the counts of both are there.
    let mut again = door.known("caliper-2", "tide").await;
    assert_eq!(bridge.hears().await, None::<Packet>);
    says(&mut again, &mut packet, "12.71").await;
    assert_eq!(again.acknowledged().await, packet);
    door.stop.cancel();
    let (rest, _, _) = taken(door.next().await);
    assert_eq!(u64::from(read) + rest, u64::from(packet));
    timeout(door::SOON, door.task).await.unwrap().unwrap();
    assert!(door.events.try_recv().is_err());
}

#[tokio::test(flavor = "multi_thread")]
async fn behind_a_broker_what_became_no_committed_reading_comes_again() {
    let broker = Mosquitto::start();
    let settings = || {
        let mut settings = broker.settings();
        settings.topics = topics("caliper-1");
        settings
    };
    let mut intake = Intake::start(settings());
    intake.up().await;
    let value = |text: &str| [(support::READING, text.as_bytes().to_vec(), false)];
    let mut published = 0;
    for text in ["0.00", "0.00", "6.00", "9.00"] {
        assert!(broker.publish(&value(text)).await);
        published += 1;
    }
    let mut before = 0;
    loop {
        assert!(broker.publish(&value("12.70")).await);
        published += 1;
        tokio::time::sleep(Duration::from_millis(20)).await;
        if let Ok(first) = intake.submissions.try_recv() {
            before += taken(first).0;
            break;
        }
        assert!(published < 1000, "it never stands still");
    }
    let (_, reading, _never_told) = taken(intake.next().await);
    assert_eq!(reading.as_deref(), Some("12.70"));
    assert!(before < published);
    intake.crash().await;

    // The one that was not committed was not acknowledged: it comes again, and those after it.
    let mut intake = Intake::start(settings());
    intake.up().await;
    // The broker sends them right after our subscription is granted, in order, before anything newer.
    assert!(broker.publish(&value("12.70")).await);
    published += 1;
    tokio::time::sleep(Duration::from_millis(500)).await;
    let mut submissions =
        std::mem::replace(&mut intake.submissions, tokio::sync::mpsc::channel(1).1);
    intake.stop().await;
    let mut after = 0;
    while let Some(submission) = submissions.recv().await {
        after += taken(submission).0;
    }
    assert_eq!(before + after, published);
}
