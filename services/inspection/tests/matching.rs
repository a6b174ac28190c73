//! Which characteristic a reading means, as a builder at the bench lives it.
#![allow(missing_docs)]

mod bench;

use bench::{Play, bench, id};
use inspection::Doubt;
use proptest::prelude::*;
use shared_types::*;

const MM: Unit = Unit::Millimetre;
const IN: Unit = Unit::Inch;

#[test]
fn a_whole_stage_in_route_order_is_matched_and_judged_and_then_nothing_is_due() {
    let mut play = Play::laid();
    for (gauge, digits, unit, said) in [
        ("caliper", "12.71", MM, "formed.left pass"),
        ("caliper", "12.65", MM, "formed.right pass"),
        ("angle", "90.4", Unit::Degree, "formed.angle pass"),
        ("caliper", "11.26", IN, "formed.across pass"),
        ("caliper", "18.0", MM, "formed.hole pass"),
    ] {
        assert_eq!(play.measure(gauge, digits, unit), said);
    }
    assert_eq!(play.due(), "nothing");
    assert_eq!(
        play.measure("caliper", "18.0", MM),
        "held NothingDue: formed.hole in mm"
    );
}

#[test]
fn limits_belong_to_the_tolerance_interval_to_the_last_picometre() {
    for (digits, verdict) in [
        ("12.2", "pass"),
        ("12.199999999", "too small"),
        ("13.2", "pass"),
        ("13.200000001", "too large"),
    ] {
        let mut play = Play::laid();
        assert_eq!(
            play.measure("caliper", digits, MM),
            format!("formed.left {verdict}"),
            "{digits}"
        );
    }
}

#[test]
fn after_a_fail_a_reading_that_fits_the_next_one_too_is_held_until_a_person_says() {
    let mut play = Play::laid();
    assert_eq!(play.measure("caliper", "13.9", MM), "formed.left too large");
    assert_eq!(play.due(), "formed.left JustFailed");
    assert_eq!(
        play.measure("caliper", "12.7", MM),
        "held FitsTwo: formed.left in mm, formed.right in mm"
    );
    let held = play.shop.seq;
    assert_eq!(
        Play::said(&play.assign(held, "formed.left", None).unwrap()),
        "formed.left pass"
    );
    assert_eq!(play.due(), "formed.right Route");
    assert!(play.shop.benches[&bench()].held.is_empty());
}

#[test]
fn after_a_fail_a_person_who_picks_is_believed() {
    let mut play = Play::laid();
    play.measure("caliper", "13.9", MM);
    play.pick("formed.right").unwrap();
    assert_eq!(play.measure("caliper", "12.7", MM), "formed.right pass");
    // The route goes on and comes back to what is still open.
    assert_eq!(play.due(), "formed.angle Route");
    play.pick("formed.left").unwrap();
    assert_eq!(play.measure("caliper", "12.9", MM), "formed.left pass");
}

#[test]
fn after_a_fail_a_reading_that_fits_only_the_next_one_is_taken_for_it() {
    let mut play = Play::laid();
    play.measure("caliper", "12.7", MM);
    assert_eq!(
        play.measure("caliper", "11.9", MM),
        "formed.right too small"
    );
    assert_eq!(
        play.measure("angle", "90.2", Unit::Degree),
        "formed.angle pass"
    );
    assert_eq!(play.due(), "formed.across Route");
}

#[test]
fn readings_that_fit_nothing_or_another_are_held_with_the_reason() {
    for (gauge, digits, unit, said) in [
        ("caliper", "0.00", MM, "held FitsNothing: "),
        (
            "caliper",
            "-12.7",
            MM,
            "held OtherSign: formed.left in mm other-sign",
        ),
        ("caliper", "-0.50", MM, "held FitsNothing: "),
        (
            "caliper",
            "286.02",
            MM,
            "held FitsAnother: formed.across in mm",
        ),
        (
            "angle",
            "90.0",
            Unit::Degree,
            "held FitsAnother: formed.angle in °",
        ),
        ("angle", "12.0", Unit::Degree, "held FitsNothing: "),
        // The jaws read 0.50 in, the gauge says mm; and 12.7 mm said as inches.
        ("caliper", "0.50", MM, "held WrongUnit: formed.left in in"),
        ("caliper", "12.70", IN, "held WrongUnit: formed.left in mm"),
        // Within the capture band of the one due, but within the limits of another.
        ("caliper", "17.9", MM, "held FitsAnother: formed.hole in mm"),
        ("nobody", "12.7", MM, "held UnknownGauge: "),
    ] {
        let mut play = Play::laid();
        assert_eq!(play.measure(gauge, digits, unit), said, "{gauge} {digits}");
    }
    assert_eq!(
        Play::new().measure("caliper", "12.7", MM),
        "held NothingOnBench: "
    );
}

