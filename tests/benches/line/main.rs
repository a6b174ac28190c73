//! The whole line, measured from outside: publish or send → committed verdict, beside a bare subscriber that
//! group-commits the same rows through the same client crate and broker (the floor), in one run.
//!
//! `cargo bench -p oddleg-tests` for all; `cargo bench -p oddleg-tests -- latency` for one of `latency`,
//! `saturated`, `backlog`, `start`, `gauges`. A number shortens `gauges` to so many seconds.

#![allow(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    clippy::float_arithmetic,
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a benchmark: it reads the clock and prints ratios; what cannot be set up ends it"
)]

mod floor;
mod gauges;
mod million;
mod process;
mod send;

use std::time::{Duration, Instant};

use oddleg_tests::broker::Broker;
use oddleg_tests::workshop::Workshop;
use oddleg_tests::{Plugged, program};

use process::{Subject, Watch};

/// Readings of one paced run: ten seconds at fifty a second.
const PACED: u64 = 500;
/// Readings of one saturated run and of one backlog.
const MANY: u64 = 50_000;
/// Rounds of each comparison; the figures are their medians, with minimum and maximum.
const ROUNDS: usize = 3;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    if let [word, port, dir] = args.as_slice()
        && word == "floor"
    {
        return floor::run(port.parse().unwrap(), dir.as_ref());
    }
    let seconds: Option<u64> = args.iter().find_map(|arg| arg.parse().ok());
    let asked = |name: &str| {
        let is_name = |arg: &&String| !arg.starts_with('-') && arg.parse::<u64>().is_err();
        let names: Vec<&String> = args.iter().filter(is_name).collect();
        names.is_empty() || names.iter().any(|n| *n == name)
    };
    program::oddleg();
    if asked("latency") {
        latency();
    }
    if asked("saturated") {
        saturated();
    }
    if asked("backlog") {
        backlog();
    }
    if asked("start") {
        million::start();
    }
    if asked("gauges") {
        gauges::gauges(seconds);
    }
}

/// Median, minimum and maximum.
fn spread(mut values: Vec<f64>) -> (f64, f64, f64) {
    values.sort_by(f64::total_cmp);
    (
        values[values.len() / 2],
        values[0],
        values[values.len() - 1],
    )
}

fn line(name: &str, unit: &str, floor: Vec<f64>, ours: Vec<f64>) {
    let ((f, f0, f1), (o, o0, o1)) = (spread(floor), spread(ours));
    println!(
        "{name:<34} floor {f:>10.3} [{f0:.3}–{f1:.3}]  oddleg {o:>10.3} [{o0:.3}–{o1:.3}] {unit:<10} ratio {:.2}",
        o / f
    );
}

fn latency() {
    let mut rows = [vec![], vec![], vec![], vec![]];
    let mut serial = [vec![], vec![]];
    for _ in 0..ROUNDS {
        for ours in [false, true] {
            let broker = Broker::that_seldom_saves();
            let workshop = Workshop::plate(&broker.toml());
            let subject = Subject::start(ours, &broker, &workshop);
            let (p50, p99) = paced(&workshop, send::over_mqtt(&broker, PACED));
            rows[usize::from(ours)].push(p50);
            rows[2 + usize::from(ours)].push(p99);
            drop(subject);
        }
        let broker = Broker::that_seldom_saves();
        let workshop = Workshop::plate(&broker.toml());
        let mut gauge = Plugged::new(&workshop.port("caliper-1")).unwrap();
        let subject = Subject::start(true, &broker, &workshop);
        std::thread::sleep(Duration::from_millis(1500));
        let (p50, p99) = paced(&workshop, |_| gauge.send(b"290.0 mm\r").unwrap());
        serial[0].push(p50);
        serial[1].push(p99);
        drop(subject);
    }
    let [floor50, ours50, floor99, ours99] = rows;
    line("MQTT, 50/s, p50", "ms", floor50, ours50);
    line("MQTT, 50/s, p99", "ms", floor99, ours99);
    let [p50, p99] = serial.map(spread);
    println!(
        "serial, 50/s, p50 / p99: {:.3} [{:.3}–{:.3}] / {:.3} [{:.3}–{:.3}] ms",
        p50.0, p50.1, p50.2, p99.0, p99.1, p99.2
    );
}

/// Sends one reading every 20 ms and waits until it is committed; p50 and p99 in milliseconds.
fn paced(workshop: &Workshop, mut send: impl FnMut(u64)) -> (f64, f64) {
    let watch = Watch::on(workshop.path());
    let mut times = Vec::new();
    for number in 0..PACED {
        let before = watch.newest();
        let begun = Instant::now();
        send(number);
        watch.until(|newest| newest > before);
        times.push(begun.elapsed().as_secs_f64() * 1e3);
        std::thread::sleep(Duration::from_millis(20).saturating_sub(begun.elapsed()));
    }
    times.sort_by(f64::total_cmp);
    (times[times.len() / 2], times[times.len() * 99 / 100])
}

fn saturated() {
    let mut rate = [vec![], vec![]];
    let mut cpu = [vec![], vec![]];
    let mut memory = [vec![], vec![]];
    for _ in 0..ROUNDS {
        for ours in [false, true] {
            let broker = Broker::that_seldom_saves();
            let workshop = Workshop::plate(&broker.toml());
            let subject = Subject::start(ours, &broker, &workshop);
            let watch = Watch::on(workshop.path());
            let before = watch.newest();
            let used = subject.cpu_s();
            let begun = Instant::now();
            send::many(&broker, MANY);
            watch.until(|newest| newest >= before + MANY);
            rate[usize::from(ours)].push(MANY as f64 / begun.elapsed().as_secs_f64());
            cpu[usize::from(ours)].push((subject.cpu_s() - used) / MANY as f64 * 1e6);
            memory[usize::from(ours)].push(subject.peak_mib());
        }
    }
    let [floor, ours] = rate;
    line("MQTT, saturated", "/s", floor, ours);
    let [floor, ours] = cpu;
    line("processor time, saturated", "µs each", floor, ours);
    let [floor, ours] = memory;
    line("peak resident, saturated", "MiB", floor, ours);
}

fn backlog() {
    let mut rate = [vec![], vec![]];
    let mut cpu = [vec![], vec![]];
    for _ in 0..ROUNDS {
        for ours in [false, true] {
            let broker = Broker::that_seldom_saves();
            let workshop = Workshop::plate(&broker.toml());
            // Once, so that the broker knows the session it is to keep messages for.
            drop(Subject::start(ours, &broker, &workshop));
            send::many(&broker, MANY);
            let watch = Watch::on(workshop.path());
            let before = watch.newest();
            let subject = Subject::spawn(ours, &broker, &workshop);
            watch.until(|newest| newest > before + 2);
            // What was drained while the start was being waited for does not count.
            let (begun, drained) = (Instant::now(), watch.newest() - before);
            watch.until(|newest| newest >= before + MANY);
            rate[usize::from(ours)].push((MANY - drained) as f64 / begun.elapsed().as_secs_f64());
            cpu[usize::from(ours)].push(subject.cpu_s() / MANY as f64 * 1e6);
        }
    }
    let [floor, ours] = rate;
    line("backlog of 50 000", "/s", floor, ours);
    let [floor, ours] = cpu;
    line("processor time, backlog", "µs each", floor, ours);
}
