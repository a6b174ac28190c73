//! How a gauge behind a bridge is, on the screen: the same by our own door and through a broker.
#![allow(missing_docs, clippy::unwrap_used)]

use std::io::Write as _;
use std::process::{Child, Command, Stdio};

use oddleg_tests::bridge::Bridge;
use oddleg_tests::broker::{BRIDGE, Broker, PASSWORD};
use oddleg_tests::daemon::Daemon;
use oddleg_tests::door::Door;
use oddleg_tests::workshop::Workshop;
use oddleg_tests::{program, wait};

fn shows(daemon: &Daemon, state: &str) {
    wait::until(state, || {
        (daemon.person.gauge_state(BRIDGE) == state).then_some(())
    });
}

/// A stranger's client as a bridge that says its states line by line, with a last will.
fn with_a_will(port: u16) -> Child {
    let state = format!("oddleg/gauges/{BRIDGE}/state");
    Command::new("mosquitto_pub")
        .args(["-h", "127.0.0.1", "-p", &port.to_string()])
        .args(["-u", BRIDGE, "-P", PASSWORD])
        .args(["-q", "1", "-l", "-t", &state])
        .args(["--will-topic", &state, "--will-payload", "offline"])
        .arg("--will-retain")
        .stdin(Stdio::piped())
        .spawn()
        .expect("mosquitto-clients is installed")
}

fn a_bridge_is_followed(port: u16, toml: &str) {
    let watched = toml.replacen(
        &format!("[gauge.{BRIDGE}]\n"),
        &format!("[gauge.{BRIDGE}]\nsilent_after = \"5 s\"\n"),
        1,
    );
    let workshop = Workshop::plate(&watched);
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    if toml.contains("broker =") {
        daemon.wait_for_broker();
    }
    assert_eq!(daemon.person.gauge_state(BRIDGE), "unknown");
    // It says what it measures and nothing of itself; then it falls silent, and is heard again.
    let mut bridge = Bridge::to(port);
    assert!(bridge.publish("286.10", || false));
    shows(&daemon, "silent");
    assert!(bridge.publish("286.10", || false));
    shows(&daemon, "connected");
    shows(&daemon, "silent");
    // It loses its power: the last will is told for it. What is away is not silent besides.
    let mut dying = with_a_will(port);
    writeln!(dying.stdin.as_mut().unwrap(), "online").unwrap();
    shows(&daemon, "connected");
    dying.kill().unwrap();
    dying.wait().unwrap();
    shows(&daemon, "offline");
    let back = with_a_will(port);
    writeln!(back.stdin.as_ref().unwrap(), "online").unwrap();
    shows(&daemon, "connected");
    // Its goodbye, and no last will: nothing is known to be wrong with it.
    let done = back.wait_with_output().unwrap();
    assert!(done.status.success());
    shows(&daemon, "silent");
    assert_eq!(daemon.stop(), Some(0));
}

#[test]
fn a_bridge_at_our_door_is_shown_silent_after_its_time_and_offline_by_its_last_will() {
    let door = Door::new();
    a_bridge_is_followed(door.port, &door.toml());
}

#[test]
fn a_bridge_behind_a_broker_is_shown_silent_after_its_time_and_offline_by_its_last_will() {
    let broker = Broker::start();
    a_bridge_is_followed(broker.port, &broker.toml());
}
