//! Lengths corrected to 20 °C: by which temperatures, and what happens where none is known.
#![allow(clippy::unwrap_used, reason = "whatever fails here fails the test")]

mod bench;

use bench::{Play, bench, characteristic, id, plan};
use inspection::{at_20, thermal};
use proptest::prelude::*;
use shared_types::*;

fn mm(text: &str) -> Length {
    Length::parse(&format!("{text} mm")).unwrap()
}

fn warmth(temperature: &str, expansion: &str) -> Warmth {
    Warmth {
        temperature: temperature.parse().unwrap(),
        from: Seq(1),
        expansion: expansion.parse().unwrap(),
    }
}

/// The formula is that of a length scaled by both expansions, with ISO 1's 20 °C; the values are its exact quotient,
/// computed with Python 3's `fractions` and rounded half to even to the picometre. To first order the first line is
/// 500 (1 − 12.1e-6 × 10) = 499.9395; the exact quotient is 14 nm more.
#[test]
fn a_length_is_corrected_by_the_exact_ratio_of_both_expansions() {
    for (read, piece, gauge, at) in [
        (
            "500",
            ("30 C", "23.6e-6 / K"),
            ("30 C", "11.5e-6 / K"),
            "499.939514275",
        ),
        (
            "500",
            ("10 C", "23.6e-6 / K"),
            ("10 C", "11.5e-6 / K"),
            "500.060514281",
        ),
        (
            "500",
            ("20 C", "23.6e-6 / K"),
            ("68 F", "11.5e-6 / K"),
            "500",
        ),
        (
            "-0.05",
            ("30 C", "23.6e-6 / K"),
            ("30 C", "11.5e-6 / K"),
            "-0.049993951",
        ),
        (
            "286",
            ("35.5 C", "13.2e-6 / F"),
            ("21 C", "11.5e-6 / K"),
            "285.897998485",
        ),
    ] {
        let at_20 = at_20(
            mm(read),
            &warmth(piece.0, piece.1),
            &warmth(gauge.0, gauge.1),
        );
        assert_eq!(at_20, Some(mm(at)), "{read} {piece:?} {gauge:?}");
    }
}

proptest! {
    /// Piece and gauge exchanged, the correction undoes itself: each rounds once, to half a picometre.
    #[test]
    fn what_was_corrected_grows_back_to_what_was_read(pm in -10_000_000_000_000_i64..=10_000_000_000_000, piece in -400..=600, gauge in -400..=600, a in 0_u32..=50_000, b in 0_u32..=50_000) {
        let warmth = |tenths: i32, e9| Warmth {
            temperature: format!("{}{}.{} C", if tenths < 0 { "-" } else { "" }, tenths.abs() / 10, tenths.abs() % 10).parse().unwrap(),
            from: Seq(1),
            expansion: Expansion::from_e9(e9).unwrap(),
        };
        let (piece, gauge) = (warmth(piece, a), warmth(gauge, b));
        let read = Length::from_pm(pm).unwrap();
        let back = at_20(at_20(read, &piece, &gauge).unwrap(), &gauge, &piece).unwrap();
        prop_assert!((back.pm() - pm).abs() <= 1, "{} {}", back.pm(), pm);
    }
}

/// A bench where an aluminium piece lies and lengths are corrected.
fn warm(correct: bool) -> Play {
    let mut play = Play::new();
    let mut setup = (**play.shop.setup.as_ref().unwrap()).clone();
    setup.climate.correct = correct;
    let version = "0".into();
    play.act(Event::Opened { version, setup }).unwrap();
    let formed = Stage::Formed;
    let mut plan = plan(
        "B2",
        vec![
            characteristic(1, "across", formed, ["500 mm", "499.9 mm", "499.94 mm"]),
            characteristic(2, "angle", formed, ["90 deg", "89 deg", "91 deg"]),
            characteristic(3, "left", formed, ["12.7 mm", "12.2 mm", "13.2 mm"]),
        ],
    );
    plan.sheet.expansion = Some(StatedExpansion {
        value: "23.6e-6 / K".parse().unwrap(),
        source: "stated".into(),
    });
    play.adopt(plan);
    play.lay("B2/1", formed).unwrap();
    play
}

fn feel(play: &mut Play, of: TemperatureOf, text: &str, sensor: Option<&str>) {
    play.act(Event::Temperature {
        bench: bench(),
        of,
        value: text.parse().unwrap(),
        sensor: sensor.map(|name| name.parse().unwrap()),
    })
    .unwrap();
}

/// Measures and says the value judged, the verdict and what was made of the temperature.
fn measured(
    play: &mut Play,
    gauge: &str,
    digits: &str,
    unit: Unit,
) -> (String, Option<Correction>) {
    let event = Play::event(gauge, digits, unit, Via::Serial);
    match play.act(event).unwrap() {
        Finding::Judged {
            value,
            verdict,
            correction,
            ..
        } => (format!("{value} {verdict}"), correction),
        other => panic!("{other:?}"),
    }
}

