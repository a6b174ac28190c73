//! Figures of one judgement: `cargo bench -p inspection`. Aim: under 5 µs for a reading against zones that stand.

#![expect(
    clippy::float_arithmetic,
    reason = "figures for people; no verdict comes from them"
)]

#[path = "../tests/bench/mod.rs"]
mod bench;

use std::hint::black_box;
use std::time::{Duration, Instant};

use bench::Play;
use inspection::decision::{Zones, settle};
use inspection::uncertainty::chances;
use inspection::{Doubt, inspect};
use shared_types::{Event, Limits, Probability, Quantity, Rule, Setup, Shop, Stage, Unit, Via};

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
    println!("the whole of inspection, one reading matched and judged:");
    let cases = [
        (
            "plain, nothing known of the gauge",
            "plain",
            "angle",
            "90.2",
            Unit::Degree,
        ),
        (
            "plain, the gauge's budget and chance with it",
            "plain",
            "caliper",
            "12.71",
            Unit::Millimetre,
        ),
        (
            "guarded, proved",
            "guarded",
            "caliper",
            "12.71",
            Unit::Millimetre,
        ),
        (
            "guarded, undecided, and what would decide it",
            "guarded",
            "caliper",
            "13.19",
            Unit::Millimetre,
        ),
    ];
    for (what, rule, gauge, digits, unit) in cases {
        let shop = shop(rule, gauge);
        let event = Play::event(gauge, digits, unit, Via::Serial);
        time(what, || inspect(&shop, 9, black_box(&event), Doubt::None));
    }
}

/// The shop of the tests, by a rule, where the gauge's own dimension is due.
fn shop(rule: &str, gauge: &str) -> Shop {
    let mut play = Play::new();
    let setup = Setup {
        decision: rule.parse().expect("a rule"),
        ..Setup::clone(play.shop.setup.as_ref().expect("configured"))
    };
    let version = "0".into();
    play.act(Event::Opened { version, setup }).expect("opened");
    play.lay("B2/1", Stage::Formed).expect("laid");
    if gauge == "angle" {
        play.pick("formed.angle").expect("picked");
    }
    play.shop
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
