//! Beside a person who measures: a gauge that floods, one that never ends a line, one at another speed, one
//! that changes its unit in the middle, and a bridge that lies about its name. They cost the person nothing,
//! the daemon no memory, and every frame is in a count on the screen.
#![allow(missing_docs, clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::thread::{JoinHandle, spawn};

use bytes::BytesMut;
use oddleg::spine::EVENTS_MAX;
use oddleg_tests::bridge::Bridge;
use oddleg_tests::broker::BRIDGE;
use oddleg_tests::daemon::Daemon;
use oddleg_tests::door::Door;
use oddleg_tests::person::Person;
use oddleg_tests::workshop::Workshop;
use oddleg_tests::{Plugged, program, wait};
use rumqttc::QoS;
use rumqttc::mqttbytes::v4::Publish;
use serde_json::json;

/// What the flood sends: more than is ever stored of it, so that most of it must be counted.
const FLOOD_FRAMES: u64 = 60_000;
/// What comes without an end of line: more than the daemon may ever have in memory.
const ENDLESS_BYTES: usize = 96 * 1024 * 1024;
/// Most the daemon may ever have resident. A build for tests has some 30 MiB; what the bad gauges send is
/// several times more than what is between.
const RESIDENT_KIB_MAX: u64 = 64 * 1024;
/// Bytes of noise, and every seventh ends a line.
const NOISE_BYTES: u64 = 70_000;
/// Readings of the person.
const READINGS: u64 = 40;
/// A batch on its way to the disk, and what the queue holds, may be ahead of a reading; with as much again
/// for what is committed while it is on its way to the port.
const AHEAD_MAX: u64 = 2 * (EVENTS_MAX as u64 + 512);

const BAD: [&str; 4] = ["flood-1", "endless-1", "noise-1", "unit-1"];

/// A bench for each bad gauge.
fn config(door: &Door) -> String {
    let mut config = door.toml();
    for gauge in BAD {
        config += &format!(
            "\n[bench.{gauge}]\n\n[gauge.{gauge}]\nbench = \"{gauge}\"\nkind = \"caliper\"\nvia = \"serial\"\n\
             port = \"gauges/{gauge}\"\nunit = \"mm\"\n"
        );
    }
    config
}

/// How many frames of a gauge are in which count.
#[derive(Debug, PartialEq, Eq)]
struct Counts {
    readings: u64,
    held: u64,
    garbled: u64,
    suppressed: u64,
}

impl Counts {
    fn of(person: &Person, bench: &str, gauge: &str) -> Self {
        let bench = person.get(&format!("/api/bench?bench={bench}"));
        let gauges = bench["gauges"].as_array().unwrap();
        let sight = gauges.iter().find(|sight| sight["id"] == gauge).unwrap();
        let count = |name: &str| sight[name].as_u64().unwrap();
        Self {
            readings: count("readings"),
            held: count("held"),
            garbled: count("garbled"),
            suppressed: count("suppressed"),
        }
    }

    /// All frames: held ones are readings too.
    fn frames(&self) -> u64 {
        self.readings + self.garbled + self.suppressed
    }
}

/// Waits until all that a gauge sent is in its counts.
fn all_of(person: &Person, bench: &str, gauge: &str, frames: u64) -> Counts {
    let mut seen = String::new();
    wait::until(&format!("{frames} frames of {gauge}"), || {
        let counts = Counts::of(person, bench, gauge);
        let now = format!("{counts:?}");
        if now != seen {
            eprintln!("{gauge}: {now}");
            seen = now;
        }
        assert!(counts.frames() <= frames, "{gauge}: {counts:?}");
        (counts.frames() == frames).then_some(counts)
    })
}

/// What the daemon had resident at most.
fn resident_kib_most(daemon: &Daemon) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{}/status", daemon.pid())).unwrap();
    let line = status.lines().find(|l| l.starts_with("VmHWM")).unwrap();
    line.split_whitespace().nth(1).unwrap().parse().unwrap()
}