#[test]
fn a_reading_out_of_limits_that_another_open_one_explains_could_be_either() {
    let mut play = Play::laid();
    play.pick("formed.hole").unwrap();
    // Picked: the person has said it.
    assert_eq!(play.measure("caliper", "15.0", MM), "formed.hole too small");
    let mut play = Play::laid();
    for digits in ["12.7", "12.65"] {
        play.measure("caliper", digits, MM);
    }
    play.measure("angle", "90", Unit::Degree);
    play.measure("caliper", "286", MM);
    play.void(Seq(6), "pressed by mistake").unwrap();
    assert_eq!(play.due(), "formed.hole Route");
    // 13.1 mm is beyond the hole's band, and within the left flange's limits.
    assert_eq!(
        play.measure("caliper", "13.1", MM),
        "held FitsAnother: formed.left in mm"
    );
}

/// Two flanges of the same size seldom measure the same to the last digit; a button pressed twice always does.
#[test]
fn the_same_digits_again_for_the_next_of_the_same_size_wait() {
    for (first, second, said) in [
        ("12.71", "12.71", "held PressedTwice: formed.right in mm"),
        ("12.71", "12.72", "held PressedTwice: formed.right in mm"),
        ("12.71", "12.73", "formed.right pass"),
        // Of a gauge that shows whole millimetres the same digits say nothing.
        ("13", "13", "formed.right pass"),
    ] {
        let mut play = Play::laid();
        play.measure("caliper", first, MM);
        assert_eq!(play.measure("caliper", second, MM), said, "{second}");
    }
    // It is of the same again, whether it was pressed twice or measured again.
    let mut play = Play::laid();
    play.pick("formed.across").unwrap();
    for _ in 0..2 {
        let said = play.measure("caliper", "287.00", MM);
        assert_eq!(said, "formed.across too large");
    }
    // A person who picked, or voided the first, has spoken since.
    let mut play = Play::laid();
    play.measure("caliper", "12.71", MM);
    play.pick("formed.right").unwrap();
    assert_eq!(play.measure("caliper", "12.71", MM), "formed.right pass");
    let mut play = Play::laid();
    play.measure("caliper", "12.71", MM);
    play.void(play.shop.seq, "pressed too soon").unwrap();
    assert_eq!(play.measure("caliper", "12.71", MM), "formed.right pass");
    // Near nothing that is due: it is said what it is likeliest, and what else it may be.
    let mut play = Play::laid();
    play.measure("caliper", "12.71", MM);
    play.measure("caliper", "12.65", MM);
    play.measure("angle", "90.4", Unit::Degree);
    play.void(Seq(6), "measured at the wrong end").unwrap();
    assert_eq!(play.due(), "formed.across Route");
    play.measure("caliper", "286.02", MM);
    assert_eq!(
        play.measure("caliper", "286.02", MM),
        "held PressedTwice: formed.across in mm"
    );
}

#[test]
fn a_fail_that_one_passed_already_would_explain_waits() {
    let mut play = Play::laid();
    for digits in ["12.71", "12.65"] {
        play.measure("caliper", digits, MM);
    }
    play.measure("angle", "90.4", Unit::Degree);
    play.measure("caliper", "286.02", MM);
    assert_eq!(play.due(), "formed.hole Route");
    // Within the hole's band, but just what the flanges measured.
    let hole = "formed.hole in mm";
    assert_eq!(play.measure("caliper", "15.3", MM), "formed.hole too small");
    let mut plan = play.shop.parts[&PartId::new("B2").unwrap()]
        .plan
        .as_ref()
        .clone();
    plan.characteristics[4] =
        bench::characteristic(5, "hole", Stage::Formed, ["15 mm", "14.8 mm", "15.2 mm"]);
    play.adopt(plan);
    assert_eq!(
        play.measure("caliper", "12.74", MM),
        format!("held FitsTwo: {hole}, formed.left in mm, formed.right in mm")
    );
}

#[test]
fn after_a_fail_what_is_far_from_the_next_is_of_the_same_again() {
    let mut play = Play::laid();
    let mut plan = play.shop.parts[&PartId::new("B2").unwrap()]
        .plan
        .as_ref()
        .clone();
    plan.characteristics[1] =
        bench::characteristic(2, "right", Stage::Formed, ["14.7 mm", "14.5 mm", "14.9 mm"]);
    play.adopt(plan);
    play.measure("caliper", "13.91", MM);
    assert_eq!(play.due(), "formed.left JustFailed");
    assert_eq!(play.measure("caliper", "12.74", MM), "formed.left pass");
}

