//! Studies of gauges: which readings are of one, and which are not.
#![allow(clippy::unwrap_used, reason = "whatever fails here fails the test")]

mod bench;

use bench::{Play, bench};
use proptest::prelude::*;
use shared_types::*;

fn caliper() -> GaugeId {
    GaugeId::new("caliper").unwrap()
}

fn plan(pieces: u8, appraisers: &[&str], trials: u8) -> StudyPlan {
    StudyPlan {
        of: "width of strips".into(),
        width: Some(Quantity::parse("0.4 mm").unwrap()),
        pieces,
        appraisers: appraisers.iter().map(|name| (*name).into()).collect(),
        trials,
    }
}

fn study(play: &mut Play, act: StudyAct) -> Result<Finding, Refusal> {
    play.act(Event::Study {
        bench: bench(),
        gauge: caliper(),
        act,
    })
}

fn laid() -> Play {
    let mut play = Play::new();
    play.lay("B2/1", Stage::Formed).unwrap();
    play
}

fn under_way(play: &Play) -> Option<&Study> {
    play.shop.gauges.get(&caliper())?.studies.under_way()
}

#[test]
fn readings_of_a_study_are_of_no_piece_and_the_bench_goes_on_where_it_was() {
    let mut play = laid();
    let due = play.due();
    study(&mut play, StudyAct::Begun(plan(2, &["AB"], 2))).unwrap();
    let begun = play.shop.seq;
    for done in 0..4 {
        assert_eq!(under_way(&play).unwrap().done(), done);
        let said = play.measure("caliper", "12.70", Unit::Millimetre);
        assert!(said.starts_with(&format!("studied {begun}: 0 ")), "{said}");
    }
    assert_eq!(under_way(&play), None, "the last reading ends it");
    assert_eq!(play.due(), due);
    let study = play.shop.gauges[&caliper()].studies.get(begun).unwrap();
    let repeats = study.repeats().unwrap();
    assert_eq!((repeats.sd.raw(), repeats.freedom), (0, 2));
}

#[test]
fn a_slip_that_is_voided_is_asked_for_again_and_a_study_left_can_be_gone_on_with() {
    let mut play = laid();
    study(&mut play, StudyAct::Begun(plan(2, &["AB", "CD"], 2))).unwrap();
    let begun = play.shop.seq;
    let asked = under_way(&play).unwrap().next();
    play.measure("caliper", "99.99", Unit::Millimetre);
    let slip = play.shop.seq;
    play.void(slip, "a slip").unwrap();
    assert_eq!(under_way(&play).unwrap().next(), asked);
    assert_eq!(under_way(&play).unwrap().done(), 0);

    study(&mut play, StudyAct::Left).unwrap();
    assert!(
        study(&mut play, StudyAct::Left).is_err(),
        "none is under way"
    );
    let said = play.measure("caliper", "12.70", Unit::Millimetre);
    assert!(!said.starts_with("studied"), "{said}");
    study(&mut play, StudyAct::Resumed(begun)).unwrap();
    while under_way(&play).is_some() {
        play.measure("caliper", "12.70", Unit::Millimetre);
    }
    let wrong = study(&mut play, StudyAct::Resumed(begun)).unwrap_err();
    assert_eq!(
        wrong.to_string(),
        "there is no study of gauge caliper to resume"
    );
    // A reading of a whole study that is voided later makes it unfinished, and takes no ordinary reading for it.
    let last = play.shop.seq;
    play.void(last, "a slip").unwrap();
    assert_eq!(under_way(&play), None);
    assert_eq!(play.shop.gauges[&caliper()].studies.repeats(), None);
    study(&mut play, StudyAct::Resumed(begun)).unwrap();
}

#[test]
fn a_reading_in_doubt_is_of_no_study() {
    let mut play = laid();
    study(&mut play, StudyAct::Begun(plan(2, &["AB"], 2))).unwrap();
    let again = Play::event("caliper", "12.70", Unit::Millimetre, Via::MqttAgain);
    let finding = play.act(again).unwrap();
    assert!(matches!(finding, Finding::Held { .. }));
    assert_eq!(under_way(&play).unwrap().done(), 0);
}

#[test]
fn a_study_that_cannot_be_is_refused_with_what_is_wrong() {
    let mut play = laid();
    let mut angle = plan(3, &["AB"], 2);
    angle.width = Some(Quantity::parse("1 deg").unwrap());
    let mut nothing = plan(3, &["AB"], 2);
    nothing.of = " ".into();
    let cases = [
        (plan(1, &["AB"], 2), "found 1 pieces, expected 2 to 30"),
        (plan(3, &["AB"], 1), "found 1 trials, expected 2 to 10"),
        (plan(3, &[], 2), "found 0 appraisers, expected 1 to 6"),
        (
            plan(30, &["A", "B", "C"], 10),
            "found 900 readings, expected 1 to 600",
        ),
        (
            plan(3, &["AB", "AB"], 2),
            "found \"AB\" among those who measure",
        ),
        (
            plan(3, &["AB", ""], 2),
            "found \"\" among those who measure",
        ),
        (angle, "found a tolerance of 1°"),
        (nothing, "what is measured in the study is missing"),
    ];
    for (plan, says) in cases {
        let before = play.shop.clone();
        let wrong = study(&mut play, StudyAct::Begun(plan))
            .unwrap_err()
            .to_string();
        assert!(wrong.contains(says), "{wrong}");
        assert_eq!(play.shop, before);
    }
}

proptest! {
    /// Whatever is voided on the way, a study ends with one reading in every place, each the last one given for it.
    #[test]
    fn a_study_ends_with_the_last_reading_given_for_each_place(
        pieces in 2_u8..5, trials in 2_u8..4, hands in 1_usize..3, slips in prop::collection::vec(any::<bool>(), 80),
    ) {
        let names = ["AB", "CD"];
        let mut play = laid();
        study(&mut play, StudyAct::Begun(plan(pieces, &names[..hands], trials))).unwrap();
        let begun = play.shop.seq;
        let mut given = std::collections::HashMap::new();
        let mut at = 0;
        while let Some(next) = under_way(&play).and_then(Study::next) {
            let digits = format!("{}.{:02}", at / 100, at % 100);
            play.measure("caliper", &digits, Unit::Millimetre);
            given.insert((next.appraiser, next.piece, next.trial), (play.shop.seq, digits));
            if slips.get(at) == Some(&true) && under_way(&play).is_some() {
                let seq = play.shop.seq;
                play.void(seq, "a slip").unwrap();
            }
            at += 1;
        }
        let ended = play.shop.gauges[&caliper()].studies.get(begun).unwrap();
        prop_assert!(ended.is_complete());
        for ((appraiser, piece, trial), (seq, digits)) in given {
            let value = Quantity::parse(&format!("{digits} mm")).unwrap();
            prop_assert_eq!(ended.at(StudyCell { appraiser, piece, trial }), Some((seq, value)));
        }
    }
}
