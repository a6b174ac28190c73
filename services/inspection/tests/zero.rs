//! A gauge that is not at nought, and a batch that is off by as much.
#![allow(missing_docs, clippy::unwrap_used)]

mod bench;

use bench::{Play, bench, characteristic, plan};
use shared_types::*;

const MM: Unit = Unit::Millimetre;

/// An invented clip with five lengths: two of one size, one with wide limits.
fn clips() -> Play {
    let mut play = Play::new();
    let formed = Stage::Formed;
    let clip = |part: &str| {
        plan(
            part,
            vec![
                characteristic(1, "left", formed, ["20 mm", "19.8 mm", "20.2 mm"]),
                characteristic(2, "right", formed, ["20 mm", "19.8 mm", "20.2 mm"]),
                characteristic(3, "web", formed, ["50 mm", "49.7 mm", "50.3 mm"]),
                characteristic(4, "length", formed, ["120 mm", "118 mm", "122 mm"]),
                characteristic(5, "slot", formed, ["30 mm", "29.8 mm", "30.2 mm"]),
            ],
        )
    };
    play.adopt(clip("C1"));
    play.adopt(clip("C2"));
    play
}

impl Play {
    /// Picks, so that what is measured is beyond doubt, and measures.
    fn takes(&mut self, of: &str, digits: &str) -> String {
        self.pick(&format!("formed.{of}")).unwrap();
        self.measure("caliper", digits, MM)
    }

    /// All of a piece, each longer by the same.
    fn piece(&mut self, piece: &str, by: &str) -> Vec<String> {
        self.lay(piece, Stage::Formed).unwrap();
        let by = Length::parse(by).unwrap();
        [("left", 20), ("web", 50), ("length", 120), ("slot", 30)]
            .map(|(of, mm)| {
                let length = Length::from_pm(mm * PM_PER_MM + by.pm()).unwrap();
                self.takes(of, &length.rounded(Unit::Millimetre, 2))
            })
            .to_vec()
    }

    fn checks_zero(&mut self, shows: &str) -> String {
        self.act(Event::CheckBegun {
            bench: bench(),
            gauge: GaugeId::new("caliper").unwrap(),
            reference: ZERO.into(),
        })
        .unwrap();
        self.measure("caliper", shows, MM)
    }
}

const HELD: &str = "held NotZeroed: formed.slot in mm";

#[test]
fn three_sizes_out_by_the_same_amount_wait_for_a_look_at_the_gauge_and_say_which_and_how_much() {
    let mut play = clips();
    let said = play.piece("C1/1", "0.62 mm");
    // The wide limits of the length hide it: that says nothing either way.
    let large = ["formed.left too large", "formed.web too large"];
    assert_eq!(said, [large[0], large[1], "formed.length pass", HELD]);
    let (_, held) = play.shop.benches[&bench()].held.last_key_value().unwrap();
    let by = Quantity::parse("0.62 mm").unwrap();
    let readings: Vec<Seq> = play
        .entries
        .iter()
        .filter(|entry| Play::said(&entry.fact.finding).ends_with("too large"))
        .map(|entry| entry.seq)
        .collect();
    assert_eq!(held.offset, Some(SameOffset { by, readings }));
    // What was judged stays judged.
    assert_eq!(play.standing("C1/1", "formed.web"), "50.62 mm too large");
    let mut play = clips();
    assert_eq!(play.piece("C1/1", "-0.4 mm")[3], HELD);
}

/// The twin: each of these lacks one thing of the above, and is judged.
#[test]
fn two_sizes_amounts_that_differ_or_one_reading_that_is_right_are_no_sign_of_the_gauge() {
    for takes in [
        // Two of one size are one mistake at the layout.
        [("left", "20.60"), ("right", "20.63"), ("web", "50.61")],
        // Amounts apart by more than the work scatters.
        [("left", "20.60"), ("web", "52.40"), ("slot", "30.60")],
        // Too small, then too large.
        [("left", "19.40"), ("web", "50.60"), ("slot", "30.60")],
        // The web was right.
        [("left", "20.60"), ("web", "50.02"), ("slot", "30.60")],
        // Within the limits no amount is more than work scatters.
        [("left", "20.18"), ("web", "50.21"), ("slot", "30.19")],
    ] {
        let mut play = clips();
        play.lay("C1/1", Stage::Formed).unwrap();
        for (of, digits) in takes {
            let said = play.takes(of, digits);
            assert!(!said.contains("held"), "{takes:?}: {said}");
        }
    }
}

#[test]
fn a_batch_that_is_off_is_asked_about_once_and_another_part_anew() {
    let mut play = clips();
    assert_eq!(play.piece("C1/1", "0.42 mm")[3], HELD);
    assert_eq!(
        play.checks_zero("0.00"),
        "checked at zero within 0.02 mm: pass"
    );
    let waits = *play.shop.benches[&bench()].held.last_key_value().unwrap().0;
    play.assign(waits, "formed.slot", None).unwrap();
    for piece in ["C1/2", "C1/3"] {
        let said = play.piece(piece, "0.45 mm");
        assert!(said.iter().all(|said| !said.contains("held")), "{said:?}");
    }
    // Said to be of another dimension, it says nothing of the gauge.
    let mut other = clips();
    other.piece("C1/1", "0.42 mm");
    let waits = *other.shop.benches[&bench()]
        .held
        .last_key_value()
        .unwrap()
        .0;
    other.assign(waits, "formed.length", None).unwrap();
    assert_eq!(other.piece("C1/2", "0.42 mm")[3], HELD);
    // So much more is another matter, and so is another part.
    assert!(play.piece("C1/4", "0.95 mm").contains(&HELD.to_owned()));
    let mut play = clips();
    play.piece("C1/1", "0.42 mm");
    let waits = *play.shop.benches[&bench()].held.last_key_value().unwrap().0;
    play.assign(waits, "formed.slot", None).unwrap();
    let other = play.piece("C2/1", "0.42 mm");
    assert!(
        other.iter().any(|said| said.contains("NotZeroed")),
        "{other:?}"
    );
}

#[test]
fn a_check_ends_what_the_readings_before_it_say_and_a_failed_one_what_a_person_said() {
    let mut play = clips();
    play.lay("C1/1", Stage::Formed).unwrap();
    play.takes("left", "20.62");
    play.takes("web", "50.60");
    assert!(play.checks_zero("0.61").ends_with("too large"));
    // Set to nought: what follows is judged for itself.
    assert_eq!(play.takes("slot", "30.61"), "formed.slot too large");
    let mut play = clips();
    play.piece("C1/1", "0.42 mm");
    let waits = *play.shop.benches[&bench()].held.last_key_value().unwrap().0;
    play.assign(waits, "formed.slot", None).unwrap();
    play.checks_zero("0.42");
    assert_eq!(play.piece("C1/2", "0.42 mm")[3], HELD);
}

#[test]
fn typed_readings_say_nothing_of_a_gauge() {
    let mut play = clips();
    play.lay("C1/1", Stage::Formed).unwrap();
    for (of, digits) in [("left", "20.60"), ("web", "50.61"), ("slot", "30.62")] {
        play.pick(&format!("formed.{of}")).unwrap();
        let said = play.measure("keypad", digits, MM);
        assert_eq!(said, format!("formed.{of} too large"));
    }
}
