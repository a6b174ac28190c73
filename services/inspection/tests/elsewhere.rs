//! A gauge taken to another bench.
#![allow(missing_docs, clippy::unwrap_used)]

mod bench;

use bench::{Play, id};
use shared_types::*;

const MM: Unit = Unit::Millimetre;

/// A bulkhead here, whose left flange is to be 12.7 mm, and one there that is trimmed to 9.5 mm.
fn two_benches() -> Play {
    let mut play = Play::laid();
    play.act(Event::Laid {
        bench: BenchId::new("bench-2").unwrap(),
        piece: "B2/2".parse().unwrap(),
        stage: Stage::Trimmed,
        reason: None,
    })
    .unwrap();
    play
}

#[test]
fn a_reading_far_out_that_fits_what_is_due_on_another_bench_waits_and_goes_nowhere() {
    let mut play = two_benches();
    let said = play.measure("caliper", "9.52", MM);
    assert_eq!(said, "held OtherBench: formed.left in mm");
    let left = id("trimmed.left");
    let there = play.shop.pieces.get(&"B2/2".parse().unwrap());
    assert!(there.is_none_or(|piece| piece.standing(&left).is_none()));
    // Whoever picked has said that it is of here.
    play.pick("formed.left").unwrap();
    let said = play.measure("caliper", "9.52", MM);
    assert_eq!(said, "formed.left too small");
    // Near nothing here.
    let mut play = two_benches();
    play.lay("B2/3", Stage::Trimmed).unwrap();
    assert_eq!(play.measure("caliper", "12.71", MM), "held FitsNothing: ");
    play.act(Event::Laid {
        bench: BenchId::new("bench-2").unwrap(),
        piece: "B2/2".parse().unwrap(),
        stage: Stage::Formed,
        reason: None,
    })
    .unwrap();
    assert_eq!(play.measure("caliper", "12.71", MM), "held OtherBench: ");
}

/// The twin: with nothing on the other bench the same reading is a fail.
#[test]
fn where_nothing_lies_on_the_other_bench_a_reading_far_out_is_a_fail() {
    let mut play = Play::laid();
    assert_eq!(play.measure("caliper", "9.52", MM), "formed.left too small");
}
