//! Finding out about gauges from outside: `oddleg ports`, `oddleg listen` and `oddleg replay`, at real
//! pseudo-terminals.
#![allow(missing_docs, clippy::unwrap_used)]

use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use oddleg::demo::model::{self, Caliper, Habits};
use oddleg_tests::daemon::Daemon;
use oddleg_tests::program::{self, Run};
use oddleg_tests::workshop::Workshop;
use oddleg_tests::{Plugged, wait};
use rustix::termios::tcgetattr;
use serde_json::Value;

fn run<const N: usize>(args: [&str; N]) -> Run {
    program::run(args)
}

/// Speaks its line again and again until dropped; where the port is set to its `baud`, and otherwise what a
/// receiver makes of that: noise. (A pseudo-terminal has no parity to look at.)
struct Streaming {
    ended: Arc<AtomicBool>,
    thread: Option<std::thread::JoinHandle<()>>,
}

impl Streaming {
    fn plug(port: &Path, line: &'static [u8], baud: u32) -> Self {
        let ended = Arc::new(AtomicBool::new(false));
        let mut gauge = Plugged::new(port).unwrap();
        let thread = std::thread::spawn({
            let ended = Arc::clone(&ended);
            move || {
                while !ended.load(Ordering::Relaxed) {
                    // The far end of a pseudo-terminal sees the settings of the near one.
                    let set = tcgetattr(&gauge).unwrap();
                    if set.input_speed() == baud {
                        gauge.send(line).unwrap();
                    } else {
                        gauge.send(b"\xf8\x00\x86\r\xfe\xe6\n").unwrap();
                    }
                    std::thread::sleep(Duration::from_millis(100));
                }
            }
        });
        Self {
            ended,
            thread: Some(thread),
        }
    }
}

impl Drop for Streaming {
    fn drop(&mut self) {
        self.ended.store(true, Ordering::Relaxed);
        self.thread.take().unwrap().join().unwrap();
    }
}

#[test]
fn ports_says_who_has_a_port_open_and_whether_something_speaks() {
    let workshop = Workshop::new("");
    let names = workshop.path().join("gauges");
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    let _held = daemon.plug("caliper-1", &workshop.port("caliper-1"));
    let _speaks = Streaming::plug(&workshop.port("streams"), b"12.34\r", 9600);
    let _silent = Plugged::new(&workshop.port("silent")).unwrap();
    let names = names.to_str().unwrap();
    let run = run(["ports", "--json", "--names", names]);
    assert_eq!(run.code, Some(0), "{}", run.complained);
    let seen: Value = serde_json::from_str(&run.said).unwrap();
    let state = |name: &str| {
        let ports = seen.as_array().unwrap();
        let found = ports
            .iter()
            .find(|port| port["name"].as_str().unwrap().ends_with(name));
        found.unwrap().clone()
    };
    assert_eq!(state("caliper-1")["state"], "busy");
    assert_eq!(state("caliper-1")["by"][0]["pid"], daemon.pid());
    assert_eq!(state("caliper-1")["by"][0]["program"], "oddleg");
    assert_eq!(state("silent")["state"], "free");
    assert_eq!(state("silent")["bytes"], 0);
    assert!(state("streams")["bytes"].as_u64().unwrap() > 0);
    // Nothing was taken from the daemon: its gauge is as it was.
    assert_eq!(daemon.person.gauge_state("caliper-1"), "connected");
    assert_eq!(daemon.stop(), Some(0));
    let words = program::run(["ports", "--for", "0", "--names", names]).said;
    assert!(words.contains("silent\n    now /dev/pts/"), "{words}");
}

