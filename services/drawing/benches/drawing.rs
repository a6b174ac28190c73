//! How long drawing takes: `cargo bench -p drawing`. Every view of a part as SVG, one dimension marked, as a
//! page shows it. The parts are invented.

#![expect(
    clippy::float_arithmetic,
    reason = "figures for people; no verdict comes from them"
)]

use std::hint::black_box;
use std::time::{Duration, Instant};

use drawing::{Style, svg};
use nominals::BuildRules;
use shared_types::{DisplayUnits, PartPlan};

/// Drawn so often, the median counts.
const ROUNDS: usize = 101;

const FILES: [(&str, &str); 5] = [
    ("B1", include_str!("../../../demo-readings/parts/B1.toml")),
    ("B2", include_str!("../../../demo-readings/parts/B2.toml")),
    ("G1", include_str!("../../../demo-readings/parts/G1.toml")),
    ("K2", include_str!("../../../demo-readings/parts/K2.toml")),
    ("R1", include_str!("../../../demo-readings/parts/R1.toml")),
];

fn main() {
    let rules = BuildRules {
        general: "m".parse().expect("a general tolerance"),
        allowance: "empirical".parse().expect("a bend-allowance rule"),
    };
    println!("all views of one part, median of {ROUNDS}, ms:");
    for (name, text) in FILES {
        let plan = nominals::part(name, text, &rules).expect("a part without mistakes");
        let mut bytes = 0;
        let mut took: Vec<Duration> = (0..ROUNDS)
            .map(|_| {
                let begun = clock();
                bytes = draw(&plan);
                begun.elapsed()
            })
            .collect();
        took.sort_unstable();
        println!(
            "  {name}: {:.3} ({} views, {bytes} bytes)",
            took[ROUNDS / 2].as_secs_f64() * 1e3,
            plan.views.len()
        );
    }
}

fn draw(plan: &PartPlan) -> usize {
    let style = Style {
        units: DisplayUnits::Mm,
        due: plan.characteristics.first().map(|c| &c.id),
        marks: &|_| None,
        standalone: true,
    };
    let views = black_box(plan).views.iter();
    views
        .map(|view| black_box(svg(view, plan, &style)).len())
        .sum()
}

#[expect(
    clippy::disallowed_methods,
    reason = "a benchmark measures time; nothing is decided by it"
)]
fn clock() -> Instant {
    Instant::now()
}
