//! A caliper's jaws, simulated: what a hand does with them, and which values must become readings.

use proptest::prelude::*;
use shared_types::{Length, NoReading, Quantity};

use super::{Fate, Mode, Settle, Taker};

const EACH_US: i64 = 100_000;

const SETTLE: Settle = Settle {
    still_us: 600_000,
    count: 4,
    tremor: 20_000_000,
    move_min: 200_000_000,
    zero: 50_000_000,
};

fn mm(hundredths: i64) -> Quantity {
    Quantity::Length(Length::from_pm(hundredths * 10_000_000).unwrap())
}

/// Readings of a stream at ten values a second, in hundredths of a millimetre.
fn readings(taker: &mut Taker, values: impl IntoIterator<Item = i64>) -> Vec<i64> {
    let mut at_us = 0;
    let mut readings = Vec::new();
    for value in values {
        at_us += EACH_US;
        if taker.value(at_us, mm(value)) == Fate::Reading {
            readings.push(value);
        }
    }
    readings
}

fn stream(asked: bool) -> Taker {
    Taker::new(Mode::Stream {
        settle: SETTLE,
        asked,
    })
}

fn still(value: i64, frames: usize) -> impl Iterator<Item = i64> {
    std::iter::repeat_n(value, frames)
}

/// Jaws on their way, in steps of a hand.
fn travel(from: i64, to: i64) -> impl Iterator<Item = i64> {
    (1..8).map(move |step| from + (to - from) * step / 8)
}

#[test]
fn a_value_that_stands_still_after_a_move_is_read_once() {
    let values = still(0, 20)
        .chain(travel(0, 1270))
        .chain(still(1270, 30))
        .chain(travel(1270, 2560))
        .chain(still(2560, 30));
    assert_eq!(readings(&mut stream(false), values), [1270, 2560]);
}

#[test]
fn the_same_dimension_measured_again_is_read_again() {
    let values = still(0, 10)
        .chain(travel(0, 1270))
        .chain(still(1270, 12))
        .chain(travel(1270, 1500))
        .chain(travel(1500, 1270))
        .chain(still(1270, 12));
    assert_eq!(readings(&mut stream(false), values), [1270, 1270]);
}

#[test]
fn a_value_away_for_a_single_frame_lost_a_digit_and_is_no_movement() {
    for (away, again) in [(1, vec![1270]), (2, vec![1270, 1270])] {
        let values = still(0, 10)
            .chain(travel(0, 1270))
            .chain(still(1270, 12))
            .chain(still(127, away))
            .chain(still(1270, 12));
        assert_eq!(readings(&mut stream(false), values), again, "{away}");
    }
}

#[test]
fn a_trembling_hand_closed_jaws_and_a_start_on_a_piece_make_no_reading() {
    let tremor = (0..100).map(|n| 1270 + n % 3 - 1);
    let cases: [(&str, Vec<i64>); 4] = [
        ("closed and left", still(0, 50).collect()),
        ("on from the start", still(1270, 50).collect()),
        ("trembling from the start", tremor.clone().collect()),
        (
            "closed after measuring nothing",
            still(1270, 3)
                .chain(travel(1270, 2))
                .chain(still(2, 50))
                .collect(),
        ),
    ];
    for (what, values) in cases {
        assert_eq!(readings(&mut stream(false), values), [0; 0], "{what}");
    }
    // And after a reading a tremor of one digit makes no second one.
    let values = still(0, 10).chain(travel(0, 1270)).chain(tremor);
    assert_eq!(readings(&mut stream(false), values).len(), 1);
}

#[test]
fn a_value_is_not_read_before_its_time_and_its_count_are_over() {
    // Seven values in a row span 600 ms: the sixth does not.
    for (frames, count) in [(6, 0), (7, 1)] {
        let values = still(0, 10).chain([600]).chain(still(1270, frames));
        assert_eq!(
            readings(&mut stream(false), values).len(),
            count,
            "{frames}"
        );
    }
    // Two values a second stand for long enough, but four of them have to be seen.
    let mut taker = stream(false);
    let slow = |n: i64| n * 500_000;
    assert_eq!(
        taker.value(slow(0), mm(0)),
        Fate::Passed(NoReading::Unsettled)
    );
    let fates: Vec<bool> = (1..5)
        .map(|n| taker.value(slow(n), mm(1270)) == Fate::Reading)
        .collect();
    assert_eq!(fates, [false, false, false, true]);
}