#[test]
fn listen_finds_settings_and_dialect_and_what_it_prints_can_be_pasted() {
    let workshop = Workshop::new("");
    let port = workshop.port("unknown");
    let capture = workshop.path().join("heard.capture");
    let streaming = Streaming::plug(&port, b"1;+12.34;mm\r\n", 4800);
    let (port, file) = (port.to_str().unwrap(), capture.to_str().unwrap());
    let run = run([
        "listen",
        port,
        "--for",
        "9",
        "--gauge",
        "caliper-9",
        "--capture",
        file,
    ]);
    assert_eq!(run.code, Some(0), "{}\n{}", run.said, run.complained);
    assert!(run.said.contains("9600 8N1: listening"), "{}", run.said);
    assert!(
        run.said.contains("no dialect explains all of it"),
        "{}",
        run.said
    );
    let line = run
        .said
        .lines()
        .find(|line| line.contains("1;+12.34;mm") && !line.ends_with("not whole"))
        .unwrap();
    assert!(line.ends_with("12.34 mm (delimited)"), "{line}");
    let pasted = run.said.split_once("# 4800 7E2").unwrap().1;
    let pasted = pasted.split_once('\n').unwrap().1;
    assert!(pasted.contains("mode = \"stream\""), "{pasted}");
    drop(streaming);

    // A build with nothing but what was printed, and the recording played through it.
    let build = Workshop::new("");
    let config = build.path().join("oddleg.toml");
    let text = std::fs::read_to_string(&config).unwrap();
    std::fs::write(&config, format!("{text}\n{pasted}")).unwrap();
    let dir = build.path().to_str().unwrap();
    let check = program::run(["check", dir]);
    assert_eq!(check.code, Some(0), "{}", check.complained);
    let replayed = program::run(["replay", dir, file]);
    assert_eq!(replayed.code, Some(0), "{}", replayed.complained);
    // Every line of it is there: the noise of the wrong settings, and the stream that never moved.
    assert!(
        replayed.said.contains("caliper-9  Connected"),
        "{}",
        replayed.said
    );
    assert!(replayed.said.contains("garbled: "), "{}", replayed.said);
    assert!(replayed.said.contains("passed over: "), "{}", replayed.said);
    assert!(
        !build.path().join("history.db").exists(),
        "the build's own history is not touched"
    );
}

#[test]
fn listen_says_what_keeps_it_from_listening() {
    let workshop = Workshop::new("");
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    let _held = daemon.plug("caliper-1", &workshop.port("caliper-1"));
    let _silent = Plugged::new(&workshop.port("silent")).unwrap();
    let nowhere = workshop.port("nowhere");
    for (port, words) in [
        (
            nowhere.to_str().unwrap(),
            "expected the gauge plugged in; `oddleg ports` lists what is",
        ),
        (
            workshop.port("silent").to_str().unwrap(),
            "nothing came that a dialect explains, expected lines of a gauge",
        ),
    ] {
        let run = run(["listen", port, "--for", "1", "--baud", "9600"]);
        assert_eq!(run.code, Some(74));
        assert!(run.complained.contains(words), "{}", run.complained);
    }
    // A recording never goes over an older one.
    let older = workshop.path().join("older.capture");
    std::fs::write(&older, "somebody's own").unwrap();
    let run = run([
        "listen",
        nowhere.to_str().unwrap(),
        "--capture",
        older.to_str().unwrap(),
    ]);
    assert_eq!(run.code, Some(74));
    assert_eq!(std::fs::read_to_string(&older).unwrap(), "somebody's own");
}