#[test]
fn the_value_judged_is_the_one_at_20_and_the_finding_says_by_which_entries() {
    let mut play = warm(true);
    feel(&mut play, TemperatureOf::Both, "30 C", None);
    let given = play.shop.seq;
    // As read it would be too large.
    let (judged, correction) = measured(&mut play, "caliper", "500.00", Unit::Millimetre);
    assert_eq!(judged, "499.939514275 mm pass");
    let Some(Correction::Made { read, piece, gauge }) = correction else {
        panic!("{correction:?}")
    };
    assert_eq!(read, mm("500"));
    assert_eq!([piece.from, gauge.from], [given; 2]);
    assert_eq!(
        [piece.expansion.e9(), gauge.expansion.e9()],
        [23_600, 11_500]
    );
    // An angle is an angle at any temperature.
    let angle = measured(&mut play, "angle", "90.0", Unit::Degree);
    assert_eq!(angle, ("90°00'00\" pass".into(), None));
}

/// The twin: the same bench that asks for no correction.
#[test]
fn without_being_asked_nothing_is_corrected() {
    let mut play = warm(false);
    feel(&mut play, TemperatureOf::Both, "30 C", None);
    let judged = measured(&mut play, "caliper", "500.00", Unit::Millimetre);
    assert_eq!(judged, ("500 mm too large".into(), None));
}

#[test]
fn where_a_temperature_or_the_coefficient_is_not_known_the_reading_stays_and_it_is_said() {
    let not = |play: &mut Play| {
        let (judged, correction) = measured(play, "caliper", "500.00", Unit::Millimetre);
        assert_eq!(judged, "500 mm too large");
        match correction {
            Some(Correction::Not(why)) => why,
            other => panic!("{other:?}"),
        }
    };
    let mut play = warm(true);
    assert_eq!(not(&mut play), NotCorrected::NoTemperature);
    feel(&mut play, TemperatureOf::Piece, "30 C", None);
    assert_eq!(not(&mut play), NotCorrected::NoGaugeTemperature);
    let mut play = warm(true);
    feel(&mut play, TemperatureOf::Gauge, "30 C", None);
    assert_eq!(not(&mut play), NotCorrected::NoPieceTemperature);
    let mut play = warm(true);
    feel(&mut play, TemperatureOf::Both, "30 C", None);
    let mut plan = (*play.shop.parts.values().next().unwrap().plan).clone();
    plan.sheet.expansion = None;
    play.adopt(plan);
    assert_eq!(not(&mut play), NotCorrected::NoExpansion);
}

#[test]
fn a_sensors_temperature_is_forgotten_after_half_an_hour_and_a_typed_one_after_a_shift() {
    for (sensor, minutes) in [(Some("shelf"), 30), (None, 8 * 60)] {
        let mut play = warm(true);
        feel(&mut play, TemperatureOf::Both, "30 C", sensor);
        play.later_us = (minutes - 1) * 60_000_000;
        let (judged, _) = measured(&mut play, "caliper", "500.00", Unit::Millimetre);
        assert_eq!(judged, "499.939514275 mm pass");
        play.later_us += 60_000_000;
        play.pick("formed.across").unwrap();
        let (judged, why) = measured(&mut play, "caliper", "500.00", Unit::Millimetre);
        assert_eq!(judged, "500 mm too large");
        assert_eq!(why, Some(Correction::Not(NotCorrected::NoTemperature)));
    }
}

#[test]
fn what_is_said_of_the_piece_alone_goes_before_both_and_goes_with_the_piece() {
    let mut play = warm(true);
    feel(&mut play, TemperatureOf::Piece, "10 C", None);
    feel(&mut play, TemperatureOf::Both, "20 C", None);
    let of_piece = |play: &Play| {
        let bench = &play.shop.benches[&bench()];
        let felt = bench.temperatures.of_piece(0, &play.shop.climate());
        felt.map(|felt| felt.value.to_string())
    };
    assert_eq!(of_piece(&play).as_deref(), Some("10 °C"));
    // The same piece at another stage is as cold as before.
    play.lay("B2/1", Stage::Formed).unwrap();
    assert_eq!(of_piece(&play).as_deref(), Some("10 °C"));
    play.lay("B2/2", Stage::Formed).unwrap();
    assert_eq!(of_piece(&play).as_deref(), Some("20 °C"));
    // A sensor at the piece feels whichever lies there.
    feel(&mut play, TemperatureOf::Piece, "11 C", Some("hand"));
    play.lay("B2/1", Stage::Formed).unwrap();
    assert_eq!(of_piece(&play).as_deref(), Some("11 °C"));
}

