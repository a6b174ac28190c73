//! oddleg itself as the far end of MQTT 3.1.1, for bridges that publish and lamps that listen.
//!
//! It is not a broker. It takes what gauges say, with QoS 0 or 1, and acknowledges QoS 1 after the commit:
//! here QoS 1 means on disk. It tells findings, with QoS 0, to whoever listens at that moment. It keeps
//! no session: after each connection a lamp subscribes again, and a bridge sends again what was not
//! acknowledged.

mod guests;
mod hearing;
mod packets;
mod seats;
mod session;
mod talk;
mod users;

use std::collections::BTreeSet;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use bytes::{Bytes, BytesMut};
use rumqttc::QoS;
use rumqttc::mqttbytes::v4::Publish;
use shared_types::BenchId;
use tokio::net::TcpListener;
use tokio::sync::{broadcast, mpsc};
use tokio_util::sync::CancellationToken;
use tokio_util::task::TaskTracker;

pub use self::guests::CONNECTIONS_MAX;
use self::guests::Guests;
use self::seats::Seats;
pub use self::users::{Fingerprint, Proof, User, Users};
use crate::Sink;
use crate::mqtt::heard::Heard;
use crate::mqtt::{COUNTED_LOOK, Topics, tell_all_counted, tell_counted};

/// Findings kept for a lamp that is slow; it hears these newest ones and not those before. As for lamps
/// behind a broker.
const NEWS_MAX: usize = 16;
/// After a failed accept (no file descriptor left): the next one waits for this, others may close.
const ACCEPT_AGAIN: Duration = Duration::from_millis(100);

/// Who may connect and what is said where.
#[derive(Clone, Debug)]
pub struct FarEnd {
    /// Topics and who speaks on them.
    pub topics: Topics,
    /// The benches whose findings there are to hear.
    pub benches: BTreeSet<BenchId>,
    /// Who may connect.
    pub users: Users,
}

/// A finding on its way to lamps, as the packet they get.
#[derive(Debug)]
struct News {
    bench: BenchId,
    packet: Bytes,
}

/// What all connections share.
struct Hall {
    far_end: FarEnd,
    heard: Mutex<Heard>,
    seats: Arc<Seats>,
    news: broadcast::Sender<Arc<News>>,
    sink: Sink,
    stop: CancellationToken,
}

/// Serves bridges and lamps on `listener` until `stop`; then what was handed in is still acknowledged
/// once committed, for two seconds at most. `findings` are told to whoever listens as they come.
pub async fn run(
    listener: TcpListener,
    far_end: FarEnd,
    sink: Sink,
    mut findings: mpsc::Receiver<(BenchId, String)>,
    stop: CancellationToken,
) {
    let (news, _) = broadcast::channel(NEWS_MAX);
    let hall = Arc::new(Hall {
        far_end,
        heard: Mutex::default(),
        seats: Arc::default(),
        news,
        sink,
        stop: stop.clone(),
    });
    let guests = Guests::default();
    let connections = TaskTracker::new();
    let mut lamps_served = true;
    let mut looks = tokio::time::interval(COUNTED_LOOK);
    loop {
        tokio::select! {
            () = stop.cancelled() => break,
            _ = looks.tick() => tell_counted(&hall.heard, &hall.far_end.topics.streams, &hall.sink).await,
            accepted = listener.accept() => match accepted {
                Ok((stream, from)) => match guests.enter(from.ip()) {
                    Some((place, stranger)) => {
                        let hall = Arc::clone(&hall);
                        connections.spawn(async move {
                            session::serve(stream, from, &hall, stranger).await;
                            drop(place);
                        });
                    }
                    None => tracing::debug!(%from, "turned away over MQTT: too many are at the door"),
                },
                Err(error) => {
                    tracing::warn!(%error, "an MQTT connection could not be taken");
                    tokio::time::sleep(ACCEPT_AGAIN).await;
                }
            },
            finding = findings.recv(), if lamps_served => match finding {
                Some((bench, json)) => hall.tell(bench, json),
                None => lamps_served = false,
            },
        }
    }
    drop(listener);
    connections.close();
    connections.wait().await;
    tell_all_counted(&hall.heard, &hall.far_end.topics.streams, &hall.sink).await;
}

impl Hall {
    /// Tells a finding to all who listen now.
    fn tell(&self, bench: BenchId, json: String) {
        let topic = self.far_end.topics.finding(&bench);
        let mut packet = BytesMut::new();
        match Publish::new(topic, QoS::AtMostOnce, json).write(&mut packet) {
            Ok(_) => {
                let packet = packet.freeze();
                if self.news.send(Arc::new(News { bench, packet })).is_err() {
                    tracing::trace!("no lamp listens");
                }
            }
            Err(error) => tracing::error!(%error, "a finding cannot be put into a packet"),
        }
    }
}
