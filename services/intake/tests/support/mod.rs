//! The distribution's broker, run with the very configuration that is shipped, and the intake beside it.

#![allow(
    dead_code,
    reason = "each test file is a crate of its own and uses a part of this"
)]

use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use intake::mqtt::{self, Broker, Link};
use rumqttc::{AsyncClient, Event, EventLoop, MqttOptions, Packet, QoS};
use shared_types::{
    BenchId, Decoded, Event as Happened, Observation, Outcome, Receipt, Seq, Submission,
};
use tempfile::TempDir;
use tokio::sync::{mpsc, watch};
use tokio::task::JoinHandle;
use tokio_util::sync::CancellationToken;

/// Long enough that only something that never happens takes it.
pub(crate) const SOON: Duration = Duration::from_secs(30);
const PASSWORD: &str = "saltmarsh-invented";
/// Users of the tests: oddleg, a lamp, and bridges named as their gauges.
const USERS: [&str; 4] = ["oddleg", "lamp", "caliper-1", "comma-2"];

/// A running mosquitto with a directory of its own.
pub(crate) struct Mosquitto {
    pub(crate) dir: TempDir,
    pub(crate) port: u16,
    child: Option<Child>,
}

impl Mosquitto {
    /// Starts it with the shipped configuration.
    pub(crate) fn start() -> Self {
        Self::start_changed(|conf| conf)
    }