#[test]
fn a_wrong_unit_is_put_right_from_the_digits_without_rounding() {
    let mut play = Play::laid();
    play.measure("caliper", "0.5003", MM);
    let held = play.shop.seq;
    let found = play.assign(held, "formed.left", Some(IN)).unwrap();
    let Finding::Judged { value, verdict, .. } = found else {
        panic!("{found:?}")
    };
    assert_eq!(value, Quantity::parse("0.5003 in").unwrap());
    assert_eq!(verdict, Verdict::Pass);
}

#[test]
fn a_held_reading_stays_with_the_piece_it_was_taken_of() {
    let mut play = Play::laid();
    play.measure("caliper", "286.02", MM);
    let held = play.shop.seq;
    play.lay("B2/2", Stage::Formed).unwrap();
    play.assign(held, "formed.across", None).unwrap();
    let across = id("formed.across");
    assert!(
        play.shop.pieces[&"B2/1".parse().unwrap()]
            .standing(&across)
            .is_some()
    );
    assert!(
        play.shop.pieces[&"B2/2".parse().unwrap()]
            .standing(&across)
            .is_none()
    );
}

#[test]
fn a_voided_reading_no_longer_counts_and_the_one_before_stands_again() {
    let mut play = Play::laid();
    play.measure("caliper", "13.9", MM);
    let first = play.shop.seq;
    play.pick("formed.left").unwrap();
    play.measure("caliper", "12.7", MM);
    let second = play.shop.seq;
    play.void(second, "wrong piece").unwrap();
    let piece = &play.shop.pieces[&"B2/1".parse().unwrap()];
    assert_eq!(piece.standing(&id("formed.left")).unwrap().seq, first);
    assert_eq!(piece.measured[&id("formed.left")].times, 2);
    assert_eq!(play.void(second, "again"), Err(Refusal::NoReading(second)));
}

#[test]
fn a_reading_matched_wrongly_moves_to_where_the_person_says() {
    let mut play = Play::laid();
    play.measure("caliper", "12.7", MM);
    let seq = play.shop.seq;
    play.assign(seq, "formed.right", None).unwrap();
    let piece = &play.shop.pieces[&"B2/1".parse().unwrap()];
    assert!(piece.standing(&id("formed.left")).is_none());
    assert_eq!(piece.standing(&id("formed.right")).unwrap().seq, seq);
    assert!(
        play.shop
            .open(&"B2/1".parse().unwrap(), Stage::Formed)
            .any(|c| c.id == id("formed.left"))
    );
}

#[test]
fn doubtful_deliveries_are_held_though_they_fit() {
    let mut play = Play::laid();
    let again = Play::event("caliper", "12.7", MM, Via::MqttAgain);
    let found = play.act(again).unwrap();
    assert_eq!(Play::said(&found), "held PerhapsRepeat: formed.left in mm");
    let reused = Play::event("caliper", "12.7", MM, Via::Mqtt);
    let found = play.act_doubting(reused, Doubt::IdReused).unwrap();
    assert_eq!(Play::said(&found), "held IdReused: formed.left in mm");
}

#[test]
fn impossible_acts_are_refused_and_change_nothing() {
    let mut play = Play::laid();
    let other = BenchId::new("bench-2").unwrap();
    let before = play.shop.clone();
    let laid = |bench: &BenchId, piece: &str, stage| Event::Laid {
        bench: bench.clone(),
        piece: piece.parse().unwrap(),
        stage,
        reason: None,
    };
    for (event, said) in [
        (
            laid(&BenchId::new("roof").unwrap(), "B2/2", Stage::Formed),
            "there is no bench \"roof\"",
        ),
        (
            laid(&bench(), "B9/1", Stage::Formed),
            "there is no part \"B9\" in this build",
        ),
        (
            laid(&bench(), "B2/5", Stage::Formed),
            "part B2 has 4 pieces, there is no piece 5; raise `quantity` in its file to make more",
        ),
        (
            laid(&bench(), "B2/1", Stage::Blocks),
            "part B2 has nothing to measure at stage blocks",
        ),
        (
            laid(&other, "B2/1", Stage::Formed),
            "piece B2/1 lies on bench-1; lay another piece there first",
        ),
        (
            Event::Picked {
                bench: other.clone(),
                characteristic: id("formed.left"),
            },
            "no piece lies on this bench; lay one down first",
        ),
        (
            Event::Picked {
                bench: bench(),
                characteristic: id("trimmed.left"),
            },
            "there is no characteristic \"trimmed.left\" at this stage",
        ),
        (
            Event::Assigned {
                bench: bench(),
                reading: Seq(2),
                characteristic: id("formed.left"),
                unit: None,
                form: None,
            },
            "entry 2 is not a reading that is held or still counts on this bench",
        ),
        (
            Event::Dismissed {
                bench: bench(),
                reading: Seq(2),
                reason: String::new(),
            },
            "entry 2 is not a reading that is held or still counts on this bench",
        ),
        (
            Event::Voided {
                bench: bench(),
                reading: Seq(2),
                reason: " ".into(),
            },
            "the reason for voiding a reading is missing",
        ),
        (
            Event::Operator {
                bench: bench(),
                name: "x".repeat(501),
            },
            "the operator's name is longer than 500 bytes",
        ),
    ] {
        assert_eq!(play.act(event).unwrap_err().to_string(), said);
    }
    assert_eq!(play.shop, before);
}

