//! What comes by the broker that is no plain reading, and what goes out. Against the real broker
//! with the shipped configuration.

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests, where a panic is the report"
)]

mod support;

use std::process::{Command, Stdio};

use intake::mqtt::{Link, TlsSettings};
use intake::{FRAME_BYTES_MAX, IntakeError};
use rumqttc::{Event, Packet, QoS};
use shared_types::{BenchId, Decoded, Event as Happened, Garbled, GaugeState, Outcome, Seq};
use support::{Intake, Mosquitto, READING, SOON, STATE, tell};

#[tokio::test(flavor = "multi_thread")]
async fn a_kept_message_is_recorded_once_and_never_as_a_reading() {
    let mut broker = Mosquitto::start();
    let kept = [
        (READING, b"12.34".to_vec(), true),
        (STATE, b"online".to_vec(), true),
    ];
    assert!(broker.publish(&kept).await);
    let mut intake = Intake::start(broker.settings());
    let mut seen = Vec::new();
    for _ in 0..2 {
        let submission = intake.next().await;
        assert_eq!(submission.key, None);
        seen.push(match submission.event {
            Happened::Observed(o) => format!("{:?}", o.decoded),
            Happened::GaugeSeen { gauge, state } => format!("{gauge} {state:?}"),
            other => panic!("{other:?}"),
        });
        submission.receipt.tell(Outcome::Committed(Seq(1)));
    }
    seen.sort();
    let retained = Decoded::Garbled(Garbled::Retained);
    assert_eq!(
        seen,
        [format!("{retained:?}"), "caliper-1 Connected".to_owned()]
    );

    // The broker sends both again at the next connection; neither says anything new.
    broker.written().await;
    broker.kill();
    intake
        .link_is(|link| matches!(link, Link::Down { .. }))
        .await;
    broker.run();
    intake.up().await;
    let now = [
        (STATE, b"offline".to_vec(), true),
        (READING, b"12.35".to_vec(), false),
    ];
    assert!(broker.publish(&now).await);
    let state = intake.next().await;
    assert!(matches!(
        state.event,
        Happened::GaugeSeen {
            state: GaugeState::Offline,
            ..
        }
    ));
    tell([state.receipt]);
    let (observation, _, receipt) = intake.observed().await;
    assert_eq!(observation.raw, b"12.35");
    tell([receipt]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_flood_of_garbled_messages_from_the_broker_is_counted_to_the_last_one() {
    const COUNT: u64 = 300;
    let broker = Mosquitto::start();
    let mut intake = Intake::start(broker.settings());
    intake.up().await;
    let noise: Vec<_> = (0..COUNT)
        .map(|n| (READING, format!("noise {n}").into_bytes(), false))
        .collect();
    assert!(broker.publish(&noise).await);
    let (mut counted, mut entries) = (0, 0);
    while counted < COUNT {
        // The last count comes by itself, once the flood has ended.
        let (observation, key, receipt) = intake.observed().await;
        assert_eq!(key, None);
        entries += 1;
        counted += match observation.decoded {
            Decoded::Garbled(Garbled::Grammar) => 1,
            Decoded::Flood { count, .. } => count,
            other => panic!("{other:?}"),
        };
        tell([receipt]);
    }
    assert_eq!(counted, COUNT);
    assert!(entries <= 20 + 120, "{entries} entries");
    // A reading behind it is as welcome as any.
    broker.readings(1..2).await;
    assert_eq!(intake.numbers(1).await.0, [1]);
    intake.stop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn an_oversize_message_is_kept_as_such_and_holds_nothing_up() {
    let broker = Mosquitto::start();
    let mut intake = Intake::start(broker.settings());
    intake.up().await;
    let mut link = intake.link.clone();
    link.mark_unchanged();
    let large = vec![b'7'; 60_000];
    let messages = [(READING, large, false), (READING, b"12.34".to_vec(), false)];
    assert!(broker.publish(&messages).await);
    let (observation, _, receipt) = intake.observed().await;
    assert_eq!(observation.decoded, Decoded::Garbled(Garbled::Oversize));
    assert_eq!(observation.raw.len(), FRAME_BYTES_MAX);
    tell([receipt]);
    let (observation, _, receipt) = intake.observed().await;
    assert!(matches!(observation.decoded, Decoded::Reading(_)));
    tell([receipt]);
    // Beyond the shipped limit the broker throws the bridge off, and we never hear of it.
    assert!(
        !broker
            .publish(&[(READING, vec![b'7'; 70_000], false)])
            .await
    );
    broker.readings(1..2).await;
    assert_eq!(intake.numbers(1).await.0, [1]);
    assert!(!link.has_changed().unwrap(), "{:?}", link.borrow());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_message_beyond_our_limit_from_a_broker_that_has_none_does_not_loop() {
    let limit = "\nmax_packet_size 65536\n";
    let broker = Mosquitto::start_changed(|conf| {
        assert!(conf.contains(limit));
        conf.replace(limit, "\n")
    });
    let mut intake = Intake::start(broker.settings());
    intake.up().await;
    let huge = vec![b'7'; 300_000];
    assert!(broker.publish(&[(READING, huge, false)]).await);
    let (observation, _, receipt) = intake.observed().await;
    assert_eq!(observation.decoded, Decoded::Garbled(Garbled::Oversize));
    assert_eq!(observation.raw.len(), FRAME_BYTES_MAX);
    tell([receipt]);
    broker.readings(1..2).await;
    assert_eq!(intake.numbers(1).await.0, [1]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_broker_that_forgot_the_session_is_subscribed_to_again() {
    let mut broker = Mosquitto::start();
    let mut intake = Intake::start(broker.settings());
    intake.up().await;
    broker.kill();
    let down = intake
        .link_is(|link| matches!(link, Link::Down { .. }))
        .await;
    assert!(matches!(down, Link::Down { why } if !why.is_empty()));
    std::fs::remove_dir_all(broker.dir.path().join("store")).unwrap();
    std::fs::create_dir(broker.dir.path().join("store")).unwrap();
    broker.run();
    intake.up().await;
    broker.readings(7..8).await;
    assert_eq!(intake.numbers(1).await.0, [7]);
}

#[tokio::test(flavor = "multi_thread")]
async fn findings_reach_a_lamp_while_readings_wait_for_their_commit() {
    let broker = Mosquitto::start();
    let mut intake = Intake::start(broker.settings());
    intake.up().await;
    let (lamp, mut connection) = broker.client("lamp");
    lamp.subscribe("oddleg/benches/+/finding", QoS::AtLeastOnce)
        .await
        .unwrap();
    let (lit, mut seen) = tokio::sync::mpsc::channel(16);
    tokio::spawn(async move {
        while let Ok(event) = connection.poll().await {
            let said = match event {
                Event::Incoming(Packet::SubAck(_)) => "subscribed".to_owned(),
                Event::Incoming(Packet::Publish(publish)) => {
                    let payload = String::from_utf8(publish.payload.to_vec()).unwrap();
                    format!("{} {payload}", publish.topic)
                }
                _ => continue,
            };
            if lit.send(said).await.is_err() {
                return;
            }
        }
    });
    assert_eq!(seen.recv().await.as_deref(), Some("subscribed"));
    broker.readings(0..3).await;
    let (_, held) = intake.numbers(3).await;
    let bench = BenchId::new("bench-1").unwrap();
    let finding = r#"{"verdict":"pass"}"#.to_owned();
    // The findings' own connection may come up a moment after the readings'.
    let said = tokio::time::timeout(SOON, async {
        loop {
            intake
                .findings
                .send((bench.clone(), finding.clone()))
                .await
                .unwrap();
            let wait = tokio::time::timeout(std::time::Duration::from_millis(300), seen.recv());
            if let Ok(said) = wait.await {
                return said;
            }
        }
    });
    let expected = format!("oddleg/benches/bench-1/finding {finding}");
    assert_eq!(said.await.unwrap(), Some(expected));
    tell(held);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_bridge_may_speak_for_its_own_gauge_only() {
    let broker = Mosquitto::start();
    let mut intake = Intake::start(broker.settings());
    intake.up().await;
    let messages = [
        ("oddleg/gauges/comma-2/reading", b"99".to_vec(), false),
        ("oddleg/benches/bench-1/finding", b"{}".to_vec(), false),
        (READING, b"12.34".to_vec(), false),
    ];
    assert!(broker.publish(&messages).await);
    let (observation, _, _) = intake.observed().await;
    assert_eq!(observation.gauge.as_str(), "caliper-1");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_password_is_shown_as_such() {
    let broker = Mosquitto::start();
    let mut settings = broker.settings();
    settings.user = Some(("oddleg".to_owned(), "wrong".to_owned()));
    let mut intake = Intake::start(settings);
    let down = intake
        .link_is(|link| matches!(link, Link::Down { .. }))
        .await;
    assert!(matches!(down, Link::Down { why } if why.contains("password")));
}

/// A certificate authority and a certificate for `localhost` signed by it.
fn certificates(dir: &std::path::Path, authority: &str) {
    let openssl = |args: &str| {
        let done = Command::new("openssl")
            .args(args.split(' '))
            .current_dir(dir)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status();
        assert!(
            done.expect("openssl: install the package `openssl`")
                .success(),
            "{args}"
        );
    };
    std::fs::write(dir.join("san"), "subjectAltName=DNS:localhost\n").unwrap();
    openssl(&format!(
        "req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 2 -subj /CN={authority} -keyout {authority}.key -out {authority}.pem"
    ));
    openssl(
        "req -new -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -subj /CN=localhost -keyout host.key -out host.csr",
    );
    openssl(&format!(
        "x509 -req -in host.csr -CA {authority}.pem -CAkey {authority}.key -CAcreateserial -days 2 -extfile san -out host.pem"
    ));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_broker_with_tls_is_believed_only_with_its_authority() -> Result<(), IntakeError> {
    let keys = tempfile::TempDir::new().unwrap();
    certificates(keys.path(), "stranger");
    certificates(keys.path(), "workshop");
    let at = |name: &str| keys.path().join(name).display().to_string();
    let plain = Mosquitto::start();
    let broker = Mosquitto::start_changed(|conf| {
        let (before, after) = conf.split_once("127.0.0.1\n").expect("the listener");
        let (cert, key, ca) = (at("host.pem"), at("host.key"), at("workshop.pem"));
        format!("{before}127.0.0.1\ncafile {ca}\ncertfile {cert}\nkeyfile {key}\n{after}")
    });
    let settings = |authority: &str| {
        let mut settings = broker.settings();
        settings.host = "localhost".to_owned();
        let ca = std::fs::read(keys.path().join(authority)).unwrap();
        TlsSettings::new(&ca).map(|tls| {
            settings.tls = Some(tls);
            settings
        })
    };
    let mut doubting = Intake::start(settings("stranger.pem")?);
    let down = doubting
        .link_is(|link| matches!(link, Link::Down { .. }))
        .await;
    assert!(
        matches!(&down, Link::Down { why } if why.contains("certificate")),
        "{down:?}"
    );
    doubting.crash().await;

    let mut trusting = Intake::start(settings("workshop.pem")?);
    trusting.up().await;
    trusting.stop().await;

    // A broker without TLS is not spoken to in clear.
    let mut strict = settings("workshop.pem")?;
    strict.port = plain.port;
    let mut strict = Intake::start(strict);
    strict
        .link_is(|link| matches!(link, Link::Down { .. }))
        .await;
    Ok(())
}
