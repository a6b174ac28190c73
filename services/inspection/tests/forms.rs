//! Readings that fit only, or better, as 90° or 180° minus what was shown, or with the other sign.
#![allow(missing_docs)]

mod bench;

use bench::{Play, characteristic, id, plan};
use shared_types::*;

/// One open bend of so many degrees, a degree either way, and a joggle that may be of either sign.
fn bend(nominal: &str) -> Play {
    let mut play = Play::new();
    let nominal = Quantity::parse(nominal).expect("an angle");
    let degree = 3_600_000;
    let [lower, upper] =
        [-degree, degree].map(|by| nominal.with_raw(nominal.raw() + by).expect("in range"));
    let [n, l, u] = [nominal, lower, upper].map(|value| value.to_string());
    play.adopt(plan(
        "K1",
        vec![
            characteristic(1, "bend", Stage::Formed, [&n, &l, &u]),
            characteristic(2, "joggle", Stage::Formed, ["-2 mm", "-2.3 mm", "-1.7 mm"]),
        ],
    ));
    play.lay("K1/1", Stage::Formed)
        .expect("a piece of the build");
    play
}

#[test]
fn an_angle_waits_where_its_other_leg_is_about_as_likely_and_is_taken_where_it_is_not() {
    let as_shown = "formed.bend in °";
    let both = format!("held OtherLeg: {as_shown}, {as_shown} supplement");
    let other_first = format!("held OtherLeg: {as_shown} supplement, {as_shown}");
    let supplement = format!("held OtherLeg: {as_shown} supplement");
    let complement = format!("held OtherLeg: {as_shown} complement");
    for (nominal, shown, said) in [
        // A square bend is as square from either leg: what the number cannot tell is not asked.
        ("90 deg", "90.40", "formed.bend pass"),
        ("90 deg", "91.50", "formed.bend too large"),
        // Out as it stands, within from the other leg.
        ("88.5 deg", "91.50", both.as_str()),
        ("88.5 deg", "88.60", "formed.bend pass"),
        ("88.5 deg", "90.55", both.as_str()),
        // Out either way: the rarer slip explains it no better.
        ("88.5 deg", "90.00", "formed.bend too large"),
        // Far out as it stands: likelier from the other leg, and said so first.
        ("80 deg", "100.20", other_first.as_str()),
        ("45 deg", "135.10", supplement.as_str()),
        ("25 deg", "64.80", complement.as_str()),
        ("10 deg", "80.00", complement.as_str()),
        // 45° from 90° is 45° again: nothing to ask.
        ("45 deg", "45.00", "formed.bend pass"),
        (
            "20 deg",
            "-20.10",
            "held OtherSign: formed.bend in ° other-sign",
        ),
    ] {
        let mut play = bend(nominal);
        let found = play.measure("angle", shown, Unit::Degree);
        assert_eq!(found, said, "{shown} on {nominal}");
    }
}

/// Whoever picks a dimension has said which it is, not from which leg it was taken.
#[test]
fn what_was_picked_still_waits_where_the_gauge_may_show_it_otherwise() {
    let mut play = bend("88.5 deg");
    play.pick("formed.bend").unwrap();
    assert_eq!(
        play.measure("angle", "91.50", Unit::Degree),
        "held OtherLeg: formed.bend in °, formed.bend in ° supplement"
    );
    assert_eq!(
        play.measure("angle", "89.90", Unit::Degree),
        "formed.bend too large"
    );
}

#[test]
fn a_length_of_the_other_sign_waits_and_says_so() {
    let mut play = bend("88.5 deg");
    play.pick("formed.joggle").unwrap();
    assert_eq!(
        play.measure("caliper", "2.05", Unit::Millimetre),
        "held OtherSign: formed.joggle in mm other-sign"
    );
    assert_eq!(
        play.measure("caliper", "-2.05", Unit::Millimetre),
        "formed.joggle pass"
    );
}

#[test]
fn what_a_person_says_is_judged_by_the_value_so_understood_exactly() {
    let mut play = bend("88.5 deg");
    // At the upper limit as its supplement, and just above it.
    for (shown, verdict) in [("90.5", Verdict::Pass), ("90.49998", Verdict::TooLarge)] {
        play.pick("formed.bend").unwrap();
        play.act(Play::event("angle", "89.0", Unit::Degree, Via::MqttAgain))
            .unwrap();
        // Held for another reason altogether: what a person says counts for any held reading.
        play.act(Play::event("angle", shown, Unit::Degree, Via::MqttAgain))
            .unwrap();
        let found = play
            .assign_as(play.shop.seq, "formed.bend", Form::Supplement)
            .unwrap();
        let Finding::Judged {
            value,
            verdict: found,
            ..
        } = found
        else {
            panic!("{found:?}")
        };
        let shown = Quantity::parse(&format!("{shown} deg")).unwrap();
        assert_eq!(Some(value), Form::Supplement.of(shown));
        assert_eq!(found, verdict);
        let stands = play.shop.pieces[&"K1/1".parse().unwrap()].standing(&id("formed.bend"));
        assert_eq!(stands.unwrap().value, value);
    }
}

#[test]
fn a_form_that_cannot_be_is_refused_and_so_is_one_of_a_reading_judged_already() {
    let mut play = bend("88.5 deg");
    play.measure("caliper", "300", Unit::Millimetre);
    let held = play.shop.seq;
    let said = |found: Result<Finding, Refusal>| found.unwrap_err().to_string();
    assert_eq!(
        said(play.assign_as(held, "formed.joggle", Form::Supplement)),
        "found supplement, expected complement and supplement for an angle only, and a value that stays in range"
    );
    play.measure("angle", "88.4", Unit::Degree);
    let judged = play.shop.seq;
    assert_eq!(
        play.assign_as(judged, "formed.bend", Form::Supplement),
        Err(Refusal::Judged(judged))
    );
}
