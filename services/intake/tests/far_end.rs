//! Bridges and lamps that connect to oddleg itself, byte by byte.

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests, where a panic is the report"
)]

mod door;

use bytes::BytesMut;
use door::{Door, FINDINGS, READING, SOON, STATE, connect, publish, with_will};
use rumqttc::QoS;
use rumqttc::mqttbytes::v4::{
    Connect, ConnectReturnCode, Packet, SubscribeReasonCode, Unsubscribe,
};
use shared_types::{BenchId, Decoded, Event, Outcome, Seq, Submission, Via};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::time::timeout;

#[tokio::test(flavor = "multi_thread")]
async fn a_flood_of_garbled_messages_is_acknowledged_and_counted_and_costs_another_gauge_nothing() {
    const COUNT: u16 = 300;
    let mut door = Door::open().await;
    let mut bridge = door.known("caliper-2", "tide").await;
    let mut other = door.known("angle-2", "ebb").await;
    let (mut counted, mut entries, mut others) = (0, 0, 0);
    let mut take = |submission: Submission| {
        let Event::Observed(seen) = &submission.event else {
            panic!("{:?}", submission.event)
        };
        match (seen.gauge.as_str(), &seen.decoded) {
            ("caliper-2", Decoded::Garbled(_)) => (counted, entries) = (counted + 1, entries + 1),
            ("caliper-2", Decoded::Flood { count, .. }) => {
                (counted, entries) = (counted + count, entries + 1);
            }
            ("angle-2", Decoded::Garbled(_)) => others += 1,
            other => panic!("{other:?}"),
        }
        submission.receipt.tell(Outcome::Committed(Seq(1)));
        (counted, entries, others)
    };
    let babble = async {
        for packet in 1..=COUNT {
            let noise = publish(READING, packet, &format!("noise {packet}"));
            bridge.send(&noise).await;
            assert_eq!(bridge.acknowledged().await, packet);
        }
        let noise = publish("oddleg/gauges/angle-2/reading", 1, "noise");
        other.send(&noise).await;
        assert_eq!(other.acknowledged().await, 1);
    };
    let hear = async {
        loop {
            let (counted, entries, others) =
                take(timeout(SOON, door.events.recv()).await.unwrap().unwrap());
            if counted >= u64::from(COUNT) && others == 1 {
                return (counted, entries);
            }
        }
    };
    // The last count comes by itself, once the flood has ended.
    let ((), (counted, entries)) = tokio::join!(babble, hear);
    assert_eq!(counted, u64::from(COUNT));
    // Twenty at once, and two for each second that it took; a slow machine gets a minute.
    assert!(entries <= 20 + 120, "{entries} entries");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_reading_is_acknowledged_after_its_commit_in_the_order_they_came() {
    let mut door = Door::open().await;
    let mut bridge = door.known("caliper-2", "tide").await;
    for (packet, payload) in [
        (7, "12.34"),
        (3, r#"{"value": "12.35", "unit": "mm", "id": "b1"}"#),
        (0, "12.36"),
    ] {
        bridge.send(&publish(READING, packet, payload)).await;
    }
    let (first, second, third) = (door.next().await, door.next().await, door.next().await);
    assert_eq!(first.key, None);
    assert_eq!(second.key.as_deref(), Some("mqtt:caliper-2:b1"));
    assert!(matches!(third.event, Event::Observed(seen) if seen.raw == b"12.36"));
    // Nothing is committed yet: what comes first is the answer to a ping sent after them all.
    bridge.is_alive().await;
    second.receipt.tell(Outcome::Committed(Seq(2)));
    bridge.is_alive().await;
    first.receipt.tell(Outcome::Committed(Seq(1)));
    assert_eq!(bridge.acknowledged().await, 7);
    assert_eq!(bridge.acknowledged().await, 3);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_redelivery_is_recognised_as_behind_a_broker_and_a_retain_flag_makes_no_old_reading() {
    let mut door = Door::open().await;
    let mut bridge = door.known("caliper-2", "tide").await;
    let Packet::Publish(mut again) = publish(READING, 5, "12.34") else {
        unreachable!()
    };
    again.dup = true;
    bridge.send(&Packet::Publish(again.clone())).await;
    again.dup = false;
    again.retain = true;
    bridge.send(&Packet::Publish(again)).await;
    for expected in [Via::MqttAgain, Via::Mqtt] {
        let Event::Observed(seen) = door.next().await.event else {
            panic!("a reading")
        };
        assert_eq!(seen.via, expected);
        assert!(matches!(seen.decoded, shared_types::Decoded::Reading(_)));
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn who_is_not_known_is_refused_with_the_code_that_says_why() {
    let door = Door::open().await;
    let mut nameless = connect("caliper-2", "tide");
    nameless.client_id = String::new();
    nameless.clean_session = false;
    let mut nobody = nameless.clone();
    nobody.clean_session = true;
    let cases = [
        (
            connect("caliper-2", "ebb"),
            ConnectReturnCode::BadUserNamePassword,
        ),
        (
            connect("stranger", "tide"),
            ConnectReturnCode::BadUserNamePassword,
        ),
        (Connect::new("radio-8"), ConnectReturnCode::NotAuthorized),
        (Connect::new("radio-7"), ConnectReturnCode::Success),
        (nameless, ConnectReturnCode::BadClientId),
        (nobody, ConnectReturnCode::Success),
        // A will in another gauge's name, and one that would be a reading.
        (
            with_will("oddleg/gauges/angle-2/state"),
            ConnectReturnCode::NotAuthorized,
        ),
        (with_will(READING), ConnectReturnCode::NotAuthorized),
        (with_will(STATE), ConnectReturnCode::Success),
    ];
    for (connect, code) in cases {
        let mut client = door.client().await;
        assert_eq!(client.connects(&connect).await, code, "{connect:?}");
        if code == ConnectReturnCode::Success {
            client.is_alive().await;
        } else {
            assert_eq!(client.hears().await, None);
        }
    }
    // Version 5, by hand: it is told so before it is turned away.
    let mut newer = door.client().await;
    newer
        .stream
        .write_all(b"\x10\x0d\0\x04MQTT\x05\x02\0\x3c\0\0\0")
        .await
        .unwrap();
    let Some(Packet::ConnAck(ack)) = newer.hears().await else {
        panic!("an answer")
    };
    assert_eq!(ack.code, ConnectReturnCode::RefusedProtocolVersion);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_bridge_that_speaks_in_anothers_name_or_out_of_turn_is_thrown_out_unheard() {
    let mut door = Door::open().await;
    let mut bystander = door.known("angle-2", "ebb").await;
    let Packet::Publish(mut twice) = publish(READING, 6, "12.34") else {
        unreachable!()
    };
    twice.qos = QoS::ExactlyOnce;
    let odd = [
        publish("oddleg/gauges/angle-2/reading", 1, "90.0"),
        publish("oddleg/gauges/angle-2/state", 1, "offline"),
        publish("oddleg/benches/bench-1/finding", 1, "{}"),
        publish("elsewhere", 0, "12.34"),
        Packet::Publish(twice),
        Packet::Connect(connect("caliper-2", "tide")),
    ];
    for packet in odd {
        let mut bridge = door.known("caliper-2", "tide").await;
        bridge.send(&packet).await;
        assert_eq!(bridge.hears().await, None, "{packet:?}");
    }
    assert!(door.is_quiet(), "nothing of it was handed in");
    bystander.is_alive().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn noise_closes_only_the_connection_it_came_by() {
    // A fixed seed: the same noise on every machine.
    let mut state = 0x0dd1_e600_u64;
    let mut below = move |below: usize| {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(state >> 33).unwrap() % below
    };
    let mut door = Door::with_room(4096).await;
    let mut bystander = door.known("angle-2", "ebb").await;
    let mut whole = BytesMut::new();
    for packet in [
        Packet::Connect(with_will(STATE)),
        publish(READING, 7, "12.34"),
        Packet::PingReq,
        Packet::Unsubscribe(Unsubscribe {
            pkid: 4,
            topics: vec![FINDINGS.to_owned()],
        }),
        publish(STATE, 8, "online"),
    ] {
        packet.write(&mut whole, 4096).unwrap();
    }
    for _ in 0..400 {
        let mut bytes = whole.to_vec();
        for _ in 0..=below(3) {
            let at = below(bytes.len());
            match below(4) {
                0 => bytes[at] = u8::try_from(below(256)).unwrap(),
                1 => bytes[at] ^= 1 << below(8),
                2 => drop(bytes.remove(at)),
                _ => bytes.truncate(at.max(1)),
            }
        }
        let mut stranger = door.client().await;
        // It may be thrown out before it has said everything.
        drop(stranger.stream.write_all(&bytes).await);
        drop(stranger.stream.shutdown().await);
        while let Ok(count) = timeout(SOON, stranger.stream.read_buf(&mut stranger.bytes))
            .await
            .unwrap()
        {
            if count == 0 {
                break;
            }
        }
    }
    bystander.is_alive().await;
    let mut heard = 0;
    while let Ok(submission) = door.events.try_recv() {
        heard += 1;
        let gauge = match submission.event {
            Event::Observed(seen) => seen.gauge,
            Event::GaugeSeen { gauge, .. } => gauge,
            other => panic!("{other:?}"),
        };
        assert_eq!(gauge.as_str(), "caliper-2");
    }
    assert!(heard > 0, "some of it was sound");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_will_is_told_where_a_bridge_is_lost_and_not_where_it_says_goodbye() {
    let mut door = Door::open().await;
    let mut bridge = door.client().await;
    bridge.connects(&with_will(STATE)).await;
    bridge.send(&publish(STATE, 1, "online")).await;
    assert_eq!(door.takes().await, "caliper-2 Connected");
    assert_eq!(bridge.acknowledged().await, 1);
    // Said again: nothing new, acknowledged all the same.
    bridge.send(&publish(STATE, 2, "online")).await;
    assert_eq!(bridge.acknowledged().await, 2);
    assert!(door.is_quiet());

    // The same client again: the older connection's will comes before anything the new one says.
    let mut second = door.client().await;
    second.connects(&with_will(STATE)).await;
    assert_eq!(bridge.hears().await, None, "the older one is thrown out");
    second.send(&publish(STATE, 1, "online")).await;
    assert_eq!(door.takes().await, "caliper-2 Offline");
    assert_eq!(door.takes().await, "caliper-2 Connected");
    second.is_alive_after_ack().await;

    second.send(&Packet::Disconnect).await;
    assert_eq!(second.hears().await, None);
    assert!(door.is_quiet(), "it said goodbye");

    // Silent for one and a half times its keep-alive of one second.
    let mut silent = door.client().await;
    let mut connect = with_will(STATE);
    connect.keep_alive = 1;
    silent.connects(&connect).await;
    assert_eq!(silent.hears().await, None);
    assert_eq!(door.takes().await, "caliper-2 Offline");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_lamp_hears_findings_and_nothing_else_and_a_slow_one_the_newest() {
    let door = Door::open().await;
    let bench = BenchId::new("bench-1").unwrap();
    let mut lamp = door.known("lamp", "light").await;
    let asked = [
        FINDINGS,
        "oddleg/benches/bench-1/finding",
        "oddleg/benches/bench-9/finding",
        "#",
        READING,
        "oddleg/benches/#",
        "$SYS/#",
    ];
    let granted = SubscribeReasonCode::Success(QoS::AtMostOnce);
    let refused = SubscribeReasonCode::Failure;
    assert_eq!(
        lamp.subscribes(&asked).await,
        [
            granted, granted, refused, refused, refused, refused, refused
        ]
    );
    let mut bridge = door.known("caliper-2", "tide").await;
    assert_eq!(bridge.subscribes(&[FINDINGS]).await, [refused]);

    // Another lamp subscribes and then reads nothing for a while.
    let mut slow = door.client().await;
    let mut connect = connect("lamp", "light");
    connect.client_id = "slow".to_owned();
    slow.connects(&connect).await;
    slow.subscribes(&[FINDINGS]).await;
    // Padded, so that what the system buffers for the slow one is full soon.
    let last = 600;
    for number in 1..=last {
        door.findings
            .send((bench.clone(), format!("{number}{}", " ".repeat(60_000))))
            .await
            .unwrap();
        // The quick one hears every one in turn, however slow the other is.
        assert_eq!(lamp.hears_of().await, number);
    }
    let (mut heard, mut newest) = (0, 0);
    while newest < last {
        let number = slow.hears_of().await;
        assert!(number > newest);
        newest = number;
        heard += 1;
    }
    assert!(
        heard < last,
        "36 MB were kept for a lamp that does not read"
    );

    let gone = Unsubscribe {
        pkid: 3,
        topics: vec![
            FINDINGS.to_owned(),
            "oddleg/benches/bench-1/finding".to_owned(),
        ],
    };
    lamp.send(&Packet::Unsubscribe(gone)).await;
    assert!(matches!(lamp.hears().await, Some(Packet::UnsubAck(ack)) if ack.pkid == 3));
    door.findings.send((bench, "1".to_owned())).await.unwrap();
    assert_eq!(slow.hears_of().await, 1);
    lamp.is_alive().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn strangers_that_say_nothing_get_few_places_and_not_for_long() {
    let door = Door::open().await;
    let mut strangers = Vec::new();
    for _ in 0..64 {
        strangers.push(door.client().await);
    }
    // The sixty-fifth is turned away while the others wait: they are accepted in the order they came.
    let mut late = door.client().await;
    assert_eq!(late.hears().await, None);
    for stranger in &mut strangers {
        assert_eq!(
            stranger.hears().await,
            None,
            "it is not waited for for ever"
        );
    }
    door.known("caliper-2", "tide").await.is_alive().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_bridge_that_floods_is_slowed_down_and_takes_nobody_elses_turn() {
    let mut door = Door::with_room(8).await;
    let mut flood = door.known("caliper-2", "tide").await;
    let mut bystander = door.known("angle-2", "ebb").await;
    let flooding = tokio::spawn(async move {
        for number in 0..20_000_u32 {
            let packet = u16::try_from(number % 60_000 + 1).unwrap();
            let mut bytes = BytesMut::new();
            publish(READING, packet, "12.34")
                .write(&mut bytes, 4096)
                .unwrap();
            if flood.stream.write_all(&bytes).await.is_err() {
                return;
            }
        }
    });
    // The queue is full of the flood; the bystander's reading comes after a queue's length and some.
    for _ in 0..8 {
        door.takes().await;
    }
    bystander
        .send(&publish("oddleg/gauges/angle-2/reading", 1, "90.0"))
        .await;
    let mut before = 0;
    while door.takes().await != "90.0" {
        before += 1;
        assert!(before < 5_000, "it waits for the whole flood");
    }
    assert_eq!(bystander.acknowledged().await, 1);
    flooding.abort();
}

#[tokio::test(flavor = "multi_thread")]
async fn an_orderly_stop_acknowledges_what_was_handed_in_and_tells_no_will() {
    let mut door = Door::open().await;
    let mut bridge = door.client().await;
    bridge.connects(&with_will(STATE)).await;
    bridge.send(&publish(READING, 7, "12.34")).await;
    let handed_in = door.next().await;
    door.stop.cancel();
    handed_in.receipt.tell(Outcome::Committed(Seq(1)));
    assert_eq!(bridge.acknowledged().await, 7);
    assert_eq!(bridge.hears().await, None);
    timeout(SOON, door.task).await.expect("it ends").unwrap();
    assert!(
        door.events.try_recv().is_err(),
        "the gauge has not gone: we have"
    );
}
