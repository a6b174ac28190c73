//! How long part files take: `cargo bench -p nominals`. One part of each family, a part that goes into
//! another, and a build of 500 parts, from texts in memory. The parts are invented.

#![expect(
    clippy::float_arithmetic,
    reason = "figures for people; no verdict comes from them"
)]

use std::hint::black_box;
use std::time::{Duration, Instant};

use nominals::{BuildRules, PartFile, build};

/// As many parts as a kit maker has in one aircraft.
const PARTS: usize = 500;
/// Computed so often, the median counts.
const ROUNDS: usize = 101;
/// Whole builds computed.
const BUILDS: usize = 11;

const FILES: [(&str, &str); 7] = [
    ("B1", include_str!("../../../demo-readings/parts/B1.toml")),
    ("B2", include_str!("../../../demo-readings/parts/B2.toml")),
    ("B3", include_str!("../../../demo-readings/parts/B3.toml")),
    ("G1", include_str!("../../../demo-readings/parts/G1.toml")),
    ("K2", include_str!("../../../demo-readings/parts/K2.toml")),
    ("R1", include_str!("../../../demo-readings/parts/R1.toml")),
    ("S3", include_str!("../../../demo-readings/parts/S3.toml")),
];

fn main() {
    let rules = BuildRules {
        general: "m".parse().expect("a general tolerance"),
        allowance: "empirical".parse().expect("a bend-allowance rule"),
    };
    println!("one part, median of {ROUNDS}, ms (aim below 1):");
    for (name, text) in FILES {
        let mut files = vec![file(name, text)];
        if text.contains("[fit]") {
            // With the part it goes into.
            files.extend(
                FILES
                    .iter()
                    .filter(|(name, _)| *name == "S3")
                    .map(|(name, text)| file(name, text)),
            );
        }
        println!(
            "  {name}: {:.3}",
            median(ROUNDS, || compute(&files, &rules))
        );
    }
    let files: Vec<PartFile> = (0..PARTS)
        .map(|at| {
            let round = at / FILES.len();
            let (name, text) = FILES[at % FILES.len()];
            // Each round is a family of its own: its bulkhead goes into its own shell.
            let named = text
                .replace(
                    &format!("part = \"{name}\""),
                    &format!("part = \"{name}-{round}\""),
                )
                .replace(
                    "into = \"S3\"",
                    &format!("into = \"S3-{}\"", round.min((PARTS - 7) / 7)),
                );
            file(&format!("{name}-{round}"), &named)
        })
        .collect();
    println!(
        "a build of {PARTS} parts, median of {BUILDS}, ms (aim below 500): {:.1}",
        median(BUILDS, || compute(&files, &rules))
    );
}

fn file(name: &str, text: &str) -> PartFile {
    PartFile {
        name: format!("parts/{name}.toml"),
        text: text.to_owned(),
    }
}

fn compute(files: &[PartFile], rules: &BuildRules) {
    let (parts, mistakes) = black_box(build(black_box(files), rules));
    assert!(mistakes.is_empty(), "{mistakes:?}");
    assert_eq!(parts.len(), files.len());
}

/// In milliseconds.
fn median(rounds: usize, mut run: impl FnMut()) -> f64 {
    let mut took: Vec<Duration> = (0..rounds)
        .map(|_| {
            let begun = clock();
            run();
            begun.elapsed()
        })
        .collect();
    took.sort_unstable();
    took[rounds / 2].as_secs_f64() * 1e3
}

#[expect(
    clippy::disallowed_methods,
    reason = "a benchmark measures time; nothing is decided by it"
)]
fn clock() -> Instant {
    Instant::now()
}