#[test]
fn a_length_is_never_assigned_to_an_angle() {
    let mut play = Play::laid();
    play.measure("caliper", "90", MM);
    let seq = play.shop.seq;
    assert_eq!(
        play.assign(seq, "formed.angle", None),
        Err(Refusal::WrongKind)
    );
}

#[test]
fn what_is_held_or_kept_in_memory_is_bounded_and_errs_on_the_safe_side() {
    let mut play = Play::laid();
    for _ in 0..HELD_KEPT_MAX + 3 {
        play.measure("caliper", "0.0", MM);
    }
    let state = &play.shop.benches[&bench()];
    assert_eq!((state.held.len(), state.held_older), (HELD_KEPT_MAX, 3));
    let first = play.shop.seq;
    for _ in 0..=ATTEMPTS_KEPT_MAX {
        play.pick("formed.left").unwrap();
        play.measure("caliper", "12.7", MM);
    }
    let piece: PieceId = "B2/1".parse().unwrap();
    let kept: Vec<Seq> = play.shop.pieces[&piece].measured[&id("formed.left")]
        .attempts
        .iter()
        .map(|a| a.seq)
        .collect();
    assert_eq!(kept.len(), ATTEMPTS_KEPT_MAX);
    assert!(kept.iter().all(|seq| *seq > first));
    for seq in kept {
        play.void(seq, "all wrong").unwrap();
    }
    assert!(
        play.shop.pieces[&piece]
            .standing(&id("formed.left"))
            .is_none()
    );
}

proptest! {
    /// Whatever a gauge sends, the finding is one of judged or held; what is judged is the one due or, after
    /// a fail, the one that follows; and its verdict is where the value lies between the limits.
    #[test]
    fn whatever_is_sent_only_what_is_due_is_judged(
        sent in proptest::collection::vec((0..3_usize, -500_000_i64..500_000, 0..2_usize), 1..40),
    ) {
        let mut play = Play::laid();
        let piece: PieceId = "B2/1".parse().unwrap();
        for (gauge, thousandths, unit) in sent {
            let (name, unit) = [("caliper", [MM, IN]), ("angle", [Unit::Degree; 2]), ("keypad", [MM, Unit::Degree])]
                .map(|(name, units)| (name, units[unit]))[gauge];
            let sign = if thousandths < 0 { "-" } else { "" };
            let digits = format!("{sign}{}.{:03}", thousandths.abs() / 1000, thousandths.abs() % 1000);
            let due = play.shop.benches[&bench()].due.clone();
            let mut expected: Vec<CharacteristicId> = due.iter().map(|(c, _)| c.clone()).collect();
            if let Some((c, Due::JustFailed)) = &due {
                expected.extend(play.shop.following(&piece, Stage::Formed, c).map(|c| c.id.clone()));
            }
            match play.act(Play::event(name, &digits, unit, Via::Serial)).unwrap() {
                Finding::Judged { characteristic, value, verdict, .. } => {
                    prop_assert!(expected.contains(&characteristic));
                    let plan = &play.shop.parts[piece.part()].plan;
                    let limits = &plan.characteristic(&characteristic).unwrap().limits;
                    let (low, high) = (limits.lower().unwrap().raw(), limits.upper().unwrap().raw());
                    let want = if value.raw() < low { Verdict::TooSmall } else if high < value.raw() { Verdict::TooLarge } else { Verdict::Pass };
                    prop_assert_eq!(verdict, want);
                }
                Finding::Held { .. } => {}
                Finding::Noted | Finding::Fitted { .. } | Finding::Checked { .. } | Finding::Studied { .. } => prop_assert!(false, "a reading was concluded nothing of"),
            }
        }
    }
}
