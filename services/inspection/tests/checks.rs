//! Checks of gauges, and the readings a failed one puts in doubt.
#![allow(clippy::unwrap_used, reason = "whatever fails here fails the test")]

mod bench;

use std::collections::BTreeSet;

use bench::{Play, bench};
use proptest::prelude::*;
use shared_types::*;

fn caliper() -> GaugeId {
    GaugeId::new("caliper").unwrap()
}

fn begin(play: &mut Play, gauge: &str, against: &str) -> Result<Finding, Refusal> {
    play.act(Event::CheckBegun {
        bench: bench(),
        gauge: GaugeId::new(gauge).unwrap(),
        reference: against.into(),
    })
}

fn check(play: &mut Play, against: &str, digits: &str) -> String {
    begin(play, "caliper", against).unwrap();
    play.measure("caliper", digits, Unit::Millimetre)
}

fn laid() -> Play {
    let mut play = Play::new();
    play.lay("B2/1", Stage::Formed).unwrap();
    play
}

fn suspects(play: &Play) -> Vec<u64> {
    let checks = play.shop.checks(&caliper()).unwrap();
    checks
        .suspects()
        .listed
        .iter()
        .map(|(seq, _)| seq.0)
        .collect()
}

#[test]
fn the_next_reading_after_a_check_is_begun_is_the_check_and_of_no_piece() {
    let mut play = laid();
    let due = play.due();
    assert_eq!(
        check(&mut play, "block 25", "25.02"),
        "checked at block 25 within 0.02 mm: pass"
    );
    assert_eq!(play.due(), due, "the route has not moved");
    assert_eq!(
        check(&mut play, "block 25", "25.03"),
        "checked at block 25 within 0.02 mm: too large"
    );
    assert_eq!(
        check(&mut play, "block 25", "24.98"),
        "checked at block 25 within 0.02 mm: pass"
    );
    assert_eq!(
        check(&mut play, "block 25", "24.97"),
        "checked at block 25 within 0.02 mm: too small"
    );
    assert_eq!(
        check(&mut play, "ring 50", "50.04"),
        "checked at ring 50 within 0.04 mm: pass"
    );
    assert_eq!(
        play.measure("caliper", "12.7", Unit::Millimetre),
        "formed.left pass"
    );
}

#[test]
fn closed_jaws_tell_the_offset_and_nothing_is_corrected() {
    let mut play = laid();
    assert_eq!(
        check(&mut play, "zero", "-0.03"),
        "checked at zero within 0.02 mm: too small"
    );
    let checks = play.shop.checks(&caliper()).unwrap();
    let offset = checks.failing().unwrap().error().unwrap();
    assert_eq!(offset.to_string(), "-0.03 mm");
    play.measure("caliper", "12.7", Unit::Millimetre);
    let reading = play.entries.last().unwrap();
    let Finding::Judged { value, .. } = &reading.fact.finding else {
        panic!("judged")
    };
    assert_eq!(value.to_string(), "12.7 mm");
    assert_eq!(
        suspects(&play),
        [reading.seq.0],
        "a gauge known to be wrong is in doubt at once"
    );
}

#[test]
fn other_gauges_measure_on_and_a_check_that_is_left_is_none() {
    let mut play = laid();
    begin(&mut play, "caliper", "block 25").unwrap();
    assert!(
        play.measure("angle", "90", Unit::Degree)
            .starts_with("held"),
        "not due, but no check"
    );
    let left = |play: &mut Play| {
        play.act(Event::CheckLeft {
            bench: bench(),
            gauge: caliper(),
        })
    };
    left(&mut play).unwrap();
    assert_eq!(
        play.measure("caliper", "12.7", Unit::Millimetre),
        "formed.left pass"
    );
    assert_eq!(left(&mut play), Err(Refusal::NotChecking("caliper".into())));
}

#[test]
fn a_check_that_cannot_be_is_refused_with_the_reason() {
    let mut play = laid();
    for (gauge, against, says) in [
        (
            "nobody",
            "zero",
            "there is no gauge \"nobody\" at bench bench-1",
        ),
        (
            "caliper",
            "block 26",
            "gauge caliper is checked against \"zero\", \"block 25\", \"ring 50\" (inside), and not against \"block 26\"; name it in its `check_against`",
        ),
        (
            "angle",
            "zero",
            "gauge angle cannot be checked against zero: how far it may be off there is not known; state `limit_of_error` in its configuration",
        ),
        (
            "keypad",
            "zero",
            "keypad is typed entry, and there is nothing to check; check the gauge whose readings are typed",
        ),
    ] {
        let refused = begin(&mut play, gauge, against).unwrap_err();
        assert_eq!(refused.to_string(), says);
    }
}

