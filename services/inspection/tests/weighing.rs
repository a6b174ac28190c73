//! How often a reading lands on the wrong dimension, and how often one waits though it was right: a simulated
//! operator slips at the rates of `operator/rates.rs`. `ODDLEG_READINGS=200000 cargo test -p inspection --test weighing
//! -- --nocapture` measures over more readings and prints the table that stands in DEVELOPERS.md.
#![allow(missing_docs)]

mod bench;
mod operator;

use operator::chance::Chance;
use operator::tally::{Cause, Fate, Tally};
use operator::{Attends, day, parts};

/// Enough to see one in ten thousand twice; more takes long without optimisation.
const READINGS: u64 = 20_000;

/// Days of the demo's parts and of random ones in turn, the number of the day being its seed.
fn days(attends: Attends) -> Tally {
    let readings = std::env::var("ODDLEG_READINGS")
        .ok()
        .map_or(READINGS, |text| text.parse().expect("a number of readings"));
    let demo = parts::of_the_demo();
    let mut tally = Tally::default();
    let mut seed = 0;
    while tally.readings() < readings {
        let plans = match seed % 2 {
            0 => demo.clone(),
            _ => parts::random(&mut Chance(seed)),
        };
        tally.add(&day(seed, &plans, attends));
        seed += 1;
    }
    println!("{attends:?}, {} readings\n{tally}", tally.readings());
    tally
}

/// Where the number could tell, at most 1 in 10,000 is taken for something else. Of readings that were plainly
/// right (what was due, within its limits) at most 1 in 50 waits; of all that were asked for, fails and whole batches that are off included, at most
/// 1 in 25.
#[test]
fn a_reading_seldom_lands_wrongly_and_seldom_waits_though_right() {
    let tally = days(Attends::Carefully);
    let told = tally.wrong(Fate::WrongTold);
    assert!(told * 10_000 <= tally.readings(), "{told} taken wrongly");
    // Twins cannot be told apart by any number; that they stay this few is a matter of the rates.
    let alike = tally.wrong(Fate::WrongAlike);
    assert!(
        alike * 200 <= tally.readings(),
        "{alike} alike taken wrongly"
    );
    // A batch that is off throughout may be taken for a gauge that is not zeroed, once or twice each.
    let [_, at_nought] = tally.waited_not_zeroed();
    assert!(
        at_nought * 500 <= tally.readings(),
        "{at_nought} held as not zeroed though the gauge was"
    );
    let (plain, held) = tally.held(|cause| cause == Cause::AsDue);
    assert!(held * 50 <= plain, "{held} of {plain} held");
    let (asked, held) = tally.held(|cause| {
        matches!(
            cause,
            Cause::AsDue | Cause::AsDueOut | Cause::BatchOff | Cause::AfterFail
        )
    });
    assert!(held * 25 <= asked, "{held} of {asked} held");
}

/// The twin: whoever takes the first explanation at once is seen to be wrong far more often.
#[test]
fn taking_the_first_explanation_would_be_seen() {
    let tally = days(Attends::Recklessly);
    let told = tally.wrong(Fate::WrongTold);
    assert!(told * 2_000 > tally.readings(), "only {told} taken wrongly");
}
