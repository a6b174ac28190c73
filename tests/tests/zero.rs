//! A caliper that streams without end is checked at closed jaws by pressing a button on the screen: the real
//! daemon, a real pseudo-terminal, and a caliper that behaves like one.
#![allow(missing_docs, clippy::unwrap_used)]

use std::time::Duration;

use oddleg::demo::model::{Caliper, Does, Habits, Step};
use oddleg_tests::bridge::Bridge;
use oddleg_tests::broker::BRIDGE;
use oddleg_tests::daemon::Daemon;
use oddleg_tests::door::Door;
use oddleg_tests::workshop::Workshop;
use oddleg_tests::{Plugged, program, wait};
use serde_json::{Value, json};

const STREAMING: &str = r#"
[gauge.caliper-2]
title = "Caliper 300 mm"
bench = "bench-1"
kind = "caliper"
via = "serial"
port = "gauges/caliper-2"
unit = "mm"
mode = "stream"
settle = "200 ms"
answer_max = "1 s"
resolution = "0.01 mm"
limit_of_error = "DIN 862"
check_against = { "gauge block 25" = "25 mm" }
"#;

/// The keys that make a bridge's gauge one that streams.
const BRIDGED: &str = r#"via = "mqtt"
mode = "stream"
settle = "200 ms"
answer_max = "1 s"
limit_of_error = "DIN 862"
"#;

fn play(port: &mut Plugged, steps: Vec<Step>) {
    for step in steps {
        std::thread::sleep(Duration::from_millis(step.after_ms));
        if let Does::Say(bytes) = step.does {
            port.send(&bytes).unwrap();
        }
    }
}

fn sight(daemon: &Daemon) -> Value {
    sight_of(daemon, "caliper-2")
}

fn sight_of(daemon: &Daemon, gauge: &str) -> Value {
    let bench = daemon.person.get("/api/bench");
    let gauges = bench["gauges"].as_array().unwrap();
    gauges
        .iter()
        .find(|one| one["id"] == gauge)
        .unwrap()
        .clone()
}

/// What was concluded from each reading so far.
fn findings(daemon: &Daemon) -> Vec<Value> {
    let history = daemon.person.get("/api/history?after=0&limit=1000");
    let entries = history["entries"].as_array().unwrap();
    entries
        .iter()
        .filter(|entry| entry["event"]["observed"]["decoded"]["reading"].is_object())
        .map(|entry| entry["finding"].clone())
        .collect()
}

#[test]
fn a_zero_check_of_a_stream_takes_what_stands_there_and_tells_where_nothing_stands() {
    let workshop = Workshop::plate(STREAMING);
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    daemon.person.works_at("bench-1");
    let named = json!({"bench": "bench-1", "operator": "MK"});
    daemon.person.post("/api/bench", &named);
    let mut port = daemon.plug("caliper-2", &workshop.port("caliper-2"));
    let steady = Habits {
        every_ms: 20,
        tremor: 0,
        ..Habits::default()
    };
    let mut caliper = Caliper::new(steady, 3);
    let check = |against: &str| {
        let begin = json!({"gauge": "caliper-2", "against": against});
        daemon.person.post("/api/checks", &begin)
    };

    // A chip between the jaws: 0.03 mm, within what counts as closed, so by itself no reading.
    play(&mut port, caliper.closes_on(3));
    play(&mut port, caliper.holds(40));
    assert_eq!(findings(&daemon), [] as [Value; 0]);
    let page = daemon.person.text("/bench/bench-1");
    assert!(page.contains("Zero check<small>with closed jaws"), "{page}");
    check("zero");
    wait::until("the offset", || {
        play(&mut port, caliper.holds(5));
        (findings(&daemon).len() == 1).then_some(())
    });
    let told = findings(&daemon).pop().unwrap();
    assert_eq!(told["checked"]["reference"], "zero", "{told}");
    assert_eq!(told["checked"]["verdict"], "too-large", "{told}");
    let page = daemon.person.text("/bench/bench-1");
    assert!(page.contains("off by 0.03 mm"), "{page}");

    // Asked while the jaws are on their way: told once the time is over, and the check is still open.
    check("zero");
    wait::until("no reading in time", || {
        play(&mut port, caliper.closes_on(600));
        (sight(&daemon)["garbled"] == 1).then_some(())
    });
    assert_eq!(findings(&daemon).len(), 1, "something on its way was taken");
    assert_eq!(sight(&daemon)["checking"], "zero");
    let page = daemon.person.text("/bench/bench-1");
    assert!(page.contains("was asked and gave no reading in time"));
    assert!(page.contains("check-caliper-2-ask"), "{page}");
    // Wiped, closed and asked again.
    play(&mut port, caliper.closes(40));
    assert_eq!(sight(&daemon)["checking"], "zero", "nobody asked");
    let ask = json!({"gauge": "caliper-2"});
    assert_eq!(daemon.person.try_post("/api/asks", &ask).unwrap().0, 202);
    wait::until("the good zero", || {
        play(&mut port, caliper.closes(5));
        (findings(&daemon).len() == 2).then_some(())
    });
    let told = findings(&daemon).pop().unwrap();
    assert_eq!(told["checked"]["verdict"], "pass", "{told}");

    // A block goes between the jaws after the button: what stood there before must not be the check.
    play(&mut port, caliper.closes_on(600));
    wait::until("the reading before the check", || {
        play(&mut port, caliper.holds(5));
        (findings(&daemon).len() == 3).then_some(())
    });
    check("gauge block 25");
    play(&mut port, caliper.holds(40));
    assert_eq!(sight(&daemon)["checking"], "gauge block 25");
    play(&mut port, caliper.closes_on(2_500));
    wait::until("the block", || {
        play(&mut port, caliper.holds(5));
        (findings(&daemon).len() == 4).then_some(())
    });
    let told = findings(&daemon).pop().unwrap();
    assert_eq!(told["checked"]["verdict"], "pass", "{told}");
    assert_eq!(daemon.stop(), Some(0));
}

