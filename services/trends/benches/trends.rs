//! Figures of the statistics alone: `cargo bench -p trends`. An argument that is a number sets how many readings
//! there are (100,000 unless said otherwise). The readings are invented.

#![expect(
    clippy::float_arithmetic,
    reason = "figures for people; no verdict comes from them"
)]

use std::hint::black_box;
use std::time::{Duration, Instant};

use shared_types::{Length, Limits, Quantity};
use trends::charts::{Spread, ewma, individuals, subgroups};
use trends::{
    READINGS_MAX, RuleSet, Summary, Within, autocorrelation, capability, offences, one_way,
};

const ROUNDS: usize = 5;

fn main() {
    let count = std::env::args()
        .find_map(|argument| argument.parse().ok())
        .unwrap_or(100_000_usize)
        .clamp(100, READINGS_MAX);
    let readings = readings(count);
    let groups: Vec<&[i64]> = readings.chunks_exact(5).collect();
    println!("{count} readings, the median of {ROUNDS} rounds:");

    time("mean and standard deviation", || Summary::of(&readings));
    time("autocorrelation", || autocorrelation(&readings));
    time("individuals and moving ranges", || individuals(&readings));
    let chart = individuals(&readings).expect("readings scatter");
    time("Nelson's rules", || {
        offences(RuleSet::Nelson, &chart.readings)
    });
    time("weighted averages", || {
        ewma(&readings, &chart.baseline, 0.2)
    });
    time("subgroups of five, means and ranges", || {
        subgroups(&groups, Spread::Range)
    });
    time("analysis of variance, one factor", || one_way(&groups));
    let limits = limits();
    let summary = Summary::of(&readings).expect("there are readings");
    let within = Within::from_moving_ranges(chart.baseline.sigma, count);
    time("capability with its intervals", || {
        capability(&summary, &limits, &within, 0.95)
    });
}

fn time<T>(what: &str, work: impl Fn() -> T) {
    let mut took: Vec<Duration> = (0..ROUNDS)
        .map(|_| {
            let begun = clock();
            black_box(work());
            begun.elapsed()
        })
        .collect();
    took.sort_unstable();
    let ms = took[ROUNDS / 2].as_secs_f64() * 1e3;
    println!("{what:>40} {ms:10.3} ms");
}

/// 286 mm with a caliper's hundredths, scattered by a small generator (Knuth's MMIX constants).
fn readings(count: usize) -> Vec<i64> {
    let mut state = 1_u64;
    let mut next = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        i64::try_from((state >> 33) % 31).expect("below 31")
    };
    (0..count)
        .map(|_| 286_000_000_000 + 10_000_000 * (next() + next() + next() - 45))
        .collect()
}

fn limits() -> Limits {
    let quantity = |text: &str| Length::parse(text).ok().map(Quantity::Length);
    Limits::new(quantity("285.5 mm"), quantity("286.5 mm")).expect("limits in order")
}

#[expect(clippy::disallowed_methods, reason = "a benchmark measures time")]
fn clock() -> Instant {
    Instant::now()
}