#[test]
fn a_failed_check_puts_all_since_the_last_good_one_in_doubt_and_changes_no_verdict() {
    let mut play = laid();
    let measure = |play: &mut Play| {
        play.act(Event::Picked {
            bench: bench(),
            characteristic: bench::id("formed.left"),
        })
        .unwrap();
        assert_eq!(
            play.measure("caliper", "12.7", Unit::Millimetre),
            "formed.left pass"
        );
        play.shop.seq.0
    };
    measure(&mut play);
    check(&mut play, "block 25", "25.00");
    let second = measure(&mut play);
    // Right at zero says nothing of 25 mm.
    check(&mut play, "zero", "0.00");
    let third = measure(&mut play);
    check(&mut play, "block 25", "25.05");
    let failed = play.shop.seq;
    assert_eq!(suspects(&play), [second, third]);
    let fourth = measure(&mut play);
    check(&mut play, "zero", "0.00");
    let fifth = measure(&mut play);
    assert_eq!(suspects(&play), [second, third, fourth, fifth]);
    check(&mut play, "block 25", "25.01");
    measure(&mut play);
    assert_eq!(
        suspects(&play),
        [second, third, fourth, fifth],
        "a good check does not make the past good"
    );
    let standing = play.shop.attempt(Seq(second)).unwrap().2.verdict;
    assert_eq!(standing, Verdict::Pass, "nothing is judged again");

    let void = |play: &mut Play, seq| {
        play.act(Event::Voided {
            bench: bench(),
            reading: seq,
            reason: "in doubt".into(),
        })
    };
    void(&mut play, Seq(third)).unwrap();
    assert_eq!(
        suspects(&play),
        [second, fourth, fifth],
        "what does not count is in no doubt"
    );
    void(&mut play, failed).unwrap();
    assert_eq!(
        suspects(&play),
        [0; 0],
        "a check that was none puts nothing in doubt"
    );
    assert_eq!(void(&mut play, failed), Err(Refusal::NoReading(failed)));
}

#[test]
fn beyond_the_readings_kept_it_is_said_how_many_more_are_in_doubt() {
    let mut play = laid();
    let many = SUSPECTS_KEPT_MAX + 7;
    for _ in 0..many {
        play.act(Event::Picked {
            bench: bench(),
            characteristic: bench::id("formed.left"),
        })
        .unwrap();
        play.measure("caliper", "12.7", Unit::Millimetre);
    }
    check(&mut play, "block 25", "25.05");
    let checks = play.shop.checks(&caliper()).unwrap();
    let suspects = checks.suspects();
    assert_eq!(
        (suspects.listed.len(), suspects.more),
        (SUSPECTS_KEPT_MAX, 7)
    );
}

/// The plain rule, over a list: a reading is in doubt where a check of its gauge failed and no check that would
/// have cleared that one lies between the two.
fn plainly(events: &[(u64, Option<(bool, bool)>)]) -> BTreeSet<u64> {
    let clears = |(good, zero): (bool, bool), failed_zero: bool| good && (!zero || failed_zero);
    let mut doubted = BTreeSet::new();
    for (at, (reading, what)) in events.iter().enumerate() {
        if what.is_some() {
            continue;
        }
        for (other, (_, check)) in events.iter().enumerate() {
            let Some((false, zero)) = check else { continue };
            let between = if other < at {
                &events[other..at]
            } else {
                &events[at..other]
            };
            if !between
                .iter()
                .filter_map(|(_, c)| *c)
                .any(|c| clears(c, *zero))
            {
                doubted.insert(*reading);
            }
        }
    }
    doubted
}

proptest! {
    #[test]
    fn the_readings_in_doubt_are_those_of_the_plain_rule(acts in prop::collection::vec(0_u8..7, 0..60)) {
        let mut play = laid();
        let mut events: Vec<(u64, Option<(bool, bool)>)> = Vec::new();
        for act in acts {
            let checked = match act {
                0 => Some(("block 25", "25.00", true, false)),
                1 => Some(("block 25", "25.05", false, false)),
                2 => Some(("zero", "0.01", true, true)),
                3 => Some(("zero", "0.05", false, true)),
                _ => None,
            };
            if let Some((against, digits, good, zero)) = checked {
                check(&mut play, against, digits);
                events.push((play.shop.seq.0, Some((good, zero))));
            } else if act == 4 && !events.is_empty() {
                // One that is in the middle does not count.
                let (seq, _) = events.remove(events.len() / 2);
                play.act(Event::Voided { bench: bench(), reading: Seq(seq), reason: "no".into() }).unwrap();
            } else {
                play.act(Event::Picked { bench: bench(), characteristic: bench::id("formed.left") }).unwrap();
                play.measure("caliper", "12.7", Unit::Millimetre);
                events.push((play.shop.seq.0, None));
            }
        }
        let found: BTreeSet<u64> = if events.is_empty() { BTreeSet::new() } else { suspects(&play).into_iter().collect() };
        prop_assert_eq!(&found, &plainly(&events));
        let checks = play.shop.checks(&caliper());
        prop_assert!(checks.is_none_or(|c| c.suspects().more == 0));
    }
}
