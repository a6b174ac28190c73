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
    fold();
}

/// A million readings of a route walked again and again, folded into the bench's state. Reading them from the disk is
/// measured with the start of the daemon.
fn fold() {
    let mut play = Play::new();
    for piece in ["B2/1", "B2/2", "B2/3", "B2/4"] {
        play.lay(piece, Stage::Formed).expect("laid");
        for (gauge, digits, unit) in ROUTE {
            let event = Play::event(gauge, digits, unit, Via::Serial);
            play.act(event).expect("read");
        }
    }
    let mut entries = play.entries;
    let (mut shop, begins) = (Shop::default(), clock());
    let mut paused = Duration::ZERO;
    let mut folded = 0_u64;
    while folded < MILLION {
        let from = if folded == 0 { 0 } else { 4 };
        for entry in &entries[from..] {
            shop.apply(entry);
            folded += 1;
        }
        let renumbering = clock();
        let by = u64::try_from(entries.len()).expect("few") - 4;
        for entry in &mut entries[4..] {
            entry.seq.0 += by;
        }
        paused += renumbering.elapsed();
    }
    let took = begins.elapsed() - paused;
    println!("{folded} entries folded in {:.2} s", took.as_secs_f64());
}

const MILLION: u64 = 1_000_000;

/// The route of the bench's part, each dimension as it should be.
const ROUTE: [(&str, &str, Unit); 5] = [
    ("caliper", "12.70", Unit::Millimetre),
    ("caliper", "12.71", Unit::Millimetre),
    ("angle", "90.1", Unit::Degree),
    ("caliper", "286.02", Unit::Millimetre),
    ("caliper", "18.01", Unit::Millimetre),
];

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