#[test]
fn a_reading_that_waited_is_corrected_by_the_temperature_it_was_taken_at() {
    let mut play = warm(true);
    feel(&mut play, TemperatureOf::Both, "30 C", None);
    // Near nothing that is due: it waits.
    play.measure("caliper", "12.70", Unit::Millimetre);
    let held = play.shop.seq;
    assert_eq!(play.shop.benches[&bench()].held.len(), 1);
    feel(&mut play, TemperatureOf::Both, "20 C", None);
    let Finding::Judged {
        value, correction, ..
    } = play.assign(held, "formed.left", None).unwrap()
    else {
        panic!("not judged")
    };
    assert_eq!(value, Quantity::Length(mm("12.698463663")));
    // Moved on, it keeps what was made of it.
    play.assign(held, "formed.across", None).unwrap();
    let piece = &play.shop.pieces[&"B2/1".parse().unwrap()];
    let moved = piece.standing(&id("formed.across")).unwrap();
    assert_eq!((moved.value, moved.correction), (value, correction));
    assert!(matches!(correction, Some(Correction::Made { .. })));
}

#[test]
fn a_temperature_at_a_bench_there_is_not_is_refused() {
    let mut play = warm(true);
    let refused = play.act(Event::Temperature {
        bench: "bench-9".parse().unwrap(),
        of: TemperatureOf::Both,
        value: "20 C".parse().unwrap(),
        sensor: None,
    });
    assert_eq!(refused, Err(Refusal::NoBench("bench-9".into())));
}

/// In thousandths of a kelvin, off 20 °C and apart; and the source.
fn known(play: &Play, correction: Option<&Correction>) -> Option<(u32, u32, String)> {
    let (piece, gauge) = ("B2/1".parse().unwrap(), "caliper".parse().unwrap());
    let felt = (&play.shop.benches[&bench()].temperatures, play.later_us);
    let known = thermal(&play.shop, felt, (&piece, &gauge), correction)?;
    assert_eq!((known.piece_e9, known.gauge_e9), (23_600, 11_500));
    Some((known.off_20_mk, known.apart_mk, known.source))
}

/// ± 1 K for each thermometer, and for a piece that lies beside its gauge: common practice, no source.
#[test]
fn what_is_not_corrected_goes_into_the_uncertainty_and_of_a_correction_only_what_is_not_known() {
    let mut play = warm(false);
    assert_eq!(
        known(&play, None),
        None,
        "nothing is known, and nothing is supposed"
    );
    let mut setup = (**play.shop.setup.as_ref().unwrap()).clone();
    setup.climate.shop = Some(("15 C".parse().unwrap(), "28 C".parse().unwrap()));
    let version = "0".into();
    play.act(Event::Opened { version, setup }).unwrap();
    let (off, apart, source) = known(&play, None).unwrap();
    assert_eq!((off, apart), (8_000, 1_000));
    assert!(source.contains("15 °C to 28 °C"), "{source}");

    feel(&mut play, TemperatureOf::Both, "30 C", None);
    let (off, apart, _) = known(&play, None).unwrap();
    assert_eq!((off, apart), (11_000, 1_000));
    let made = Correction::Made {
        read: mm("500"),
        piece: warmth("30 C", "23.6e-6 / K"),
        gauge: warmth("30 C", "11.5e-6 / K"),
    };
    let (off, apart, source) = known(&play, Some(&made)).unwrap();
    assert_eq!((off, apart), (1_000, 2_000));
    assert!(source.contains("corrected"), "{source}");

    // Two thermometers: each may be off.
    feel(&mut play, TemperatureOf::Piece, "18 C", None);
    let (off, apart, _) = known(&play, None).unwrap();
    assert_eq!((off, apart), (11_000, 12_000 + 2_000));
    // Too old: what is stated of the shop counts again.
    play.later_us = 9 * 3_600_000_000;
    assert_eq!(known(&play, None).unwrap().0, 8_000);
}

/// 499.93 mm is 10 µm inside its limit. By a caliper good to 30 µm at 20 °C that is undecided; that the temperature is a part of
/// it shows in the grounds, and is the larger the further from 20 °C the shop is.
#[test]
fn the_temperature_is_a_part_of_what_a_verdict_rests_on() {
    let part = |at: Option<&str>, correct: bool| {
        let mut play = warm(correct);
        if let Some(at) = at {
            feel(&mut play, TemperatureOf::Both, at, None);
        }
        let event = Play::event("caliper", "499.93", Unit::Millimetre, Via::Serial);
        let Finding::Judged { grounds, .. } = play.act(event).unwrap() else {
            panic!("not judged")
        };
        let grounds = grounds.expect("the caliper has a limit of error");
        let known = grounds.uncertainty.clone().expect("it is known");
        let parts = known.parts.iter();
        let of_both = parts.filter(|part| part.name == "temperature of both");
        of_both.map(|part| part.standard.raw()).sum::<i64>()
    };
    assert_eq!(part(None, false), 0, "nothing is known of the temperature");
    // 500 mm × 12.1e-6 / K × 1 K / √3 = 3.49 µm at 20 °C ± 1 K; eleven times that at 30 °C.
    let (cool, warm, corrected) = (
        part(Some("20 C"), false),
        part(Some("30 C"), false),
        part(Some("30 C"), true),
    );
    assert!((3_480_000..3_500_000).contains(&cool), "{cool}");
    assert!((38_300_000..38_500_000).contains(&warm), "{warm}");
    assert!((3_480_000..3_500_000).contains(&corrected), "{corrected}");
}
