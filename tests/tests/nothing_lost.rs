//! Nothing lost, nothing doubled: the daemon is killed again and again under load from every door, and
//! what it had acknowledged by then is in the history, once, as it was shown.
#![allow(missing_docs)]
#![allow(
    clippy::unwrap_used,
    reason = "what cannot be set up here fails the test"
)]

mod load;

use std::path::Path;
use std::time::Duration;

use load::{Bridges, Ledger, Stream};
use oddleg_tests::broker::Broker;
use oddleg_tests::daemon::Daemon;
use oddleg_tests::program;
use oddleg_tests::seed::Seed;
use oddleg_tests::workshop::Workshop;

/// How often the daemon is killed.
const KILLS: u32 = 200;
/// How often its twin is: a few losses are as good as many.
const TWIN_KILLS: u32 = 40;
/// It lives at most this long under load before it is killed, ms.
const LIFE_MS_MAX: u64 = 150;

#[test]
fn sigkill_at_any_moment_loses_and_doubles_nothing_that_was_acknowledged() {
    let (workshop, faults) = killed_again_and_again(&program::oddleg(), KILLS);
    assert_eq!(faults, Vec::<String>::new());
    history::verify(workshop.path(), &[]).unwrap();
}

#[test]
fn a_twin_that_acknowledges_before_it_commits_is_caught() {
    let (_workshop, faults) = killed_again_and_again(&program::twin(), TWIN_KILLS);
    eprintln!("{} faults, the first: {:?}", faults.len(), faults.first());
    assert!(
        !faults.is_empty(),
        "the test above would not see a loss either"
    );
}

/// Everything acknowledged that is lost or doubled after that many kills under load from every door.
fn killed_again_and_again(program: &Path, kills: u32) -> (Workshop, Vec<String>) {
    let broker = Broker::start();
    let workshop = Workshop::new(&broker.toml());
    let mut seed = Seed::from_env();
    let ledger = Ledger::default();
    let first = Daemon::start(program, workshop.path());
    first.wait_for_broker();
    first.kill();
    let bridges = Bridges::start(&broker, &ledger);
    let stream = Stream::start(workshop.port("caliper-1"));
    for _ in 0..kills {
        let daemon = Daemon::start(program, workshop.path());
        let witness = ledger.witness(&daemon.person);
        std::thread::sleep(Duration::from_millis(seed.below(LIFE_MS_MAX)));
        daemon.kill();
        witness.join().unwrap();
    }
    let sent = bridges.stop();
    stream.stop();
    // One last life, in which the broker delivers what it still holds.
    let daemon = Daemon::start(program, workshop.path());
    ledger.settle(workshop.path());
    assert_eq!(daemon.stop(), Some(0));
    let (http, shown) = (ledger.posted().len(), ledger.shown().len());
    eprintln!("{kills} kills, {sent} over MQTT, {http} over HTTP, {shown} entries served and seen");
    let kills = u64::from(kills);
    assert!(
        sent > 2 * kills && http as u64 > kills && shown as u64 > kills,
        "too little load to prove anything"
    );
    let faults = ledger.faults(workshop.path());
    (workshop, faults)
}

#[test]
fn restarts_of_the_broker_lose_and_double_nothing_that_was_acknowledged() {
    let mut broker = Broker::start();
    let workshop = Workshop::new(&broker.toml());
    let mut seed = Seed::from_env();
    let ledger = Ledger::default();
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    daemon.wait_for_broker();
    let bridges = Bridges::start(&broker, &ledger);
    for _ in 0..25 {
        std::thread::sleep(Duration::from_millis(50 + seed.below(400)));
        broker.down();
        std::thread::sleep(Duration::from_millis(seed.below(200)));
        broker.up();
    }
    std::thread::sleep(Duration::from_millis(500));
    let sent = bridges.stop();
    ledger.settle(workshop.path());
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
