//! MQTT: readings come in through a broker, findings go out.
//!
//! Four tasks. One polls the connection and does nothing that could wait for anything else of
//! ours; one hands messages to the spine; one acknowledges, after the commit, in the order of
//! reception and only on the connection a message came by; one publishes findings through a
//! connection of its own, so that a full window of findings never holds up an acknowledgement.

mod acks;
mod broker;
mod findings;
mod garble;
pub(crate) mod heard;
pub(crate) mod ledger;
mod link;
pub(crate) mod message;
mod played;
mod reception;
mod rfc3339;
pub(crate) mod sensor;
pub mod streams;
mod topics;

use std::sync::{Arc, Mutex};
use std::time::Duration;

use rumqttc::AsyncClient;
use shared_types::{BenchId, Submission};
use tokio::sync::{mpsc, watch};
use tokio::task::JoinHandle;
use tokio_util::sync::CancellationToken;

pub use self::broker::{Broker, INFLIGHT_MAX, PACKET_BYTES_MAX, TlsSettings};
use self::heard::Heard;
use self::ledger::Ledger;
pub use self::link::Link;
pub use self::played::Played;
use self::reception::Reception;
pub use self::sensor::Sensor;
use self::streams::STORED_MAX;
pub use self::streams::Streams;
pub use self::topics::Topics;
use crate::Sink;
use crate::clock::now_us;

/// How long an orderly stop waits for what was handed in to be committed and acknowledged. What is
/// not by then is delivered again at the next start.
const GRACE: Duration = Duration::from_secs(2);
/// A gauge that was not garbled for this long has ended its flood: one kept each half second comes before.
const COUNTED_QUIET_US: i64 = 1_000_000;
/// How often it is looked for such.
pub(crate) const COUNTED_LOOK: Duration = Duration::from_secs(1);
/// How often an orderly stop looks whether all is settled.
const SETTLED_LOOK: Duration = Duration::from_millis(5);

/// Listens to a broker until `stop`, or until nobody takes submissions any more. `findings` are
/// published as they come; those that come while the broker is away are dropped (they drive a lamp,
/// the history has them). `link` always says how the connection is.
pub async fn run(
    broker: Broker,
    sink: Sink,
    findings: mpsc::Receiver<(BenchId, String)>,
    link: watch::Sender<Link>,
    stop: CancellationToken,
) {
    let (client, connection) = AsyncClient::new(broker.options(), acks::REQUESTS_MAX);
    let ledger = Arc::new(Mutex::new(Ledger::default()));
    let (told, outcomes) = mpsc::unbounded_channel();
    let (received, waiting) = mpsc::channel(broker.inflight_max.max(STORED_MAX));

    let _speaking = Task::new(findings::publish(broker.clone(), findings));
    let _acknowledging = Task::new(acks::acknowledge(client.clone(), ledger.clone(), outcomes));
    let mut handing_in = Task::new(hand_in(waiting, sink.clone(), stop.clone()));
    let heard = Arc::default();
    let streams = broker.topics.streams.clone();
    let reception = Reception::new(
        broker,
        client.clone(),
        ledger.clone(),
        told,
        received,
        link,
        Arc::clone(&heard),
    );
    let mut receiving = Task::new(reception.run(connection, stop.clone()));

    let mut looks = tokio::time::interval(COUNTED_LOOK);
    loop {
        tokio::select! {
            () = stop.cancelled() => break,
            () = receiving.ended() => return,
            _ = looks.tick() => tell_counted(&heard, &streams, &sink).await,
        }
    }
    // What is in our hands goes to the spine, is committed and acknowledged; then we leave.
    let settled = async {
        handing_in.ended().await;
        tell_all_counted(&heard, &streams, &sink).await;
        while !ledger::lock(&ledger).is_settled() {
            tokio::time::sleep(SETTLED_LOOK).await;
        }
        // The request queue is worked off in order: acknowledgements, then the farewell.
        if client.disconnect().await.is_ok() {
            receiving.ended().await;
        }
    };
    if tokio::time::timeout(GRACE, settled).await.is_err() {
        tracing::debug!("leaving the broker with messages open, it will deliver them again");
    }
}

/// Hands in what was only counted of gauges that are quiet now. It needs no acknowledgement: each message had
/// its own.
pub(crate) async fn tell_counted(heard: &Mutex<Heard>, streams: &Streams, sink: &Sink) {
    let since_us = now_us().saturating_sub(COUNTED_QUIET_US);
    let mut counted = heard::lock(heard).counted(since_us);
    streams.quiet(since_us, &mut counted);
    streams::hand_in(counted, sink).await;
}

/// Hands in all that was only counted.
pub(crate) async fn tell_all_counted(heard: &Mutex<Heard>, streams: &Streams, sink: &Sink) {
    let mut counted = heard::lock(heard).counted(i64::MAX);
    streams.end(now_us(), &mut counted);
    streams::hand_in(counted, sink).await;
}

/// A task of ours: it ends with whoever holds it.
struct Task(JoinHandle<()>);

impl Task {
    fn new(work: impl Future<Output = ()> + Send + 'static) -> Self {
        Self(tokio::spawn(work))
    }

    async fn ended(&mut self) {
        if let Err(error) = (&mut self.0).await {
            tracing::error!(%error, "a task of the broker's connection broke");
        }
    }
}

impl Drop for Task {
    fn drop(&mut self) {
        self.0.abort();
    }
}

/// Messages handed in between two looks at the stop.
const HAND_IN_MAX: usize = 64;

/// Hands messages to the spine, waiting while its queue is full.
async fn hand_in(mut waiting: mpsc::Receiver<Submission>, sink: Sink, stop: CancellationToken) {
    let mut taken = Vec::with_capacity(HAND_IN_MAX);
    loop {
        let count = tokio::select! {
            biased;
            () = stop.cancelled(), if !waiting.is_closed() => {
                waiting.close();
                continue;
            }
            count = waiting.recv_many(&mut taken, HAND_IN_MAX) => count,
        };
        if count == 0 {
            return;
        }
        for submission in taken.drain(..) {
            if sink.send(submission).await.is_err() {
                return;
            }
        }
    }
}
