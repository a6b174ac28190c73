//! Gauges that flood, never end a line or speak at another speed, on real pseudo-terminals: they cost
//! nobody else a reading, and no memory.

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests, where a panic is the report"
)]

mod pty;

use std::io::Write;
use std::os::unix::fs::symlink;
use std::time::Duration;

use intake::serial::{self, LineShape, SerialGauge, SerialPort};
use intake::{Asker, Dialect, Mode, Terminator};
use shared_types::{Decoded, Event, GaugeId};
use tempfile::TempDir;
use tokio::sync::mpsc;
use tokio_util::sync::CancellationToken;

use crate::pty::{Bench, QUIET, SOON, pty};

/// A gauge at another speed, or broken: bytes of any value, and no terminator in sight.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn megabytes_without_a_terminator_are_a_few_entries_and_the_next_line_is_read() {
    let (mut bench, mut gauge) = Bench::with_gauge(4).await;
    let writing = std::thread::spawn(move || {
        for _ in 0..64 {
            gauge.write_all(&[b'7'; 64 * 1024]).unwrap();
        }
        gauge.write_all(b"\r12.34\r").unwrap();
        gauge
    });
    assert!(bench.next().await.starts_with("Oversize 777"));
    assert_eq!(bench.next().await, "12.34");
    drop(writing.join().unwrap());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn noise_at_another_speed_is_kept_in_part_counted_whole_and_is_never_a_reading() {
    let (mut bench, mut gauge) = Bench::with_gauge(4).await;
    // What 9600 baud sounds like at another speed: seeded bytes with terminators here and there.
    let mut state = 0x5eed_u64;
    let mut noise: Vec<u8> = Vec::new();
    let mut frames = 0_u64;
    for n in 0..60_000 {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        let byte = 0x80 | u8::try_from(state >> 57).unwrap();
        noise.push(if n % 7 == 6 { b'\r' } else { byte });
        frames += u64::from(n % 7 == 6);
    }
    noise.extend_from_slice(b"\r12.34\r");
    frames += 1;
    let writing = std::thread::spawn(move || {
        gauge.write_all(&noise).unwrap();
        gauge
    });
    let (mut garbled, mut entries) = (0, 0);
    loop {
        let next = bench.next().await;
        if next == "12.34" {
            break;
        }
        let after = next
            .strip_prefix("Grammar ")
            .unwrap_or_else(|| panic!("{next}"));
        entries += 1;
        garbled += after
            .split_once(" times ")
            .map_or(1, |(count, _)| count.parse::<u64>().unwrap());
    }
    assert_eq!(garbled, frames);
    assert!(entries < 60, "{entries}");
    drop(writing.join().unwrap());
}

/// Two gauges share the queue: one floods with good values, the other is a person measuring.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_gauge_that_floods_with_good_values_takes_no_reading_from_another() {
    let (sink, mut submissions) = mpsc::channel(8);
    let stop = CancellationToken::new();
    let dir = TempDir::new().unwrap();
    let mut gauges = Vec::new();
    for name in ["flood", "person"] {
        let (gauge, pty) = pty();
        let path = dir.path().join(name);
        symlink(pty, &path).unwrap();
        let port = SerialPort {
            path,
            baud: 115_200,
            line: LineShape::default(),
            terminator: Terminator::Cr,
            gauges: vec![SerialGauge {
                gauge: GaugeId::new(name).unwrap(),
                dialect: Dialect::default(),
                mode: Mode::default(),
            }],
            request: None,
            answer_max_us: 0,
            silence: intake::Silence::default(),
        };
        let asks = Asker::default().port([]);
        tokio::spawn(serial::run(port, sink.clone(), asks, stop.clone()));
        gauges.push(gauge);
    }
    drop(sink);
    tokio::time::sleep(QUIET).await;
    let mut person = gauges.pop().unwrap();
    let mut flood = gauges.pop().unwrap();
    let flooding = std::thread::spawn(move || {
        for _ in 0..3000 {
            flood.write_all(&b"12.70\r".repeat(20)).unwrap();
        }
        flood
    });
    let measuring = std::thread::spawn(move || {
        for n in 0..30 {
            person.write_all(format!("{n}\r").as_bytes()).unwrap();
            std::thread::sleep(Duration::from_millis(10));
        }
        person
    });
    let (mut flooded, mut stored, mut measured) = (0, 0, Vec::new());
    while flooded < 60_000 || measured.len() < 30 {
        let next = tokio::time::timeout(SOON, submissions.recv()).await;
        let Event::Observed(o) = next.unwrap().unwrap().event else {
            continue;
        };
        match o.decoded {
            Decoded::Reading(reading) if o.gauge.as_str() == "person" => {
                measured.push(reading.digits)
            }
            Decoded::Reading(_) => (flooded, stored) = (flooded + 1, stored + 1),
            Decoded::Suppressed(none) => (flooded, stored) = (flooded + none.count, stored + 1),
            other => panic!("{other:?}"),
        }
    }
    let all: Vec<String> = (0..30).map(|n| n.to_string()).collect();
    assert_eq!(measured, all);
    assert_eq!(flooded, 60_000, "every value is a reading or counted");
    assert!(stored < 20_000, "{stored}");
    drop((flooding.join().unwrap(), measuring.join().unwrap()));
}

#[tokio::test]
async fn a_flood_of_garbage_is_counted_and_no_reading_in_it_is_lost() {
    let (mut bench, mut gauge) = Bench::with_gauge(4).await;
    let writing = std::thread::spawn(move || {
        for n in 0..40 {
            gauge.write_all(&b"#\r".repeat(200)).unwrap();
            gauge.write_all(format!("{n}\r").as_bytes()).unwrap();
        }
        gauge
    });
    let (mut readings, mut kept, mut counted) = (0, 0, 0);
    while readings < 40 {
        let next = bench.next().await;
        if let Some(after) = next.strip_prefix("Grammar ") {
            kept += 1;
            counted += after
                .split_once(" times ")
                .map_or(1, |(count, _)| count.parse().unwrap());
        } else {
            assert_eq!(next, readings.to_string());
            readings += 1;
        }
    }
    assert_eq!(counted, 40 * 200, "every garbled frame is accounted for");
    // The first twenty, one summary before each reading, and few more as time passes.
    assert!(kept < 20 + 40 + 40, "{kept}");
    drop(writing.join().unwrap());
}
