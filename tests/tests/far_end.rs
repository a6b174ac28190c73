//! oddleg as the far end of MQTT, before strangers: the command-line clients of another project, and another
//! language's client library. None of them shares a line with us.
#![allow(missing_docs, clippy::unwrap_used)]

use std::process::{Child, Command, Output, Stdio};

use oddleg_tests::bridge::Bridge;
use oddleg_tests::broker::{BRIDGE, PASSWORD};
use oddleg_tests::daemon::Daemon;
use oddleg_tests::door::Door;
use oddleg_tests::lamp::Lamp;
use oddleg_tests::workshop::Workshop;
use oddleg_tests::{program, wait};
use serde_json::{Value, json};

const FINDINGS: &str = "oddleg/benches/+/finding";

fn reading(gauge: &str) -> String {
    format!("oddleg/gauges/{gauge}/reading")
}

struct Shop {
    door: Door,
    daemon: Daemon,
    // Dropped last: the daemon works in it.
    workshop: Workshop,
}

/// A daemon with a door, and a flat plate on the bench.
fn shop() -> Shop {
    let door = Door::new();
    let workshop = Workshop::plate(&door.toml());
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    daemon.person.post(
        "/api/bench",
        &json!({"bench": "bench-1", "piece": "P1/1", "stage": "blank"}),
    );
    Shop {
        door,
        daemon,
        workshop,
    }
}

impl Shop {
    /// A command-line client with the name and password of `user`.
    fn stranger(&self, program: &str, user: &str, password: &str) -> Command {
        let mut command = Command::new(program);
        command
            .args(["-h", "127.0.0.1", "-p", &self.door.port.to_string()])
            .args(["-u", user, "-P", password]);
        command.stdout(Stdio::piped()).stderr(Stdio::piped());
        command
    }

    /// Publishes one message; the client's exit code and what it complained of.
    fn publishes(&self, user: &str, more: &[&str]) -> (bool, String) {
        let mut command = self.stranger("mosquitto_pub", user, PASSWORD);
        let output = ended(
            command
                .args(more)
                .spawn()
                .expect("mosquitto-clients is installed"),
        );
        let complained = String::from_utf8_lossy(&output.stderr).into_owned();
        (output.status.success(), complained)
    }

    fn entry(&self, seq: u64) -> Value {
        self.daemon.person.entry(seq)
    }

    /// How many entries are on disk: an acknowledgement is ahead of what the screen has heard of.
    fn newest(&self) -> u64 {
        let reader = history::Reader::open(self.workshop.path()).unwrap();
        reader.checkpoint().unwrap().size
    }
}

/// Waits for a client to end by itself; one that does not is killed, and the test fails.
fn ended(mut child: Child) -> Output {
    wait::until("the client to end", || child.try_wait().unwrap());
    child.wait_with_output().unwrap()
}

