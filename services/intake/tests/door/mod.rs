//! Our own door with a queue behind it that the test empties, and a client that speaks byte by byte.

#![allow(
    dead_code,
    reason = "each test file is a crate of its own and uses a part of this"
)]

use std::collections::BTreeSet;
use std::net::SocketAddr;
use std::time::Duration;

use bytes::BytesMut;
use intake::far_end::{self, FarEnd, Fingerprint, Proof, User};
use intake::mqtt::{Sensor, Topics};
use rumqttc::mqttbytes::Error;
use rumqttc::mqttbytes::v4::{
    Connect, ConnectReturnCode, LastWill, Packet, Publish, Subscribe, SubscribeReasonCode,
};
use rumqttc::{QoS, mqttbytes};
use shared_types::{
    BenchId, Event, GaugeId, Outcome, SensorId, Seq, Submission, TemperatureOf, TemperatureUnit,
};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::mpsc;
use tokio::task::JoinHandle;
use tokio::time::timeout;
use tokio_util::sync::CancellationToken;

/// Longer than anything here takes but for what waits on purpose.
pub(crate) const SOON: Duration = Duration::from_secs(20);
pub(crate) const READING: &str = "oddleg/gauges/caliper-2/reading";
pub(crate) const STATE: &str = "oddleg/gauges/caliper-2/state";
pub(crate) const FINDINGS: &str = "oddleg/benches/+/finding";

/// The door with a queue behind it that the test empties.
pub(crate) struct Door {
    pub(crate) address: SocketAddr,
    pub(crate) events: mpsc::Receiver<Submission>,
    pub(crate) findings: mpsc::Sender<(BenchId, String)>,
    pub(crate) stop: CancellationToken,
    pub(crate) task: JoinHandle<()>,
}

impl Door {
    pub(crate) async fn open() -> Self {
        Self::with_room(64).await
    }

    pub(crate) async fn with_room(room: usize) -> Self {
        let shelf = Sensor {
            bench: BenchId::new("bench-1").unwrap(),
            of: TemperatureOf::Both,
            unit: TemperatureUnit::Celsius,
        };
        let topics = Topics {
            sensors: [(SensorId::new("shelf").unwrap(), shelf)].into(),
            ..Topics::default()
        };
        Self::hears(room, topics).await
    }

    pub(crate) async fn hears(room: usize, topics: Topics) -> Self {
        let user = |name: &str, proof, gauge: Option<&str>| User {
            name: name.to_owned(),
            proof,
            gauges: gauge
                .map(|gauge| GaugeId::new(gauge).unwrap())
                .into_iter()
                .collect(),
            sensors: gauge
                .filter(|gauge| *gauge == "caliper-2")
                .map(|_| SensorId::new("shelf").unwrap())
                .into_iter()
                .collect(),
            findings: gauge.is_none(),
        };
        let password = |text| Proof::Password(Fingerprint::of(text));
        let far_end = FarEnd {
            topics,
            benches: BTreeSet::from([BenchId::new("bench-1").unwrap()]),
            users: [
                user("caliper-2", password("tide"), Some("caliper-2")),
                user("angle-2", password("ebb"), Some("angle-2")),
                user(
                    "radio",
                    Proof::ClientId("radio-7".to_owned()),
                    Some("radio-7"),
                ),
                user("lamp", password("light"), None),
            ]
            .into_iter()
            .collect(),
        };
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let (sink, events) = mpsc::channel(room);
        let (findings, told) = mpsc::channel(64);
        let stop = CancellationToken::new();
        let task = tokio::spawn(far_end::run(listener, far_end, sink, told, stop.clone()));
        Self {
            address,
            events,
            findings,
            stop,
            task,
        }
    }

    pub(crate) async fn next(&mut self) -> Submission {
        timeout(SOON, self.events.recv())
            .await
            .expect("an event comes")
            .unwrap()
    }

    /// What comes next, committed.
    pub(crate) async fn takes(&mut self) -> String {
        let submission = self.next().await;
        let said = match &submission.event {
            Event::Observed(seen) => String::from_utf8_lossy(&seen.raw).into_owned(),
            Event::GaugeSeen { gauge, state } => format!("{gauge} {state:?}"),
            other => panic!("{other:?}"),
        };
        submission.receipt.tell(Outcome::Committed(Seq(1)));
        said
    }