#[test]
fn a_gap_in_the_stream_is_not_standing_still() {
    let mut taker = stream(false);
    taker.value(0, mm(0));
    for n in 0..3 {
        taker.value(1_000_000 + n * EACH_US, mm(1270));
    }
    // Switched off for a minute, and on again at the same place.
    assert_ne!(taker.value(61_000_000, mm(1270)), Fate::Reading);
    assert_ne!(taker.value(61_000_000 + EACH_US, mm(1270)), Fate::Reading);
}

#[test]
fn a_clock_set_back_neither_settles_a_stream_nor_makes_a_bounce() {
    let mut taker = stream(false);
    taker.value(100_000_000, mm(0));
    for at_us in [
        100_100_000,
        100_200_000,
        100_300_000,
        1_000_000,
        1_100_000,
        1_200_000,
    ] {
        assert_ne!(taker.value(at_us, mm(1270)), Fate::Reading);
    }
    let mut taker = Taker::new(Mode::Send {
        interval_min_us: 300_000,
    });
    assert_eq!(taker.value(100_000_000, mm(1)), Fate::Reading);
    assert_eq!(taker.value(99_900_000, mm(1)), Fate::Reading);
}

#[test]
fn a_stream_that_waits_to_be_asked_is_read_once_for_each_question_when_it_stands_still() {
    let mut taker = stream(true);
    assert_eq!(
        readings(
            &mut taker,
            still(0, 5).chain(travel(0, 1270)).chain(still(1270, 20))
        ),
        [0; 0]
    );
    taker.ask();
    // Not while the jaws move, then at once when they stand.
    let values = travel(1270, 2560).chain(still(2560, 20));
    assert_eq!(readings(&mut taker, values), [2560]);
    assert!(!taker.is_asked());
    // Even at zero: a person asked for it.
    taker.ask();
    assert_eq!(readings(&mut taker, still(0, 20)), [0]);
}

#[test]
fn a_button_that_bounces_is_one_reading_and_a_hand_that_presses_again_is_another() {
    let mut taker = Taker::new(Mode::Send {
        interval_min_us: 300_000,
    });
    let fates: Vec<bool> = [0, 20_000, 45_000, 900_000, 1_199_999, 1_500_000]
        .into_iter()
        .map(|at_us| taker.value(at_us, mm(1270)) == Fate::Reading)
        .collect();
    assert_eq!(fates, [true, false, false, true, false, true]);
    // Without an interval every value counts, however close.
    let mut taker = Taker::new(Mode::default());
    assert!((0..100).all(|_| taker.value(0, mm(1270)) == Fate::Reading));
}

proptest! {
    /// Whatever a hand does, two readings are never of one rest: between them the value was away, and for
    /// two frames in a row.
    #[test]
    fn between_two_readings_of_a_stream_the_value_has_been_away(
        legs in prop::collection::vec((0..3000_i64, 1..20_usize, 0..3_i64), 1..30),
    ) {
        let mut taker = stream(false);
        let (mut at_us, mut read): (i64, Option<i64>) = (0, None);
        let (mut away, mut away_max) = (0, 0);
        for (target, frames, tremor) in legs {
            for n in 0..frames {
                let value = target + if n % 2 == 0 { tremor } else { 0 };
                at_us += EACH_US;
                if let Some(read) = read {
                    away = if (value - read).abs() >= 20 { away + 1 } else { 0 };
                    away_max = away_max.max(away);
                }
                if taker.value(at_us, mm(value)) == Fate::Reading {
                    prop_assert!(read.is_none() || away_max >= 2, "{} again", value);
                    prop_assert!(value > 5);
                    (read, away, away_max) = (Some(value), 0, 0);
                }
            }
        }
    }
}