#[test]
fn a_command_line_client_publishes_and_has_its_answer_once_it_is_in_the_history() {
    let shop = shop();
    let topic = reading(BRIDGE);
    for (qos, payload) in [
        ("1", "290.05 mm"),
        ("1", r#"{"value": "290.10", "unit": "mm", "id": "a1"}"#),
    ] {
        let before = shop.newest();
        let (done, complained) = shop.publishes(BRIDGE, &["-q", qos, "-t", &topic, "-m", payload]);
        assert!(done, "{complained}");
        // No waiting: its acknowledgement means that it is there.
        assert_eq!(shop.newest(), before + 1);
        let entry = shop.entry(before + 1);
        assert_eq!(entry["event"]["observed"]["via"], "mqtt");
        assert_eq!(
            entry["finding"]["judged"]["verdict"], "too-large",
            "{entry}"
        );
    }
    // The same id again is the same reading: acknowledged, and nothing is added.
    let before = shop.newest();
    let again = r#"{"value": "290.10", "unit": "mm", "id": "a1"}"#;
    let (done, _) = shop.publishes(BRIDGE, &["-q", "1", "-t", &topic, "-m", again]);
    assert!(done);
    assert_eq!(shop.newest(), before);
    // QoS 0, retained, and by client id alone.
    let (done, _) = shop.publishes(BRIDGE, &["-q", "0", "-r", "-t", &topic, "-m", "290.15 mm"]);
    assert!(done);
    wait::until("the reading", || {
        (shop.newest() == before + 1).then_some(())
    });
    let mut radio = Command::new("mosquitto_pub");
    radio
        .args([
            "-h",
            "127.0.0.1",
            "-p",
            &shop.door.port.to_string(),
            "-i",
            "radio-7",
        ])
        .args(["-q", "1", "-t", &reading("radio-7"), "-m", "290.20 mm"]);
    assert!(radio.status().unwrap().success());
    assert_eq!(shop.newest(), before + 2);
}

#[test]
fn what_is_not_taken_is_refused_to_a_command_line_client_in_words_it_understands() {
    let shop = shop();
    let (mine, others) = (reading(BRIDGE), reading("radio-7"));
    let before = shop.newest();
    let refusals: &[(&str, &[&str], &str)] = &[
        (
            "nobody",
            &["-t", &mine, "-m", "290.05 mm"],
            "user name or password",
        ),
        (
            BRIDGE,
            &["-q", "1", "-t", &others, "-m", "290.05 mm"],
            "connection was lost",
        ),
        (
            BRIDGE,
            &["-q", "2", "-t", &mine, "-m", "290.05 mm"],
            "connection was lost",
        ),
        (
            BRIDGE,
            &["-V", "mqttv31", "-t", &mine, "-m", "290.05 mm"],
            "unacceptable protocol version",
        ),
        (
            BRIDGE,
            &[
                "--will-topic",
                &mine,
                "--will-payload",
                "1 mm",
                "-t",
                &mine,
                "-m",
                "290.05 mm",
            ],
            "not authori",
        ),
    ];
    for (user, more, words) in refusals {
        let (done, complained) = shop.publishes(user, more);
        assert!(!done, "{more:?}");
        assert!(
            complained.to_lowercase().contains(words),
            "{more:?}: {complained}"
        );
    }
    assert_eq!(shop.newest(), before, "nothing of it is in the history");
}

#[test]
fn a_command_line_lamp_hears_what_is_found_and_is_refused_everything_else() {
    let shop = shop();
    let mut lamp = shop.stranger("mosquitto_sub", "lamp", PASSWORD);
    let lamp = lamp
        .args(["-q", "1", "-v", "-C", "1", "-t", FINDINGS])
        .spawn()
        .unwrap();
    // Ours is there to say when the other can be: it subscribes after it.
    let ours = Lamp::near(&shop.door, "bench-1");
    let mut bridge = Bridge::to(shop.door.port);
    let mut lamp = Some(lamp);
    let heard = wait::until("the lamp to hear one", || {
        let before = shop.newest();
        assert!(bridge.publish("290.05 mm", || false));
        assert_eq!(ours.hears(before + 1)["verdict"], "too large");
        let over = lamp.as_mut()?.try_wait().unwrap().is_some();
        over.then(|| lamp.take().unwrap().wait_with_output().unwrap())
    });
    let heard = String::from_utf8(heard.stdout).unwrap();
    let (topic, finding) = heard.trim().split_once(' ').unwrap();
    assert_eq!(topic, "oddleg/benches/bench-1/finding");
    let finding: Value = serde_json::from_str(finding).unwrap();
    assert_eq!(
        (finding["verdict"].as_str(), finding["piece"].as_str()),
        (Some("too large"), Some("P1/1"))
    );

    for (user, topic) in [
        ("lamp", "#"),
        ("lamp", "oddleg/gauges/+/reading"),
        (BRIDGE, FINDINGS),
    ] {
        let mut other = shop.stranger("mosquitto_sub", user, PASSWORD);
        let output = ended(other.args(["-t", topic]).spawn().unwrap());
        let complained = String::from_utf8_lossy(&output.stderr).to_lowercase();
        assert!(
            complained.contains("subscription requests were denied"),
            "{topic}: {complained}"
        );
    }
}

/// A thousand bridges, each with its connection open all the time, and people at the screen besides.
#[test]
fn a_thousand_bridges_are_connected_at_once_and_every_one_is_heard() {
    let shop = shop();
    let lamp = Lamp::near(&shop.door, "bench-1");
    let mut bridges: Vec<Bridge> = (0..1000)
        .map(|number| Bridge::named(shop.door.port, &format!("bridge-{number}")))
        .collect();
    let before = shop.newest();
    for round in 0..2 {
        for (number, bridge) in bridges.iter_mut().enumerate() {
            let payload =
                json!({"value": "290.05", "unit": "mm", "id": format!("{round}-{number}")});
            assert!(bridge.publish(&payload.to_string(), || false));
        }
    }
    assert_eq!(shop.newest(), before + 2000);
    let open = std::fs::read_dir(format!("/proc/{}/fd", shop.daemon.pid()))
        .unwrap()
        .count();
    assert!(
        open > 1000,
        "{open} files are open: the connections did not stay"
    );
    assert_eq!(lamp.hears(before + 2000)["verdict"], "too large");
    assert!(shop.daemon.person.text("/").contains("P1"));
    assert_eq!(shop.daemon.stop(), Some(0));
}

/// Another language's client: publishes with QoS 1 and waits for each answer, then is thrown out by its own
/// second connection, and sends what it has open again by itself.
const PAHO: &str = r#"
import sys, json, threading
import paho.mqtt.client as mqtt

port, user, password = int(sys.argv[1]), sys.argv[2], sys.argv[3]
topic = f"oddleg/gauges/{user}/reading"

def client(name, clean):
    if hasattr(mqtt, "CallbackAPIVersion"):
        c = mqtt.Client(mqtt.CallbackAPIVersion.VERSION1, client_id=name, clean_session=clean)
    else:
        c = mqtt.Client(client_id=name, clean_session=clean)
    c.username_pw_set(user, password)
    c.will_set(f"oddleg/gauges/{user}/state", "offline", qos=1, retain=True)
    return c

up = threading.Event()
first = client("paho-1", False)
flags = []
def connected(c, userdata, f, rc):
    flags.append((f["session present"], rc))
    up.set()
first.on_connect = connected
first.connect("127.0.0.1", port, keepalive=2)
first.loop_start()
assert up.wait(20)
for number in range(20):
    info = first.publish(topic, json.dumps({"value": f"290.{number:02}", "unit": "mm", "id": f"p{number}"}), qos=1)
    info.wait_for_publish(20)
    assert info.is_published()
# Longer than its keep-alive allows without a ping: it pings.
import time
time.sleep(4)
first.publish(topic, "290.50 mm", qos=1).wait_for_publish(20)
assert flags == [(0, 0)], flags
# The same client id again: the first is thrown out, comes back by itself, and throws out the second.
up.clear()
second = client("paho-1", False)
second.connect("127.0.0.1", port)
second.loop_start()
assert up.wait(20)
second.loop_stop()
first.publish(topic, "290.60 mm", qos=1).wait_for_publish(20)
first.disconnect()
first.loop_stop()
assert all(flag == (0, 0) for flag in flags), flags
print("done")
"#;

#[test]
fn another_languages_client_publishes_pings_and_comes_back_after_it_was_thrown_out() {
    let shop = shop();
    // Debian's own interpreter, which has Debian's package of it; or another by name.
    let python = std::env::var("ODDLEG_PYTHON").unwrap_or_else(|_| "/usr/bin/python3".to_owned());
    let before = shop.newest();
    let run = Command::new(python)
        .args(["-c", PAHO, &shop.door.port.to_string(), BRIDGE, PASSWORD])
        .output()
        .expect("python3-paho-mqtt is installed");
    let complained = String::from_utf8_lossy(&run.stderr);
    assert!(
        run.status.success() && run.stdout == b"done\n",
        "{complained}"
    );
    let entries = shop
        .daemon
        .person
        .get(&format!("/api/history?after={before}&limit=1000"));
    let raws: Vec<&Value> = entries["entries"]
        .as_array()
        .unwrap()
        .iter()
        .map(|e| &e["event"]["observed"])
        .filter(|seen| seen.is_object())
        .collect();
    assert_eq!(raws.len(), 22, "{raws:?}");
}
