//! Characteristics that are computed from readings: differences, and means of several readings.
#![allow(missing_docs)]

mod bench;

use bench::{Play, characteristic, id, plan};
use proptest::prelude::*;
use shared_types::*;

const MM: Unit = Unit::Millimetre;
const RISE: &str = "formed.rise";
const FALL: &str = "formed.fall";
const APART: &str = "formed.apart";
const TAPER: &str = "formed.taper";
const MEAN: &str = "formed.mean";

/// Two diagonals, their difference without and with its sign, and a mean of three of the first.
fn computed(readings: u8) -> PartPlan {
    let formed = Stage::Formed;
    let of = [id(RISE), id(FALL)];
    let derived = |number, name: &str, text, derived| Characteristic {
        derived: Some(derived),
        ..characteristic(number, name, formed, text)
    };
    let mut all = vec![
        characteristic(1, "rise", formed, ["330 mm", "329 mm", "331 mm"]),
        characteristic(2, "fall", formed, ["330 mm", "329 mm", "331 mm"]),
        derived(
            3,
            "apart",
            ["0 mm", "0 mm", "0.5 mm"],
            Derived::Difference {
                of: of.clone(),
                absolute: true,
            },
        ),
        derived(
            4,
            "taper",
            ["0 mm", "-0.5 mm", "0.5 mm"],
            Derived::Difference {
                of,
                absolute: false,
            },
        ),
    ];
    if readings > 0 {
        let mean = Derived::Mean {
            of: id(RISE),
            readings,
        };
        all.push(derived(5, "mean", ["330 mm", "329.9 mm", "330.1 mm"], mean));
    }
    plan("D1", all)
}

fn laid(readings: u8) -> Play {
    let mut play = Play::new();
    play.adopt(computed(readings));
    play.lay("D1/1", Stage::Formed).expect("it is laid down");
    play
}

#[test]
fn a_difference_is_computed_by_the_reading_that_completes_it_and_judged_by_its_own_limits() {
    for (rise, fall, apart, taper) in [
        ("330.2", "330.0", "0.2 mm pass", "0.2 mm pass"),
        ("330.0", "330.5", "0.5 mm pass", "-0.5 mm pass"),
        (
            "330.0",
            "330.500000001",
            "0.500000001 mm too large",
            "-0.500000001 mm too small",
        ),
        ("330.6", "330.0", "0.6 mm too large", "0.6 mm too large"),
    ] {
        let mut play = laid(0);
        assert_eq!(play.measure("caliper", rise, MM), "formed.rise pass");
        assert_eq!(play.standing("D1/1", APART), "nothing");
        assert_eq!(play.measure("caliper", fall, MM), "formed.fall pass");
        assert_eq!(play.standing("D1/1", APART), apart, "{rise} {fall}");
        assert_eq!(play.standing("D1/1", TAPER), taper, "{rise} {fall}");
        // Nobody can measure it: it is neither due nor to be picked, nor can a reading be assigned to it.
        assert_eq!(play.due(), "nothing");
        let last = play.shop.seq;
        let refused = Err(Refusal::Derived(APART.into()));
        assert_eq!(play.pick(APART), refused);
        assert_eq!(play.assign(last, APART, None), refused);
    }
}

#[test]
fn a_mean_keeps_its_reading_due_until_there_are_enough_of_one_time_on_the_bench() {
    let mut play = laid(3);
    for digits in ["330.0", "330.1"] {
        play.measure("caliper", digits, MM);
        assert_eq!(play.due(), "formed.rise Route");
        assert_eq!(play.standing("D1/1", MEAN), "nothing");
    }
    // Laid down anew it may have been worked over: the two do not count for the mean.
    play.lay("D1/1", Stage::Formed).unwrap();
    for (digits, mean) in [
        ("330.0", "nothing"),
        ("330.0", "nothing"),
        ("330.000000001", "330 mm pass"),
    ] {
        assert_eq!(play.due(), "formed.rise Route");
        play.measure("caliper", digits, MM);
        assert_eq!(play.standing("D1/1", MEAN), mean);
    }
    assert_eq!(play.due(), "formed.fall Route");
    // Half to even, of an even number of readings below.
    let mut play = laid(2);
    play.measure("caliper", "330.000000001", MM);
    play.measure("caliper", "330.000000002", MM);
    assert_eq!(play.standing("D1/1", MEAN), "330.000000002 mm pass");
}

