//! A caliper that streams without end is checked at closed jaws by pressing a button on the screen: the real
//! daemon, a real pseudo-terminal, and a caliper that behaves like one.
#![allow(missing_docs, clippy::unwrap_used)]

use std::time::Duration;

use oddleg::demo::model::{Caliper, Does, Habits, Step};
use oddleg_tests::daemon::Daemon;
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

fn play(port: &mut Plugged, steps: Vec<Step>) {
    for step in steps {
        std::thread::sleep(Duration::from_millis(step.after_ms));
        if let Does::Say(bytes) = step.does {
            port.send(&bytes).unwrap();
        }
    }
}

fn sight(daemon: &Daemon) -> Value {
    let bench = daemon.person.get("/api/bench");
    let gauges = bench["gauges"].as_array().unwrap();
    gauges
        .iter()
        .find(|gauge| gauge["id"] == "caliper-2")
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