#[test]
fn whoever_has_read_enough_of_a_listener_ends_it_without_a_complaint() {
    let workshop = Workshop::new("");
    let port = workshop.port("streams");
    let _streaming = Streaming::plug(&port, b"12.34\r", 9600);
    let mut listener = Command::new(program::oddleg())
        .args(["listen".as_ref(), port.as_os_str()])
        .args(["--for", "3"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(listener.stdout.take());
    let ended = listener.wait_with_output().unwrap();
    assert_eq!(
        ended.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&ended.stderr)
    );
}

const STREAMING: &str = r#"
[gauge.caliper-2]
bench = "bench-1"
kind = "caliper"
via = "serial"
port = "gauges/caliper-2"
unit = "mm"
mode = "stream"
settle = "300 ms"
"#;

/// What became of every line of a streaming caliper: counts, and the readings' digits.
fn became(dir: &Path) -> (u64, Vec<String>) {
    let mut shop = shared_types::Shop::default();
    let mut readings = Vec::new();
    for entry in history::Reader::open(dir)
        .unwrap()
        .after(shared_types::Seq(0), 10_000)
        .unwrap()
    {
        if let shared_types::Event::Observed(seen) = &entry.fact.event
            && seen.gauge.as_str() == "caliper-2"
            && let shared_types::Decoded::Reading(reading) = &seen.decoded
        {
            readings.push(format!("{} {}", reading.digits, reading.unit.sign()));
        }
        shop.apply(&entry);
    }
    let sight = &shop.gauges[&shared_types::GaugeId::new("caliper-2").unwrap()];
    assert_eq!(sight.readings, readings.len() as u64);
    (sight.readings + sight.garbled + sight.suppressed, readings)
}

/// In hundredths of a millimetre.
const SIZES: [i64; 6] = [1_270, 28_600, 17_100, 953, 1_432, 635];

/// A day with a caliper that streams: it trembles, bounces, loses bytes and its cable, and is set to inches.
#[test]
fn a_streaming_caliper_gives_one_reading_a_measurement_and_every_line_of_it_is_accounted_for() {
    let workshop = Workshop::new(STREAMING);
    for seed in 0..8 {
        let habits = Habits {
            drops_one_in: if seed % 2 == 0 { 0 } else { 40 },
            ..Habits::default()
        };
        let mut caliper = Caliper::new(habits, seed);
        let mut steps = Vec::new();
        for (number, size) in SIZES.into_iter().enumerate() {
            steps.extend(caliper.closes_on(size));
            steps.extend(caliper.holds(30));
            if number == 2 {
                steps.extend(caliper.loses_its_cable());
                steps.extend(caliper.closes(20));
            }
            if number == 4 {
                caliper.bump_unit();
            }
        }
        let text = format!("plug caliper-2\n{}", model::capture("caliper-2", &steps));
        let file = workshop.path().join(format!("{seed}.capture"));
        let kept = workshop.path().join(format!("kept-{seed}"));
        std::fs::write(&file, text).unwrap();
        let run = program::run([
            "replay".as_ref(),
            workshop.path(),
            &file,
            "--keep".as_ref(),
            &kept,
        ]);
        assert_eq!(run.code, Some(0), "{}", run.complained);
        let (lines, readings) = became(&kept);
        assert_eq!(
            lines,
            caliper.said(),
            "seed {seed}: a line was lost or counted twice"
        );
        // Which size each is of: a hundredth of tremor, and half a thousandth of an inch where it was set so.
        // A value that lost a digit on its way is away for one frame and back: that is no second measurement.
        let sizes: Vec<i64> = readings
            .iter()
            .map(|reading| {
                let value = shared_types::Length::parse(reading).unwrap();
                let near = |size: &i64| value.pm().abs_diff(*size * 10_000_000) <= 22_700_000;
                let found = SIZES.into_iter().find(near);
                found.unwrap_or_else(|| panic!("seed {seed}: {reading} is of none of them"))
            })
            .collect();
        assert_eq!(sizes, SIZES, "seed {seed}: {readings:?}");
    }
}

/// The same caliper on a real port of the real daemon, at its own pace.
#[test]
fn the_daemon_takes_what_a_hand_holds_still_and_nothing_on_the_way_there() {
    let workshop = Workshop::new(STREAMING);
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    let mut port = daemon.plug("caliper-2", &workshop.port("caliper-2"));
    let mut caliper = Caliper::new(
        Habits {
            every_ms: 20,
            ..Habits::default()
        },
        1,
    );
    let mut play = |steps: Vec<model::Step>| {
        for step in steps {
            std::thread::sleep(Duration::from_millis(step.after_ms));
            if let model::Does::Say(bytes) = step.does {
                port.send(&bytes).unwrap();
            }
        }
    };
    let taken = || became_readings(&daemon);
    for (number, size) in SIZES.into_iter().take(3).enumerate() {
        play(caliper.closes_on(size));
        assert_eq!(taken(), number, "something on the way was taken");
        // However slow this machine is: the hand waits until it is taken, as a person does.
        wait::until("the reading to be taken", || {
            play(caliper.holds(5));
            (taken() == number + 1).then_some(())
        });
    }
    play(caliper.closes(40));
    assert_eq!(taken(), 3, "closed jaws are no reading");
    assert_eq!(daemon.stop(), Some(0));
    let (lines, _) = became(workshop.path());
    assert_eq!(lines, caliper.said(), "a line was lost or counted twice");
}

fn became_readings(daemon: &Daemon) -> usize {
    let history = daemon.person.get("/api/history?after=0&limit=1000");
    let entries = history["entries"].as_array().unwrap();
    entries
        .iter()
        .filter(|entry| entry["event"]["observed"]["decoded"]["reading"].is_object())
        .count()
}
