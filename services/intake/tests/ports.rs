//! Serial gauges on real pseudo-terminals.

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests, where a panic is the report"
)]

mod pty;

use std::io::Write;
use std::time::Duration;

use intake::FRAME_BYTES_MAX;
use rustix::fs::{Mode, OFlags};

use crate::pty::{Bench, QUIET, SOON};

#[tokio::test]
async fn each_line_is_a_reading_and_what_is_not_whole_or_not_a_line_is_kept_as_such() {
    let (mut bench, mut gauge) = Bench::with_gauge(100).await;
    gauge.write_all(b"+  12.340, MM\r\n").unwrap();
    assert_eq!(bench.next().await, "12.340");
    gauge.write_all(b"12.").unwrap();
    tokio::time::sleep(Duration::from_millis(50)).await;
    gauge.write_all(b"35\r-0.05\r\x00\xff12.3\r").unwrap();
    assert_eq!(bench.next().await, "12.35");
    assert_eq!(bench.next().await, "-0.05");
    assert_eq!(bench.next().await, "Grammar \\x00\\xff12.3");
    gauge.write_all(&[b'7'; 2 * FRAME_BYTES_MAX]).unwrap();
    gauge.write_all(b"\r12.36\r").unwrap();
    let kept = "7".repeat(FRAME_BYTES_MAX);
    assert_eq!(bench.next().await, format!("Oversize {kept}"));
    assert_eq!(bench.next().await, "12.36");
}

#[tokio::test]
async fn a_line_cut_off_by_the_unplugged_cable_is_no_reading_and_the_gauge_is_found_again_by_name()
{
    let (mut bench, mut gauge) = Bench::with_gauge(100).await;
    for _ in 0..2 {
        gauge.write_all(b"12.34\r+12.").unwrap();
        assert_eq!(bench.next().await, "12.34");
        tokio::time::sleep(Duration::from_millis(50)).await;
        bench.unplug(gauge);
        assert_eq!(bench.next().await, "Cut +12.");
        assert_eq!(bench.next().await, "Unplugged");
        // Long enough that the delay has grown; a port that appears is noticed all the same.
        tokio::time::sleep(Duration::from_millis(1500)).await;
        gauge = bench.plug();
        let back = tokio::time::timeout(Duration::from_secs(2), bench.next()).await;
        assert_eq!(back.expect("noticed at once"), "Connected");
        tokio::time::sleep(QUIET).await;
    }
}

#[tokio::test]
async fn the_tail_of_a_line_we_joined_is_kept_but_is_no_reading() {
    let mut bench = Bench::start(100);
    assert_eq!(bench.next().await, "Unplugged");
    let mut gauge = bench.plug();
    assert_eq!(bench.next().await, "Connected");
    // At once after opening: it may be the tail of "112.34".
    gauge.write_all(b"12.34\r12.35\r").unwrap();
    assert_eq!(bench.next().await, "Cut 12.34");
    assert_eq!(bench.next().await, "12.35");
}

/// Nanoseconds this thread has been on a processor.
fn on_cpu_ns() -> u64 {
    let stat = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap();
    stat.split(' ').next().unwrap().parse().unwrap()
}

/// A gauge whose cable is pulled leaves a port that reads as empty for ever, and a path that is
/// there but cannot be opened. Everything runs on this test's own thread, so its processor time is
/// the gauge's.
#[tokio::test(flavor = "current_thread")]
async fn a_port_that_is_gone_costs_no_processor_time_and_flaps_ever_more_slowly() {
    let (mut bench, gauge) = Bench::with_gauge(100).await;
    // The name stays, the device behind it is dead. An open end keeps its number from being given to
    // the next pseudo-terminal that anybody opens.
    let _held =
        rustix::fs::open(bench.link(), OFlags::RDWR | OFlags::NOCTTY, Mode::empty()).unwrap();
    drop(gauge);
    assert_eq!(bench.next().await, "Unplugged");
    let before_ns = on_cpu_ns();
    tokio::time::sleep(Duration::from_secs(3)).await;
    let used_ns = on_cpu_ns() - before_ns;
    assert!(used_ns < 300_000_000, "{used_ns} ns of 3 s");
    assert!(
        bench.submissions.try_recv().is_err(),
        "one change is told once"
    );
}

#[tokio::test]
async fn a_full_queue_holds_the_gauge_back_and_loses_nothing() {
    let (mut bench, mut gauge) = Bench::with_gauge(1).await;
    let writing = std::thread::spawn(move || {
        for n in 0..2000 {
            gauge.write_all(format!("{n}\r").as_bytes()).unwrap();
        }
        gauge
    });
    tokio::time::sleep(Duration::from_millis(300)).await;
    for n in 0..2000 {
        assert_eq!(bench.next().await, n.to_string());
    }
    bench.stop.cancel();
    drop(writing.join().unwrap());
    let after = tokio::time::timeout(SOON, bench.submissions.recv()).await;
    assert!(after.unwrap().is_none(), "it ends when told to");
}
