//! Pairs, and parts that go into others: by the plan, or by the mating piece as measured.
#![allow(missing_docs)]

mod bench;

use bench::{Play, characteristic, id, plan};
use shared_types::*;

const MM: Unit = Unit::Millimetre;

/// An opening, and a bulkhead that goes into it with half a millimetre on each side.
fn fitted(source: FitSource) -> Play {
    let (formed, fit_up) = (Stage::Formed, Stage::FitUp);
    let mut play = Play::new();
    play.adopt(plan(
        "S2",
        vec![characteristic(
            1,
            "opening",
            formed,
            ["287 mm", "286 mm", "288 mm"],
        )],
    ));
    let follows = (source == FitSource::Measured).then(|| Follows {
        characteristic: id("formed.opening"),
        planned: Quantity::parse("287 mm").expect("a length"),
    });
    let width = Characteristic {
        follows,
        ..characteristic(1, "width", formed, ["286 mm", "285.8 mm", "286.2 mm"])
    };
    let gap = characteristic(1, "gap", fit_up, ["0.5 mm", "0.1 mm", "0.9 mm"]);
    let far = characteristic(2, "far", fit_up, ["0.5 mm", "0.1 mm", "0.9 mm"]);
    let mean = Characteristic {
        derived: Some(Derived::Difference {
            of: [id("fit-up.gap"), id("fit-up.far")],
            absolute: true,
        }),
        ..characteristic(3, "skew", fit_up, ["0 mm", "0 mm", "0.3 mm"])
    };
    play.adopt(PartPlan {
        fit: Some(Fit {
            into: PartId::new("S2").expect("a name"),
            clearance: Length::parse("0.5 mm").expect("a length"),
            source,
            first_article_mates: None,
        }),
        ..plan("B3", vec![width, gap, far, mean])
    });
    play
}

fn measured_opening(play: &mut Play, piece: &str, digits: &str) -> Seq {
    play.lay(piece, Stage::Formed).expect("it is laid down");
    play.measure("caliper", digits, MM);
    play.shop.seq
}

#[test]
fn nominal_and_limits_move_one_for_one_with_the_opening_measured_and_the_finding_names_the_entry() {
    let mut play = fitted(FitSource::Measured);
    let refused = play.mate("B3/1", "S2/1").unwrap_err();
    assert_eq!(
        refused.to_string(),
        "S2/1 cannot be followed yet: opening has no reading that counts; measure it first"
    );
    let opening = measured_opening(&mut play, "S2/1", "286.6");
    let Ok(Finding::Fitted { nominals }) = play.mate("B3/1", "S2/1") else {
        panic!("not fitted");
    };
    let named = play.shop.seq;
    let q = |text| Quantity::parse(text).unwrap();
    let [moved] = nominals.as_slice() else {
        panic!("{nominals:?}");
    };
    assert_eq!(moved.characteristic, id("formed.width"));
    assert_eq!(moved.nominal, q("285.6 mm"));
    assert_eq!(
        moved.limits,
        Limits::new(Some(q("285.4 mm")), Some(q("285.8 mm"))).unwrap()
    );
    assert_eq!(moved.from, opening);
    for (piece, digits, verdict, entry) in [
        ("B3/1", "285.4", Verdict::Pass, Some(named)),
        ("B3/1", "285.800000001", Verdict::TooLarge, Some(named)),
        // Another piece, for which nobody has named a mating piece, is judged by the plan.
        ("B3/2", "285.4", Verdict::TooSmall, None),
    ] {
        play.lay(piece, Stage::Formed).unwrap();
        play.pick("formed.width").unwrap();
        let sent = Play::event("caliper", digits, MM, Via::Serial);
        let Ok(Finding::Judged {
            verdict: found,
            fitted,
            into,
            ..
        }) = play.act(sent)
        else {
            panic!("{digits} was not judged");
        };
        assert_eq!(
            (found, fitted, into),
            (verdict, entry, None),
            "{piece} {digits}"
        );
    }
    // The opening's reading falls, and with it what followed it.
    play.void(opening, "the jaws slipped").unwrap();
    let piece = "B3/1".parse().unwrap();
    assert_eq!(play.shop.fitting(&piece, play.shop.mate(&piece)), None);
}

#[test]
fn by_the_plan_nothing_moves_and_the_naming_says_so() {
    let mut play = fitted(FitSource::Plan);
    assert_eq!(
        play.mate("B3/1", "S2/1"),
        Ok(Finding::Fitted {
            nominals: Vec::new()
        })
    );
}