    pub(crate) fn is_quiet(&mut self) -> bool {
        self.events.try_recv().is_err()
    }

    pub(crate) async fn client(&self) -> Client {
        Client {
            stream: TcpStream::connect(self.address).await.unwrap(),
            bytes: BytesMut::new(),
        }
    }

    /// A client that is connected as `user`.
    pub(crate) async fn known(&self, user: &str, password: &str) -> Client {
        let mut client = self.client().await;
        let code = client.connects(&connect(user, password)).await;
        assert_eq!(code, ConnectReturnCode::Success);
        client
    }
}

pub(crate) fn connect(user: &str, password: &str) -> Connect {
    let mut connect = Connect::new(format!("{user}-client"));
    connect.set_login(user, password);
    connect
}

pub(crate) fn with_will(topic: &str) -> Connect {
    let mut connect = connect("caliper-2", "tide");
    connect.last_will = Some(LastWill::new(topic, "offline", QoS::AtLeastOnce, true));
    connect
}

pub(crate) fn publish(topic: &str, packet: u16, payload: &str) -> Packet {
    let qos = if packet == 0 {
        QoS::AtMostOnce
    } else {
        QoS::AtLeastOnce
    };
    let mut publish = Publish::new(topic, qos, payload);
    publish.pkid = packet;
    Packet::Publish(publish)
}

pub(crate) struct Client {
    pub(crate) stream: TcpStream,
    pub(crate) bytes: BytesMut,
}

impl Client {
    pub(crate) async fn send(&mut self, packet: &Packet) {
        let mut bytes = BytesMut::new();
        packet.write(&mut bytes, 1 << 20).unwrap();
        self.stream.write_all(&bytes).await.unwrap();
    }

    /// The next packet; `None` where the connection is closed.
    pub(crate) async fn hears(&mut self) -> Option<Packet> {
        loop {
            match Packet::read(&mut self.bytes, 1 << 20) {
                Ok(packet) => return Some(packet),
                Err(Error::InsufficientBytes(_)) => {}
                Err(error) => panic!("{error}"),
            }
            let read = timeout(SOON, self.stream.read_buf(&mut self.bytes)).await;
            match read.expect("an answer or an end") {
                Ok(0) | Err(_) => return None,
                Ok(_) => {}
            }
        }
    }

    pub(crate) async fn connects(&mut self, connect: &Connect) -> ConnectReturnCode {
        self.send(&Packet::Connect(connect.clone())).await;
        match self.hears().await {
            Some(Packet::ConnAck(ack)) => {
                assert!(!ack.session_present, "no session is ever kept");
                ack.code
            }
            other => panic!("{other:?}"),
        }
    }

    pub(crate) async fn acknowledged(&mut self) -> u16 {
        match self.hears().await {
            Some(Packet::PubAck(ack)) => ack.pkid,
            other => panic!("{other:?}"),
        }
    }

    pub(crate) async fn is_alive(&mut self) {
        self.send(&Packet::PingReq).await;
        assert_eq!(self.hears().await, Some(Packet::PingResp));
    }

    pub(crate) async fn is_alive_after_ack(&mut self) {
        self.acknowledged().await;
        self.is_alive().await;
    }

    pub(crate) async fn subscribes(&mut self, filters: &[&str]) -> Vec<SubscribeReasonCode> {
        let filters = filters.iter().map(|filter| {
            mqttbytes::v4::SubscribeFilter::new((*filter).to_owned(), QoS::AtLeastOnce)
        });
        let mut subscribe = Subscribe::new_many(filters);
        subscribe.pkid = 9;
        self.send(&Packet::Subscribe(subscribe)).await;
        match self.hears().await {
            Some(Packet::SubAck(ack)) => ack.return_codes,
            other => panic!("{other:?}"),
        }
    }

    /// The number in the next finding.
    pub(crate) async fn hears_of(&mut self) -> u64 {
        match self.hears().await {
            Some(Packet::Publish(publish)) => {
                assert_eq!(publish.qos, QoS::AtMostOnce);
                assert_eq!(publish.topic, "oddleg/benches/bench-1/finding");
                String::from_utf8_lossy(&publish.payload)
                    .trim_end()
                    .parse()
                    .unwrap()
            }
            other => panic!("{other:?}"),
        }
    }
}