fn flood(mut gauge: Plugged) -> JoinHandle<Plugged> {
    spawn(move || {
        for _ in 0..FLOOD_FRAMES / 20 {
            gauge.send(&b"12.70\r".repeat(20)).unwrap();
        }
        gauge
    })
}

fn endless(mut gauge: Plugged) -> JoinHandle<Plugged> {
    spawn(move || {
        let bytes = [b'7'; 64 * 1024];
        for _ in 0..ENDLESS_BYTES / bytes.len() {
            gauge.send(&bytes).unwrap();
        }
        // It comes to its senses: the next line is a line.
        gauge.send(b"\r12.70\r").unwrap();
        gauge
    })
}

/// What 9600 baud sounds like at another speed: bytes above ASCII, seeded, with ends of lines among them.
fn noise(mut gauge: Plugged) -> JoinHandle<Plugged> {
    let mut state = 0x5eed_u64;
    let mut bytes = Vec::new();
    for number in 0..NOISE_BYTES {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        let byte = 0x80 | u8::try_from(state >> 57).unwrap();
        bytes.push(if number % 7 == 6 { b'\r' } else { byte });
    }
    spawn(move || {
        gauge.send(&bytes).unwrap();
        gauge
    })
}

/// Speaks in the name of the person's own caliper, for which it may not, and then in its own, so many times.
fn liar(port: u16, lies: u64) -> JoinHandle<()> {
    spawn(move || {
        let mut honest = Bridge::named(port, "liar-when-honest");
        for number in 0..lies {
            lie(port, number);
            let own = format!(r#"{{"value": "290.00", "unit": "mm", "id": "own-{number}"}}"#);
            assert!(honest.publish(&own, || false));
        }
    })
}

/// A connection that logs in as the bridge it is and publishes as the caliper it is not: it is shown the door.
fn lie(port: u16, number: u64) {
    let mut connection = Bridge::log_in(port, "liar").unwrap();
    let topic = "oddleg/gauges/caliper-1/reading";
    let value = format!("{}.00 mm", 700 + number);
    let mut publish = Publish::new(topic, QoS::AtLeastOnce, value);
    publish.pkid = 1;
    let mut bytes = BytesMut::new();
    publish.write(&mut bytes).unwrap();
    std::io::Write::write_all(&mut connection, &bytes).unwrap();
    let mut answer = [0; 16];
    let count = std::io::Read::read(&mut connection, &mut answer).unwrap_or(0);
    assert_eq!(count, 0, "a lie was answered with {answer:?}");
}

#[test]
fn bad_gauges_take_no_reading_from_a_person_no_memory_and_leave_no_frame_uncounted() {
    const LIES: u64 = 20;
    let door = Door::new();
    let workshop = Workshop::plate(&config(&door));
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    let person = &daemon.person;
    for (bench, piece) in [("bench-1", "P1/1"), ("unit-1", "P1/2")] {
        let lay = json!({"bench": bench, "piece": piece, "stage": "blank"});
        person.post("/api/bench", &lay);
    }
    let mut gauges: BTreeMap<&str, Plugged> = BTreeMap::new();
    for gauge in ["caliper-1"].into_iter().chain(BAD) {
        let mut plugged = Plugged::new(&workshop.port(gauge)).unwrap();
        let bench = if gauge == "caliper-1" {
            "bench-1"
        } else {
            gauge
        };
        wait::until("the port", || {
            let state = person.get(&format!("/api/bench?bench={bench}"));
            let sights = state["gauges"].as_array().unwrap();
            sights
                .iter()
                .any(|sight| sight["id"] == gauge && sight["state"] == "connected")
                .then_some(())
        });
        plugged.send(b"\r").unwrap();
        gauges.insert(gauge, plugged);
    }
    let mut good = gauges.remove("caliper-1").unwrap();
    let mut unit = gauges.remove("unit-1").unwrap();
    let bad = [
        flood(gauges.remove("flood-1").unwrap()),
        endless(gauges.remove("endless-1").unwrap()),
        noise(gauges.remove("noise-1").unwrap()),
    ];
    let liar = liar(door.port, LIES);

    // The person measures beside them, one reading after the other; none waits for more than the queue.
    let mut measured = Vec::new();
    for number in 0..READINGS {
        let begun = person.newest();
        let line = format!("29{}.{:02} mm", number % 10, number);
        good.send(format!("{line}\r").as_bytes()).unwrap();
        wait::until("the person's reading", || {
            let counts = Counts::of(person, "bench-1", "caliper-1");
            (counts.readings > number).then_some(())
        });
        measured.push((begun, line));
        if number == READINGS / 2 {
            // Meanwhile at another bench: 11.26 in is 286.00 mm, but the gauge does not say that it changed.
            unit.send(b"286.10\r11.26\r11.26 in\r").unwrap();
        }
    }
    let bad = bad.map(|bad| bad.join().unwrap());
    liar.join().unwrap();

    // Conservation: every frame is a reading, garbled or passed over.
    let flooded = all_of(person, "flood-1", "flood-1", FLOOD_FRAMES);
    assert_eq!((flooded.garbled, flooded.held), (0, flooded.readings));
    assert!(flooded.suppressed > FLOOD_FRAMES / 2, "{flooded:?}");
    let counts = |readings, held, garbled| Counts {
        readings,
        held,
        garbled,
        suppressed: 0,
    };
    let endless = all_of(person, "endless-1", "endless-1", 2);
    assert_eq!(endless, counts(1, 1, 1));
    let noisy = all_of(person, "noise-1", "noise-1", NOISE_BYTES / 7);
    assert_eq!(noisy, counts(0, 0, NOISE_BYTES / 7));
    let changed = all_of(person, "unit-1", "unit-1", 3);
    assert_eq!(changed.garbled + changed.suppressed, 0);
    let honest = all_of(person, "bench-1", BRIDGE, LIES);
    assert_eq!((honest.garbled, honest.readings), (0, LIES));
    let good_counts = all_of(person, "bench-1", "caliper-1", READINGS);
    assert_eq!((good_counts.garbled, good_counts.readings), (0, READINGS));

    // The history itself: the person's lines in their order, each at most the queue after it was sent; no lie.
    let mut readings = measured.iter();
    let mut units = Vec::new();
    let (mut after, newest) = (0, person.newest());
    while after < newest {
        let page = person.get(&format!("/api/history?after={after}&limit=1000"));
        for entry in page["entries"].as_array().unwrap() {
            after = entry["seq"].as_u64().unwrap();
            let observed = &entry["event"]["observed"];
            match observed["gauge"].as_str() {
                Some("caliper-1") => {
                    let (begun, line) = readings.next().expect("no more than were sent");
                    assert_eq!(observed["raw"], json!(line.as_bytes()), "{entry}");
                    assert!(after - begun <= AHEAD_MAX, "{begun} {entry}");
                }
                Some("unit-1") => units.push(entry["finding"].clone()),
                _ => {}
            }
        }
    }
    assert!(readings.next().is_none(), "a reading of the person is lost");
    // In its own unit judged; in another without a word held for the person; by name judged or asked, never
    // taken as 11.26 mm.
    assert_eq!(units[0]["judged"]["verdict"], "pass", "{units:?}");
    assert!(units[1]["held"].is_object(), "{units:?}");
    assert_eq!(units.len(), 3);

    let resident = resident_kib_most(&daemon);
    eprintln!("resident at most: {resident} KiB");
    assert!(resident < RESIDENT_KIB_MAX, "{resident} KiB");
    drop((bad, good, unit));
    assert_eq!(daemon.stop(), Some(0));
}
