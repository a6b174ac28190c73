//! A gauge that sends only when it is asked, asked by a person at the screen: the real daemon, a real
//! pseudo-terminal, and the gauge's side of the talk.
#![allow(missing_docs, clippy::unwrap_used)]

use oddleg_tests::daemon::Daemon;
use oddleg_tests::workshop::Workshop;
use oddleg_tests::{Plugged, program, wait};
use rustix::fs::OFlags;
use rustix::io::Errno;
use serde_json::{Value, json};

const GAUGE: &str = r#"
[gauge.caliper-2]
title = "Caliper on request"
bench = "bench-1"
kind = "caliper"
via = "serial"
port = "gauges/caliper-2"
unit = "mm"
request = "?\r"
answer_max = "3 s"
"#;

/// What the gauge has been sent so far.
fn heard(gauge: &Plugged) -> Vec<u8> {
    let mut bytes = [0; 64];
    match rustix::io::read(gauge, &mut bytes) {
        Ok(count) => bytes[..count].to_vec(),
        Err(Errno::AGAIN) => Vec::new(),
        Err(error) => panic!("{error}"),
    }
}

/// Presses the button as a browser without any script does: a form, and the page it leads back to.
fn press(daemon: &Daemon, gauge: &str) -> (u16, String) {
    let host = daemon.person.base.trim_start_matches("http://");
    let headers = [
        ("content-type", "application/x-www-form-urlencoded"),
        ("host", host),
        ("origin", daemon.person.base.as_str()),
    ];
    let body = format!("gauge={gauge}");
    let answer = daemon.person.send("/api/asks", &headers, body.as_bytes());
    (answer.status, answer.text)
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

#[test]
fn a_gauge_asked_from_the_screen_gives_one_judged_reading_and_one_that_keeps_silent_is_told() {
    let workshop = Workshop::plate(GAUGE);
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    let lay = json!({"bench": "bench-1", "piece": "P1/1", "stage": "blank"});
    daemon.person.post("/api/bench", &lay);
    let mut gauge = daemon.plug("caliper-2", &workshop.port("caliper-2"));
    rustix::fs::fcntl_setfl(&gauge, OFlags::NONBLOCK).unwrap();
    let page = daemon.person.text("/bench/bench-1");
    assert!(page.contains(r#"name="gauge" value="caliper-2""#), "{page}");
    assert!(page.contains("Take a reading"), "{page}");
    assert!(heard(&gauge).is_empty(), "it is not asked by itself");

    // Asked: the request goes out, the answer comes back as a reading that is judged.
    let before = daemon.person.newest();
    let (status, text) = press(&daemon, "caliper-2");
    assert_eq!(status, 200, "{text}");
    let mut request = Vec::new();
    wait::until("the request", || {
        request.extend(heard(&gauge));
        (request.len() >= 2).then_some(())
    });
    assert_eq!(request, b"?\r");
    assert_eq!(daemon.person.newest(), before, "asking writes nothing");
    gauge.send(b"+286.10\r").unwrap();
    wait::until("the reading", || {
        (sight(&daemon)["readings"] == 1).then_some(())
    });
    assert_eq!(daemon.person.newest(), before + 1, "it is one entry");
    let judged = daemon.person.entry(before + 1);
    assert_eq!(judged["event"]["observed"]["gauge"], "caliper-2");
    let finding = &judged["finding"]["judged"];
    assert_eq!(finding["characteristic"], "blank.width", "{judged}");
    assert_eq!(finding["verdict"], "pass", "{judged}");

    // Asked and silent: told once its time is over, on the screen and in the history.
    assert_eq!(press(&daemon, "caliper-2").0, 200);
    wait::until("the silence to be told", || {
        (sight(&daemon)["garbled"] == 1).then_some(())
    });
    let silent = daemon.person.entry(before + 2);
    let decoded = &silent["event"]["observed"]["decoded"];
    assert_eq!(decoded["garbled"], "no-answer", "{silent}");
    let page = daemon.person.text("/bench/bench-1");
    let told = "the gauge was asked and gave no reading in time";
    assert!(page.contains(told), "{page}");
    assert!(!page.contains("it sent"), "it sent nothing to show");
    assert_eq!(heard(&gauge), b"?\r");

    // It can be asked again, and one that sends by itself cannot be.
    assert_eq!(press(&daemon, "caliper-2").0, 200);
    wait::until("the next request", || {
        (!heard(&gauge).is_empty()).then_some(())
    });
    gauge.send(b"+171.10\r").unwrap();
    wait::until("the next reading", || {
        (sight(&daemon)["readings"] == 2).then_some(())
    });
    let body = json!({"gauge": "keypad-1"});
    let (status, problem) = daemon.person.try_post("/api/asks", &body).unwrap();
    assert_eq!(status, 422, "{problem}");
    let detail = problem["detail"].as_str().unwrap();
    assert!(detail.contains("keypad-1 cannot be asked"), "{detail}");
    assert_eq!(daemon.stop(), Some(0));
}
