//! Figures of one judgement: `cargo bench -p inspection`. Aim: under 5 µs for a reading against zones that stand.

#![expect(
    clippy::float_arithmetic,
    reason = "figures for people; no verdict comes from them"
)]

use std::hint::black_box;
use std::time::{Duration, Instant};

use inspection::decision::{Zones, settle};
use inspection::uncertainty::chances;
use shared_types::{Limits, Probability, Quantity, Rule};

const ROUNDS: usize = 5;
const TIMES: u32 = 2_000;

fn main() {
    let (limits, u) = (limits(), mm("0.02 mm"));
    let rule = Rule::Guarded(Probability::DEFAULT);
    let zones = Zones::new(rule, &limits, u).expect("limits and u of one kind");
    let value = mm("10.06 mm");
    println!("the median of {ROUNDS} rounds of {TIMES}:");
    time("a reading judged by standing zones", || {
        (zones.ruling(black_box(value)), chances(value, &limits, u))
    });
    time("zones of a characteristic", || {
        Zones::new(rule, black_box(&limits), u)
    });
    time("what would decide a reading", || {
        settle(rule, &limits, black_box(mm("10.09 mm")), u, u)
    });
}

fn time<T>(what: &str, work: impl Fn() -> T) {
    let mut took: Vec<Duration> = (0..ROUNDS)
        .map(|_| {
            let begun = clock();
            for _ in 0..TIMES {
                black_box(work());
            }
            begun.elapsed()
        })
        .collect();
    took.sort_unstable();
    let us = took[ROUNDS / 2].as_secs_f64() * 1e6 / f64::from(TIMES);
    println!("{what:>40} {us:10.3} µs");
}

fn mm(text: &str) -> Quantity {
    Quantity::parse(text).expect("a length")
}

fn limits() -> Limits {
    Limits::new(Some(mm("9.9 mm")), Some(mm("10.1 mm"))).expect("limits in order")
}

#[expect(clippy::disallowed_methods, reason = "a benchmark measures time")]
fn clock() -> Instant {
    Instant::now()
}