    /// Starts it with the shipped configuration, changed.
    pub(crate) fn start_changed(change: impl Fn(String) -> String) -> Self {
        let dir = TempDir::new().expect("a temporary directory");
        let free = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).expect("a free port");
        let port = free.local_addr().expect("its address").port();
        drop(free);
        let mut broker = Self {
            dir,
            port,
            child: None,
        };
        broker.configure(change);
        broker.run();
        broker
    }

    /// As on Debian: a main file with the persistence settings, ours in `conf.d`.
    fn configure(&self, change: impl Fn(String) -> String) {
        let at = |name: &str| self.dir.path().join(name);
        std::fs::create_dir_all(at("conf.d")).expect("conf.d");
        std::fs::create_dir_all(at("store")).expect("store");
        for (index, user) in USERS.iter().enumerate() {
            let mut command = Command::new("mosquitto_passwd");
            command.arg("-b");
            if index == 0 {
                command.arg("-c");
            }
            command.arg(at("passwd")).args([user, PASSWORD]);
            let done = command.stdout(Stdio::null()).stderr(Stdio::null()).status();
            assert!(
                done.expect("mosquitto_passwd: install the package `mosquitto`")
                    .success()
            );
        }
        let shipped = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../deploy/mosquitto");
        std::fs::copy(shipped.join("acl"), at("acl")).expect("the shipped access list");
        let mut conf = std::fs::read_to_string(shipped.join("oddleg.conf"))
            .expect("the shipped configuration");
        for (from, to) in [
            (
                "\nlistener 1883\n",
                format!("\nlistener {} 127.0.0.1\n", self.port),
            ),
            (
                "/etc/mosquitto/oddleg.passwd",
                at("passwd").display().to_string(),
            ),
            ("/etc/mosquitto/oddleg.acl", at("acl").display().to_string()),
        ] {
            assert!(
                conf.contains(from),
                "the shipped configuration has {from:?}"
            );
            conf = conf.replace(from, &to);
        }
        std::fs::write(at("conf.d/oddleg.conf"), change(conf)).expect("conf.d/oddleg.conf");
        let main = format!(
            "persistence true\npersistence_location {}/\nlog_dest file {}\nuser root\ninclude_dir {}\n",
            at("store").display(),
            at("log").display(),
            at("conf.d").display(),
        );
        std::fs::write(at("mosquitto.conf"), main).expect("mosquitto.conf");
    }

    /// Starts the process and waits until it listens.
    pub(crate) fn run(&mut self) {
        let program = ["/usr/sbin/mosquitto", "/usr/local/sbin/mosquitto"]
            .iter()
            .map(PathBuf::from)
            .find(|path| path.exists())
            .expect("the broker is missing: install the package `mosquitto`");
        let child = Command::new(program)
            .arg("-c")
            .arg(self.dir.path().join("mosquitto.conf"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("mosquitto starts");
        self.child = Some(child);
        for _ in 0..500 {
            if TcpStream::connect((Ipv4Addr::LOCALHOST, self.port)).is_ok() {
                return;
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        panic!("mosquitto does not listen: {}", self.log());
    }

    /// Ends it as a power cut would.
    pub(crate) fn kill(&mut self) {
        if let Some(mut child) = self.child.take() {
            child.kill().expect("it runs");
            child.wait().expect("it ends");
        }
    }

    /// Waits until it has written what it holds: it does so a moment after each change.
    pub(crate) async fn written(&self) {
        tokio::time::sleep(Duration::from_millis(1500)).await;
    }

    /// What it logged.
    pub(crate) fn log(&self) -> String {
        std::fs::read_to_string(self.dir.path().join("log")).unwrap_or_default()
    }

    /// Our side's settings for it.
    pub(crate) fn settings(&self) -> Broker {
        let mut broker = Broker::new("127.0.0.1", self.port, "oddleg-test");
        broker.user = Some(("oddleg".to_owned(), PASSWORD.to_owned()));
        broker
    }

    /// A client of `user`.
    pub(crate) fn client(&self, user: &str) -> (AsyncClient, EventLoop) {
        let mut options = MqttOptions::new(format!("{user}-client"), "127.0.0.1", self.port);
        options.set_credentials(user, PASSWORD);
        options.set_max_packet_size(1 << 20, 1 << 20);
        options.set_inflight(500);
        AsyncClient::new(options, 500)
    }

    /// Publishes as `caliper-1` and waits for the broker's acknowledgements; false where it throws
    /// the bridge off instead.
    pub(crate) async fn publish(&self, messages: &[(&str, Vec<u8>, bool)]) -> bool {
        let (client, mut connection) = self.client("caliper-1");
        let queue: Vec<_> = messages
            .iter()
            .map(|(topic, payload, retain)| ((*topic).to_owned(), payload.clone(), *retain))
            .collect();
        let publishing = tokio::spawn(async move {
            for (topic, payload, retain) in queue {
                client
                    .publish(topic, QoS::AtLeastOnce, retain, payload)
                    .await
                    .expect("queued");
            }
            client
        });
        let mut left = messages.len();
        let done = async {
            while left > 0 {
                match connection.poll().await {
                    Ok(Event::Incoming(Packet::PubAck(_))) => left -= 1,
                    Ok(_) => {}
                    Err(_) => return false,
                }
            }
            true
        };
        let done = tokio::time::timeout(SOON, done)
            .await
            .expect("an answer from the broker");
        publishing.abort();
        done
    }

    /// Publishes readings of caliper-1, each with its number as value and id.
    pub(crate) async fn readings(&self, numbers: std::ops::Range<u32>) {
        let messages: Vec<_> = numbers
            .map(|n| {
                let json = format!(r#"{{"value": {n}, "unit": "mm", "id": "{n}"}}"#);
                (READING, json.into_bytes(), false)
            })
            .collect();
        assert!(self.publish(&messages).await);
    }
}

impl Drop for Mosquitto {
    fn drop(&mut self) {
        if std::thread::panicking() {
            eprintln!("the broker logged:\n{}", self.log());
        }
        self.kill();
    }
}

/// The topic of caliper-1's readings.
pub(crate) const READING: &str = "oddleg/gauges/caliper-1/reading";
/// The topic of its state.
pub(crate) const STATE: &str = "oddleg/gauges/caliper-1/state";

/// The intake at work, with a queue in place of the spine.
pub(crate) struct Intake {
    pub(crate) submissions: mpsc::Receiver<Submission>,
    pub(crate) findings: mpsc::Sender<(BenchId, String)>,
    pub(crate) link: watch::Receiver<Link>,
    pub(crate) stop: CancellationToken,
    task: JoinHandle<()>,
}

impl Intake {
    pub(crate) fn start(broker: Broker) -> Self {
        Self::start_with_room(broker, 1000)
    }

    pub(crate) fn start_with_room(broker: Broker, room: usize) -> Self {
        let (sink, submissions) = mpsc::channel(room);
        let (findings, outgoing) = mpsc::channel(16);
        let (link, seen) = watch::channel(Link::Connecting {
            why: "test".to_owned(),
        });
        let stop = CancellationToken::new();
        let task = tokio::spawn(mqtt::run(broker, sink, outgoing, link, stop.clone()));
        Self {
            submissions,
            findings,
            link: seen,
            stop,
            task,
        }
    }

    pub(crate) async fn up(&mut self) {
        self.link_is(|link| matches!(link, Link::Up { .. })).await;
    }

    pub(crate) async fn link_is(&mut self, like: impl FnMut(&Link) -> bool) -> Link {
        let waited = tokio::time::timeout(SOON, self.link.wait_for(like)).await;
        let waited = waited.map(|link| link.expect("it runs").clone());
        waited.unwrap_or_else(|_| panic!("the link stays {:?}", *self.link.borrow()))
    }

    pub(crate) async fn next(&mut self) -> Submission {
        let next = tokio::time::timeout(SOON, self.submissions.recv()).await;
        next.expect("a submission").expect("it runs")
    }

    /// The next observation and its receipt.
    pub(crate) async fn observed(&mut self) -> (Observation, Option<String>, Receipt) {
        let submission = self.next().await;
        match submission.event {
            Happened::Observed(observation) => (observation, submission.key, submission.receipt),
            other => panic!("{other:?}"),
        }
    }

    /// The numbers of the next `count` readings, with their receipts.
    pub(crate) async fn numbers(&mut self, count: usize) -> (Vec<u32>, Vec<Receipt>) {
        let mut numbers = Vec::new();
        let mut receipts = Vec::new();
        while numbers.len() < count {
            let (observation, key, receipt) = self.observed().await;
            let Decoded::Reading(reading) = observation.decoded else {
                panic!("{observation:?}");
            };
            assert_eq!(key, Some(format!("mqtt:caliper-1:{}", reading.digits)));
            numbers.push(reading.digits.parse().expect("a number"));
            receipts.push(receipt);
        }
        (numbers, receipts)
    }

    /// Ends it in order.
    pub(crate) async fn stop(self) {
        self.stop.cancel();
        tokio::time::timeout(SOON, self.task)
            .await
            .expect("it ends")
            .expect("in order");
    }

    /// Ends it as a crash would.
    pub(crate) async fn crash(self) {
        self.task.abort();
        assert!(self.task.await.is_err());
    }
}

pub(crate) fn tell(receipts: impl IntoIterator<Item = Receipt>) {
    for receipt in receipts {
        receipt.tell(Outcome::Committed(Seq(1)));
    }
}
