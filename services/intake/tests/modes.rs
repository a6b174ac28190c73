//! Gauges that stream, bounce, share a port or are asked, on real pseudo-terminals.

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests, where a panic is the report"
)]

mod pty;

use std::fs::File;
use std::io::Write;
use std::os::unix::fs::symlink;
use std::time::Duration;

use intake::serial::{self, LineShape, Pedal, SerialGauge};
use intake::{AskError, Dialect, Form, Mode, Settle};
use shared_types::GaugeId;

use crate::pty::{Bench, QUIET, pty};

fn streaming() -> Mode {
    Mode::Stream {
        settle: Settle {
            still_us: 300_000,
            count: 3,
            tremor: 20_000_000,
            move_min: 200_000_000,
            zero: 50_000_000,
        },
        asked: false,
    }
}

#[tokio::test]
async fn a_streaming_caliper_gives_one_reading_for_each_place_it_rests_in() {
    let (mut bench, _) = Bench::start_with(100, |port| port.gauges[0].mode = streaming());
    let mut gauge = bench.plugged_in().await;
    let mut frames = 0;
    for (value, times) in [
        ("0.00", 4),
        ("5.12", 1),
        ("12.70", 9),
        ("12.71", 3),
        ("18.00", 1),
    ] {
        for _ in 0..times {
            gauge.write_all(format!("{value}\r").as_bytes()).unwrap();
            tokio::time::sleep(Duration::from_millis(60)).await;
            frames += 1;
        }
    }
    let before = bench.next().await;
    let before: u32 = before
        .strip_prefix("Unsettled ")
        .unwrap()
        .strip_suffix(" times")
        .unwrap()
        .parse()
        .unwrap();
    assert_eq!(bench.next().await, "12.70");
    bench.stop.cancel();
    // What was counted since is told at the end: nothing is only in memory.
    assert_eq!(
        bench.next().await,
        format!("Unsettled {} times", frames - before - 1)
    );
}

#[tokio::test]
async fn a_bouncing_button_is_one_reading_and_the_rest_is_kept_as_suppressed() {
    let (mut bench, _) = Bench::start_with(100, |port| {
        port.gauges[0].mode = Mode::Send {
            interval_min_us: 200_000,
        };
    });
    let mut gauge = bench.plugged_in().await;
    gauge.write_all(b"12.70\r12.70\r12.71\r").unwrap();
    assert_eq!(bench.next().await, "12.70");
    assert_eq!(bench.next().await, "Bounce 2 times");
    gauge.write_all(b"12.70\r").unwrap();
    assert_eq!(bench.next().await, "12.70");
}

#[tokio::test]
async fn a_gauge_that_answers_on_request_is_asked_and_one_that_does_not_answer_is_said_so() {
    let (mut bench, asker) = Bench::start_with(100, |port| port.request = Some(b"?\r".to_vec()));
    let name = GaugeId::new("caliper-1").unwrap();
    assert_eq!(bench.next().await, "Unplugged");
    // Nobody there: said at once.
    asker.ask(&name).unwrap();
    assert_eq!(bench.next().await, "NoAnswer ");
    let mut gauge = bench.plug();
    assert_eq!(bench.next().await, "Connected");
    tokio::time::sleep(QUIET).await;
    asker.ask(&name).unwrap();
    let asked = tokio::task::spawn_blocking(move || {
        let mut request = [0; 2];
        std::io::Read::read_exact(&mut gauge, &mut request).unwrap();
        (gauge, request)
    });
    let (mut gauge, request) = asked.await.unwrap();
    assert_eq!(&request, b"?\r");
    // It sends the request back, and then its value.
    gauge.write_all(b"?\r+12.34\r").unwrap();
    assert_eq!(bench.next().await, "Echo 1 times");
    assert_eq!(bench.next().await, "12.34");
    asker.ask(&name).unwrap();
    assert_eq!(bench.next().await, "NoAnswer ");
    let other = GaugeId::new("caliper-9").unwrap();
    assert_eq!(asker.ask(&other), Err(AskError::NotAskable(other)));
}

#[tokio::test]
async fn several_gauges_on_one_port_are_told_apart_by_their_channel() {
    let (mut bench, _) = Bench::start_with(100, |port| {
        let one = port.gauges.remove(0);
        port.gauges = ["01", "02"]
            .into_iter()
            .map(|channel| SerialGauge {
                gauge: GaugeId::new(&format!("caliper-{channel}")).unwrap(),
                dialect: Dialect {
                    form: Form::Multiplexer { good: "A".into() },
                    channel: Some(channel.to_owned()),
                    ..one.dialect.clone()
                },
                mode: one.mode,
            })
            .collect();
    });
    assert_eq!(bench.next().await, "Unplugged");
    assert_eq!(bench.next().await, "Unplugged", "each gauge has a state");
    let mut gauge = bench.plug();
    assert_eq!(bench.next().await, "Connected");
    assert_eq!(bench.next().await, "Connected");
    tokio::time::sleep(QUIET).await;
    // The third channel is no gauge of this bench: it lies about its name, or is not configured.
    gauge
        .write_all(b"02A+00012.34\r01A+00005.00\r07A+00001.00\r")
        .unwrap();
    assert_eq!(
        bench.next_of().await,
        ("caliper-02".into(), "00012.34".into())
    );
    assert_eq!(
        bench.next_of().await,
        ("caliper-01".into(), "00005.00".into())
    );
    assert_eq!(bench.next().await, "Channel 07A+00001.00");
}

#[tokio::test]
async fn a_pedal_asks_its_gauges_once_a_press() {
    let (mut bench, asker) = Bench::start_with(100, |port| port.request = Some(b"?\r".to_vec()));
    let mut gauge = bench.plugged_in().await;
    let (mut foot, name) = pty();
    let path = bench.link().with_file_name("usb-pedal");
    symlink(name, &path).unwrap();
    let pedal = Pedal {
        path,
        baud: 9600,
        line: LineShape::default(),
        asks: vec![GaugeId::new("caliper-1").unwrap()],
    };
    tokio::spawn(serial::pedal(pedal, asker, bench.stop.clone()));
    tokio::time::sleep(QUIET).await;
    // A contact that bounces is one press.
    foot.write_all(b"P").unwrap();
    foot.write_all(b"PP\r").unwrap();
    let asked = tokio::task::spawn_blocking(move || {
        let mut request = [0; 2];
        std::io::Read::read_exact(&mut gauge, &mut request).unwrap();
        (gauge, request)
    });
    let (mut gauge, request): (File, _) = asked.await.unwrap();
    assert_eq!(&request, b"?\r");
    gauge.write_all(b"+12.34\r").unwrap();
    assert_eq!(bench.next().await, "12.34");
    tokio::time::sleep(QUIET).await;
    assert!(bench.submissions.try_recv().is_err(), "asked once");
}
