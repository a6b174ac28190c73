//! Nothing lost, nothing doubled: the daemon is killed again and again under load from every door, and
//! what it had acknowledged by then is in the history, once, as it was shown.
#![allow(missing_docs)]

mod load;

use std::time::Duration;

use load::{Bridges, Ledger, Stream};
use oddleg_tests::broker::Broker;
use oddleg_tests::daemon::Daemon;
use oddleg_tests::seed::Seed;
use oddleg_tests::workshop::Workshop;
use oddleg_tests::{program, wait};

/// How often the daemon is killed.
const KILLS: u32 = 200;
/// It lives at most this long under load before it is killed, ms.
const LIFE_MS_MAX: u64 = 150;

#[test]
fn sigkill_at_any_moment_loses_and_doubles_nothing_that_was_acknowledged() {
    let broker = Broker::start();
    let workshop = Workshop::new(&broker.toml());
    let program = program::oddleg();
    let mut seed = Seed::from_env();
    let ledger = Ledger::default();
    let bridges = Bridges::start(&broker, &ledger);
    let stream = Stream::start(workshop.port("caliper-1"));
    for _ in 0..KILLS {
        let daemon = Daemon::start(&program, workshop.path());
        let witness = ledger.witness(&daemon.person);
        std::thread::sleep(Duration::from_millis(seed.below(LIFE_MS_MAX)));
        daemon.kill();
        witness.join().unwrap();
    }
    let sent = bridges.stop();
    stream.stop();
    // One last life, in which the broker delivers what it still holds.
    let daemon = Daemon::start(&program, workshop.path());
    wait::until("the broker's backlog", || {
        ledger.missing(workshop.path()).is_empty().then_some(())
    });
    assert_eq!(daemon.stop(), Some(0));
    let first = seed.first;
    let (http, shown) = (ledger.posted().len(), ledger.shown().len());
    eprintln!(
        "{KILLS} kills, {sent} over MQTT, {http} over HTTP, {shown} entries seen on the screen's stream"
    );
    assert!(
        sent > 500 && http > 100 && shown > 500,
        "too little load to prove anything"
    );
    assert_eq!(
        ledger.faults(workshop.path()),
        Vec::<String>::new(),
        "ODDLEG_SEED={first}"
    );
    history::verify(workshop.path(), &[]).unwrap();
}

#[test]
fn a_twin_that_acknowledges_before_it_commits_is_caught() {
    let workshop = Workshop::new("");
    let program = program::twin();
    let mut seed = Seed::from_env();
    let ledger = Ledger::default();
    for kill in 0..KILLS {
        let daemon = Daemon::start(&program, workshop.path());
        let witness = ledger.witness(&daemon.person);
        std::thread::sleep(Duration::from_millis(seed.below(LIFE_MS_MAX)));
        daemon.kill();
        witness.join().unwrap();
        let faults = ledger.faults(workshop.path());
        if !faults.is_empty() {
            eprintln!("caught after {} kills: {}", kill + 1, faults[0]);
            return;
        }
    }
    panic!("{KILLS} kills and no loss: the test above would not see one either");
}

#[test]
fn restarts_of_the_broker_lose_and_double_nothing_that_was_acknowledged() {
    let mut broker = Broker::start();
    let workshop = Workshop::new(&broker.toml());
    let mut seed = Seed::from_env();
    let ledger = Ledger::default();
    let bridges = Bridges::start(&broker, &ledger);
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    for _ in 0..25 {
        std::thread::sleep(Duration::from_millis(50 + seed.below(400)));
        broker.down();
        std::thread::sleep(Duration::from_millis(seed.below(200)));
        broker.up();
    }
    std::thread::sleep(Duration::from_millis(500));
    let sent = bridges.stop();
    wait::until("the broker's backlog", || {
        ledger.missing(workshop.path()).is_empty().then_some(())
    });
    assert_eq!(daemon.stop(), Some(0));
    eprintln!("25 restarts, {sent} readings acknowledged by the broker");
    assert!(sent > 500, "too little load to prove anything");
    assert_eq!(
        ledger.faults(workshop.path()),
        Vec::<String>::new(),
        "ODDLEG_SEED={}",
        seed.first
    );
    history::verify(workshop.path(), &[]).unwrap();
}