#[test]
fn what_was_computed_falls_with_a_reading_it_came_from_and_asks_for_another() {
    let mut play = laid(0);
    play.measure("caliper", "330.2", MM);
    play.measure("caliper", "330.0", MM);
    let second = play.shop.seq;
    play.pick(RISE).unwrap();
    play.measure("caliper", "330.4", MM);
    let third = play.shop.seq;
    assert_eq!(play.standing("D1/1", APART), "0.4 mm pass");
    // Without the third, the first stands again, and the value computed from it too.
    play.void(third, "the jaws slipped").unwrap();
    assert_eq!(play.standing("D1/1", APART), "0.2 mm pass");
    assert_eq!(play.due(), "nothing");
    play.void(second, "the jaws slipped").unwrap();
    assert_eq!(play.standing("D1/1", APART), "nothing");
    assert_eq!(play.due(), "formed.fall Route");
    play.measure("caliper", "330.1", MM);
    assert_eq!(play.standing("D1/1", APART), "0.1 mm pass");
    // Moved to the other, it completes nothing there: nothing stands where it was.
    let last = play.shop.seq;
    play.assign(last, RISE, None).unwrap();
    assert_eq!(play.standing("D1/1", APART), "nothing");
    assert_eq!(play.standing("D1/1", RISE), "330.1 mm pass");
    assert_eq!(play.due(), "formed.fall Route");
}

#[test]
fn a_revision_that_adds_a_computed_one_asks_once_more_for_what_it_is_computed_from() {
    let mut play = laid(0);
    play.measure("caliper", "330.2", MM);
    play.measure("caliper", "330.0", MM);
    assert_eq!(play.due(), "nothing");
    play.adopt(computed(2));
    assert_eq!(play.due(), "formed.rise Route");
}

/// A step of somebody's work at the bench.
#[derive(Clone, Copy, Debug)]
enum Step {
    Measure(bool, i64),
    Void(usize),
    Move(usize, bool),
    Lay,
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        6 => (any::<bool>(), 329_000..331_000_i64).prop_map(|(rise, um)| Step::Measure(rise, um)),
        1 => (0..8_usize).prop_map(Step::Void),
        1 => (0..8_usize, any::<bool>()).prop_map(|(back, rise)| Step::Move(back, rise)),
        1 => Just(Step::Lay),
    ]
}

proptest! {
    /// What stands as computed is always what the readings that stand give; a reading that completes it
    /// gives it; and replaying the history gives the same shop.
    #[test]
    fn what_stands_as_computed_follows_from_the_readings_that_stand(steps in prop::collection::vec(step(), 1..40)) {
        let mut play = laid(3);
        let piece: PieceId = "D1/1".parse().unwrap();
        let mut readings: Vec<Seq> = Vec::new();
        for step in steps {
            match step {
                Step::Measure(rise, um) => {
                    play.pick(if rise { RISE } else { FALL }).unwrap();
                    play.measure("caliper", &format!("{}.{:03}", um / 1000, um % 1000), MM);
                    readings.push(play.shop.seq);
                }
                Step::Void(back) => if let Some(seq) = readings.iter().rev().nth(back).copied() {
                    let done = play.void(seq, "tried");
                    prop_assert_eq!(done.is_ok(), true);
                    readings.retain(|r| *r != seq);
                },
                Step::Move(back, rise) => if let Some(seq) = readings.iter().rev().nth(back).copied() {
                    play.assign(seq, if rise { RISE } else { FALL }, None).unwrap();
                },
                Step::Lay => { play.lay("D1/1", Stage::Formed).unwrap(); }
            }
            let state = &play.shop.pieces[&piece];
            let list = |of: &str| state.measured.get(&id(of)).map(|m| m.attempts.clone()).unwrap_or_default();
            let (rise, fall) = (list(RISE), list(FALL));
            if let Some(apart) = state.standing(&id(APART)) {
                let (rise, fall) = (rise.last().unwrap(), fall.last().unwrap());
                prop_assert_eq!(&apart.from, &vec![rise.seq, fall.seq]);
                prop_assert_eq!(apart.value.raw(), (rise.value.raw() - fall.value.raw()).abs());
            }
            if let Some(mean) = state.standing(&id(MEAN)) {
                let last = &rise[rise.len() - 3..];
                prop_assert_eq!(&mean.from, &last.iter().map(|a| a.seq).collect::<Vec<_>>());
                let sum: i64 = last.iter().map(|a| a.value.raw()).sum();
                prop_assert!((mean.value.raw() * 3 - sum).abs() <= 1);
            }
            if matches!(step, Step::Measure(..)) && !rise.is_empty() && !fall.is_empty() {
                prop_assert!(state.standing(&id(APART)).is_some());
                prop_assert!(state.standing(&id(TAPER)).is_some());
            }
            let open: Vec<_> = play.shop.open(&piece, Stage::Formed).map(|c| c.id.to_string()).collect();
            if open.is_empty() {
                prop_assert!([APART, TAPER, MEAN].iter().all(|of| state.standing(&id(of)).is_some()));
            }
        }
        let mut again = Shop::default();
        for entry in &play.entries {
            again.apply(entry);
        }
        prop_assert_eq!(again, play.shop);
    }
}
