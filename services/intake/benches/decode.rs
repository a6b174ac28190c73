//! How fast frames are decoded, and what they allocate: `cargo bench -p intake`. An argument names
//! dialects to measure. The lines are invented.

#![expect(
    clippy::float_arithmetic,
    reason = "figures for people; no verdict comes from them"
)]

use std::hint::black_box;
use std::time::{Duration, Instant};

use allocation_counter::measure as counted;
use intake::{BitOrder, Dialect, DigitOrder, Form, Framer, Pattern, Terminator};
use shared_types::Unit;

const ROUND: u32 = 20_000;
const ROUNDS: usize = 15;

fn main() {
    let wanted: Vec<String> = std::env::args()
        .skip(1)
        .filter(|word| !word.starts_with('-'))
        .collect();
    println!("median of {ROUNDS} rounds of {ROUND} frames, one thread");
    println!(
        "{:<34} {:>14} {:>22} {:>22}",
        "frame", "million a s", "allocations, value", "allocations, reading"
    );
    for (name, form, decimal, frame) in frames() {
        if !wanted.is_empty() && !wanted.iter().any(|word| name.contains(word.as_str())) {
            continue;
        }
        let dialect = Dialect {
            form,
            ..Dialect::line(Unit::Millimetre, decimal, None)
        };
        measure(name, frame, &dialect);
    }
    if wanted.is_empty() || wanted.iter().any(|word| word == "framing") {
        framing();
    }
}

fn frames() -> Vec<(&'static str, Form, char, &'static [u8])> {
    let pattern = Pattern::new("#{status} {value} {unit};{skip}", '.').expect("it is a pattern");
    let good = || "A".to_owned();
    vec![
        ("line", Form::Line, '.', b"+  12.340, MM"),
        ("line, bare", Form::Line, '.', b"+00012.34"),
        ("line, comma", Form::Line, ',', b"12,34 mm"),
        ("line, garbled", Form::Line, '.', b"+12.3x"),
        ("line, noise", Form::Line, '.', b"\x93\xff\x00\x81\x7f\xc2"),
        ("line, angle", Form::Line, '.', "43°10'00\"".as_bytes()),
        ("dms", Form::Dms, '.', b"43 10 00"),
        (
            "lettered",
            Form::Lettered {
                letters: "APD".into(),
            },
            '.',
            b"APD+043.10",
        ),
        (
            "multiplexer",
            Form::Multiplexer { good: good() },
            '.',
            b"01A+00012.34",
        ),
        (
            "multiplexer, error",
            Form::Multiplexer { good: good() },
            '.',
            b"911",
        ),
        (
            "delimited",
            Form::Delimited { separator: b';' },
            '.',
            b"1;+12.34;mm",
        ),
        ("numbered", Form::Numbered, '.', b"5.637 MM 2 7"),
        ("axis", Form::Axis, '.', b"X=+00.430"),
        (
            "sync-24",
            Form::Sync24(BitOrder::LowByteFirst),
            '.',
            b"d20400",
        ),
        ("bcd-7", Form::Bcd7(DigitOrder::Value), '.', b"1089002"),
        (
            "bcd-13",
            Form::Bcd13(DigitOrder::Value),
            '.',
            b"FFFF021076540",
        ),
        (
            "pattern",
            Form::Pattern {
                pattern,
                good: "OK".into(),
            },
            '.',
            b"#OK +12.34 mm;b87",
        ),
    ]
}

fn measure(name: &str, frame: &[u8], dialect: &Dialect) {
    let mut rates = Vec::with_capacity(ROUNDS);
    let discarded = counted(|| {
        for _ in 0..ROUNDS {
            let begun = clock();
            for _ in 0..ROUND {
                black_box(dialect.value(black_box(frame))).ok();
            }
            rates.push(begun.elapsed());
        }
    })
    .count_total;
    let kept = counted(|| {
        for _ in 0..ROUND {
            black_box(dialect.decode(black_box(frame)));
        }
    })
    .count_total;
    println!(
        "{name:<34} {:>14.2} {:>22} {:>22.2}",
        million_a_second(&mut rates, ROUND),
        discarded,
        per_frame(kept, ROUND),
    );
}

/// A stream cut into frames and decoded, as a port does it.
fn framing() {
    let stream = b"+00012.34\r\n".repeat(1000);
    let dialect = Dialect::default();
    let mut framer = Framer::new(Terminator::CrOrLf);
    let mut rates = Vec::with_capacity(ROUNDS);
    let discarded = counted(|| {
        for _ in 0..ROUNDS {
            let begun = clock();
            for _ in 0..ROUND / 1000 {
                let mut rest = &stream[..];
                while let Some(frame) = framer.next(&mut rest) {
                    if let intake::Frame::Whole(raw) = frame {
                        black_box(dialect.value(black_box(raw))).ok();
                    }
                }
            }
            rates.push(begun.elapsed());
        }
    })
    .count_total;
    println!(
        "{:<34} {:>14.2} {discarded:>22}",
        "framing and line",
        million_a_second(&mut rates, ROUND)
    );
}

fn million_a_second(rates: &mut [Duration], frames: u32) -> f64 {
    rates.sort_unstable();
    f64::from(frames) / rates[rates.len() / 2].as_secs_f64() / 1e6
}

fn per_frame(allocations: u64, frames: u32) -> f64 {
    u32::try_from(allocations).map_or(f64::INFINITY, f64::from) / f64::from(frames)
}

#[expect(clippy::disallowed_methods, reason = "a benchmark measures time")]
fn clock() -> Instant {
    Instant::now()
}