#[test]
fn fit_up_asks_for_the_mating_piece_and_each_has_readings_of_its_own() {
    let mut play = fitted(FitSource::Plan);
    let refused = play.lay("B3/1", Stage::FitUp).unwrap_err();
    assert_eq!(
        refused.to_string(),
        "B3/1 goes into S2: say which S2 it is tried in before it is laid down at fit-up"
    );
    play.mate("B3/1", "S2/1").unwrap();
    play.lay("B3/1", Stage::FitUp).unwrap();
    play.measure("caliper", "0.4", MM);
    play.measure("caliper", "0.5", MM);
    assert_eq!(play.standing("B3/1", "fit-up.skew"), "0.1 mm pass");
    assert_eq!(play.due(), "nothing");
    // In another opening nothing is measured yet.
    play.mate("B3/1", "S2/2").unwrap();
    assert_eq!(play.due(), "fit-up.gap Route");
    assert_eq!(play.standing("B3/1", "fit-up.skew"), "nothing");
    play.measure("caliper", "1", MM);
    assert_eq!(play.standing("B3/1", "fit-up.gap"), "1 mm too large");
    // And back again, what was measured there stands.
    play.mate("B3/1", "S2/1").unwrap();
    assert_eq!(play.standing("B3/1", "fit-up.gap"), "0.4 mm pass");
    assert_eq!(play.standing("B3/1", "fit-up.skew"), "0.1 mm pass");
    assert_eq!(play.due(), "nothing");
}

#[test]
fn a_gap_wide_open_is_a_gap_too_large_and_not_nobody_s_reading() {
    let mut play = fitted(FitSource::Plan);
    play.mate("B3/1", "S2/1").unwrap();
    play.lay("B3/1", Stage::FitUp).unwrap();
    play.measure("caliper", "3.4", MM);
    assert_eq!(play.standing("B3/1", "fit-up.gap"), "3.4 mm too large");
}

#[test]
fn a_reading_held_in_one_opening_is_assigned_to_that_one() {
    let mut play = fitted(FitSource::Plan);
    play.mate("B3/1", "S2/1").unwrap();
    play.lay("B3/1", Stage::FitUp).unwrap();
    assert!(play.measure("caliper", "7.7", MM).starts_with("held"));
    let held = play.shop.seq;
    play.mate("B3/1", "S2/2").unwrap();
    let Ok(Finding::Judged { into, .. }) = play.assign(held, "fit-up.gap", None) else {
        panic!("not judged");
    };
    assert_eq!(into, Some("S2/1".parse().unwrap()));
    assert_eq!(play.standing("B3/1", "fit-up.gap"), "nothing");
}

#[test]
fn what_cannot_go_together_is_refused_and_says_what_would() {
    let mut play = fitted(FitSource::Plan);
    for (piece, mate, says) in [
        (
            "S2/1",
            "B3/1",
            "part S2 goes into no other part; `[fit]` in its file says what it goes into",
        ),
        ("B3/1", "B2/1", "B3/1 goes into S2, and B2/1 is no S2"),
        (
            "B3/1",
            "S2/9",
            "part S2 has 4 pieces, there is no piece 9; raise `quantity` in its file to make more",
        ),
        (
            "B3/1",
            "S2/1L",
            "part S2 is not made in pairs: number 1 is S2/1, without L or R",
        ),
    ] {
        assert_eq!(play.mate(piece, mate).unwrap_err().to_string(), says);
    }
}

#[test]
fn each_hand_of_a_pair_is_a_piece_of_its_own_and_no_other_spelling_is_one() {
    let mut play = Play::new();
    let left = characteristic(1, "left", Stage::Formed, ["12.7 mm", "12.2 mm", "13.2 mm"]);
    play.adopt(PartPlan {
        mirrored: Some(Mirrored {
            words: vec![Words::default()],
            views: vec![],
        }),
        ..plan("K1", vec![left])
    });
    assert_eq!(
        play.lay("K1/3", Stage::Formed).unwrap_err().to_string(),
        "part K1 is made in pairs: number 3 is K1/3L, the left one, and K1/3R, the right one; say which"
    );
    assert_eq!(
        play.lay("B2/3L", Stage::Formed).unwrap_err().to_string(),
        "part B2 is not made in pairs: number 3 is B2/3, without L or R"
    );
    play.lay("K1/3R", Stage::Formed).unwrap();
    play.measure("caliper", "12.7", MM);
    assert_eq!(play.standing("K1/3R", "formed.left"), "12.7 mm pass");
    assert_eq!(play.standing("K1/3L", "formed.left"), "nothing");
}

#[test]
fn a_withdrawn_part_can_be_finished_and_not_begun_until_it_comes_back() {
    let mut play = Play::laid();
    let part = PartId::new("B2").unwrap();
    play.act(Event::Withdrawn(part.clone())).unwrap();
    play.lay("B2/1", Stage::Trimmed).unwrap();
    assert_eq!(
        play.lay("B2/2", Stage::Formed).unwrap_err().to_string(),
        "the file of part B2 is no longer in this build, and B2/2 is not begun: put the file back and start oddleg again to make it"
    );
    let plan = play.shop.parts[&part].plan.as_ref().clone();
    play.adopt(plan);
    play.lay("B2/2", Stage::Formed).unwrap();
}
