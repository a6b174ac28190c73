//! Calipers that stream: how much of a core sixteen of them cost, of which almost every frame is passed over.

use std::time::{Duration, Instant};

use oddleg_tests::daemon::Daemon;
use oddleg_tests::workshop::Workshop;
use oddleg_tests::{Plugged, program, wait};

use crate::process;

/// A club's worth of cheap calipers, each switched on.
const GAUGES: usize = 16;
/// Ten values a second, as cheap calipers send.
const EACH: Duration = Duration::from_millis(100);
/// Without a number among the arguments.
const SECONDS: u64 = 60;
/// One piece of work: jaws closed, opened over the part, resting on it with a trembling last digit, closed.
const ROUND: [&str; 30] = [
    "0.00", "0.00", "0.00", "0.00", "0.00", "0.00", "3.17", "97.44", "201.90", "288.31", "286.52",
    "286.12", "286.10", "286.10", "286.11", "286.10", "286.10", "286.11", "286.11", "286.10",
    "286.10", "286.10", "286.10", "286.11", "286.10", "241.06", "120.77", "14.90", "0.01", "0.00",
];

pub(crate) fn gauges(seconds: Option<u64>) {
    let names: Vec<String> = (1..=GAUGES).map(|n| format!("stream-{n}")).collect();
    let toml = names.iter().map(|name| {
        format!(
            "\n[gauge.{name}]\nbench = \"bench-1\"\nkind = \"caliper\"\nvia = \"serial\"\n\
             port = \"gauges/{name}\"\nunit = \"mm\"\nmode = \"stream\"\n"
        )
    });
    let workshop = Workshop::plate(&toml.collect::<String>());
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    let mut plugged: Vec<Plugged> = names
        .iter()
        .map(|name| daemon.plug(name, &workshop.port(name)))
        .collect();

    // Whole pieces of work, so that the readings expected are a whole number.
    let frames_a_round = ROUND.len() as u64;
    let frames_a_second = 1000 / u64::try_from(EACH.as_millis()).unwrap();
    let rounds = (seconds.unwrap_or(SECONDS) * frames_a_second / frames_a_round).max(1);
    let (used, begun) = (process::cpu_s(daemon.pid()), Instant::now());
    for tick in 0..rounds * frames_a_round {
        // Each sends at its own moment, and all come to rest in the same tenth of a second.
        for (number, gauge) in plugged.iter_mut().enumerate() {
            let value = ROUND[usize::try_from(tick).unwrap() % ROUND.len()];
            gauge.send(format!("{value}\r").as_bytes()).unwrap();
            let due = EACH * u32::try_from(tick).unwrap()
                + EACH * u32::try_from(number + 1).unwrap() / u32::try_from(GAUGES).unwrap();
            std::thread::sleep(due.saturating_sub(begun.elapsed()));
        }
    }
    let passed = begun.elapsed().as_secs_f64();
    let used = process::cpu_s(daemon.pid()) - used;
    let readings = wait::until("a reading of each rest", || {
        let bench = daemon.person.get("/api/bench");
        let sights = bench["gauges"].as_array().unwrap();
        let sum: u64 = sights.iter().map(|s| s["readings"].as_u64().unwrap()).sum();
        (sum >= rounds * GAUGES as u64).then_some(sum)
    });
    println!(
        "{GAUGES} streaming gauges, {} values/s for {passed:.0} s: {:.2} % of a core, {readings} readings \
         of {} expected, {:.1} MiB resident at most",
        GAUGES as u64 * frames_a_second,
        100.0 * used / passed,
        rounds * GAUGES as u64,
        process::peak_mib(daemon.pid()),
    );
    drop(plugged);
    assert_eq!(daemon.stop(), Some(0));
}
