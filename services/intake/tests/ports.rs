//! Serial gauges on real pseudo-terminals.

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests, where a panic is the report"
)]

use std::fs::File;
use std::io::Write;
use std::os::unix::fs::symlink;
use std::path::PathBuf;
use std::time::Duration;

use intake::serial::{self, LineShape, SerialGauge, SerialPort};
use intake::{AskError, Asker, Dialect, FRAME_BYTES_MAX, Form, Mode, Settle, Terminator};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use shared_types::{Decoded, Event, GaugeId, Submission};
use tempfile::TempDir;
use tokio::sync::mpsc;
use tokio_util::sync::CancellationToken;

const SOON: Duration = Duration::from_secs(20);
/// Longer than the silence after which a line is known to begin.
const QUIET: Duration = Duration::from_millis(700);

/// The gauge's end of a pseudo-terminal and the name of ours.
fn pty() -> (File, PathBuf) {
    let master = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).unwrap();
    grantpt(&master).unwrap();
    unlockpt(&master).unwrap();
    let name = ptsname(&master, Vec::new()).unwrap();
    (
        File::from(master),
        PathBuf::from(name.into_string().unwrap()),
    )
}

struct Bench {
    dir: TempDir,
    submissions: mpsc::Receiver<Submission>,
    stop: CancellationToken,
}

impl Bench {
    fn link(&self) -> PathBuf {
        self.dir.path().join("usb-gauge-7")
    }

    /// Plugs a gauge in under its stable name.
    fn plug(&self) -> File {
        let (gauge, name) = pty();
        symlink(name, self.link()).unwrap();
        gauge
    }

    fn unplug(&self, gauge: File) {
        std::fs::remove_file(self.link()).unwrap();
        drop(gauge);
    }

    fn start(room: usize) -> Self {
        Self::start_with(room, |_| {}).0
    }

    /// With the port's settings changed; and what its gauges are asked by.
    fn start_with(room: usize, change: impl FnOnce(&mut SerialPort)) -> (Self, Asker) {
        let dir = TempDir::new().unwrap();
        let (sink, submissions) = mpsc::channel(room);
        let stop = CancellationToken::new();
        let bench = Self {
            dir,
            submissions,
            stop,
        };
        let mut port = SerialPort {
            path: bench.link(),
            baud: 9600,
            line: LineShape::default(),
            terminator: Terminator::CrOrLf,
            gauges: vec![SerialGauge {
                gauge: GaugeId::new("caliper-1").unwrap(),
                dialect: Dialect::default(),
                mode: Mode::default(),
            }],
            request: None,
            answer_max_us: 500_000,
        };
        change(&mut port);
        let mut asker = Asker::default();
        let asks = asker.port(port.gauges.iter().map(|gauge| gauge.gauge.clone()));
        tokio::spawn(serial::run(port, sink, asks, bench.stop.clone()));
        (bench, asker)
    }

    async fn next(&mut self) -> String {
        self.next_of().await.1
    }

    /// The next, and of which gauge.
    async fn next_of(&mut self) -> (String, String) {
        let submission = tokio::time::timeout(SOON, self.submissions.recv()).await;
        let event = submission.expect("a submission").expect("it runs").event;
        let gauge = match &event {
            Event::GaugeSeen { gauge, .. } => gauge.to_string(),
            Event::Observed(o) => o.gauge.to_string(),
            other => panic!("{other:?}"),
        };
        let said = match event {
            Event::GaugeSeen { state, .. } => format!("{state:?}"),
            Event::Observed(o) => match o.decoded {
                Decoded::Reading(reading) => reading.digits,
                Decoded::Garbled(why) => {
                    format!("{why:?} {}", shared_types::printable(&o.raw))
                }
                Decoded::Flood { why, count } => {
                    format!("{why:?} {count} times {}", shared_types::printable(&o.raw))
                }
                Decoded::Suppressed(none) => format!("{:?} {} times", none.why, none.count),
            },
            other => panic!("{other:?}"),
        };
        (gauge, said)
    }

    /// With a gauge plugged in and heard to be quiet.
    async fn with_gauge(room: usize) -> (Self, File) {
        let mut bench = Self::start(room);
        let gauge = bench.plugged_in().await;
        (bench, gauge)
    }

    async fn plugged_in(&mut self) -> File {
        assert_eq!(self.next().await, "Unplugged");
        let gauge = self.plug();
        assert_eq!(self.next().await, "Connected");
        tokio::time::sleep(QUIET).await;
        gauge
    }
}

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
    // The name stays, the device behind it is dead.
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