/// The same behind a bridge that publishes whatever the gauge shows, each message acknowledged before the next.
#[test]
fn a_bridge_that_streams_is_settled_and_zero_checked_as_a_port_is() {
    let door = Door::new();
    let streams = door.toml().replacen("via = \"mqtt\"\n", BRIDGED, 1);
    let workshop = Workshop::plate(&streams);
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    let named = json!({"bench": "bench-1", "operator": "MK"});
    daemon.person.post("/api/bench", &named);
    let lay = json!({"bench": "bench-1", "piece": "P1/1", "stage": "blank"});
    daemon.person.post("/api/bench", &lay);
    let mut bridge = Bridge::to(door.port);
    let mut published = 0;
    let mut says = |values: &[&str]| {
        for value in values {
            assert!(bridge.publish(value, || false));
            published += 1;
            std::thread::sleep(Duration::from_millis(20));
        }
    };
    says(&["0.00", "0.00", "200.00", "280.00"]);
    wait::until("the width", || {
        says(&["286.10"; 3]);
        (findings(&daemon).len() == 1).then_some(())
    });
    let told = findings(&daemon).pop().unwrap();
    assert_eq!(told["judged"]["characteristic"], "blank.width", "{told}");
    assert_eq!(told["judged"]["verdict"], "pass", "{told}");
    says(&["286.10"; 20]);
    says(&["100.00", "50.00"]);
    says(&["0.03"; 20]);
    assert_eq!(findings(&daemon).len(), 1, "at rest, and at closed jaws");
    let check = json!({"gauge": BRIDGE, "against": "zero"});
    daemon.person.post("/api/checks", &check);
    wait::until("the offset", || {
        says(&["0.03"; 3]);
        (findings(&daemon).len() == 2).then_some(())
    });
    let told = findings(&daemon).pop().unwrap();
    assert_eq!(told["checked"]["verdict"], "too-large", "{told}");
    // It falls dumb and is asked.
    let ask = json!({"gauge": BRIDGE});
    assert_eq!(daemon.person.try_post("/api/asks", &ask).unwrap().0, 202);
    wait::until("no reading in time", || {
        (sight_of(&daemon, BRIDGE)["garbled"] == 1).then_some(())
    });
    assert_eq!(daemon.stop(), Some(0));
    let mut shop = shared_types::Shop::default();
    let reader = history::Reader::open(workshop.path()).unwrap();
    for entry in reader.after(shared_types::Seq(0), 10_000).unwrap() {
        shop.apply(&entry);
    }
    let sight = &shop.gauges[&shared_types::GaugeId::new(BRIDGE).unwrap()];
    assert_eq!((sight.readings, sight.garbled), (2, 1));
    // One garbled is the answer that did not come, and no message.
    assert_eq!(sight.readings + sight.suppressed, published);
}
