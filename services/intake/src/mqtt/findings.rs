//! Findings go out by a connection of their own.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use rumqttc::{AsyncClient, Event, EventLoop, Packet, QoS};
use shared_types::BenchId;
use tokio::sync::mpsc;

use super::{Broker, Task};

/// Findings on their way to the broker. A lamp wants the newest: more than this would show it the
/// past.
const QUEUE_MAX: usize = 16;
const DELAY_FIRST: Duration = Duration::from_millis(200);
/// As for the connection readings come by.
const DELAY_MAX: Duration = Duration::from_secs(5);

/// Publishes findings until no more can come. Those that come while the broker is
/// away, or faster than it takes them, are dropped.
pub(super) async fn publish(broker: Broker, mut findings: mpsc::Receiver<(BenchId, String)>) {
    let (client, connection) = AsyncClient::new(broker.findings_options(), QUEUE_MAX);
    let up = Arc::new(AtomicBool::new(false));
    let _polling = Task::new(poll(connection, up.clone()));
    while let Some((bench, json)) = findings.recv().await {
        if !up.load(Ordering::Relaxed) {
            tracing::debug!(%bench, "finding not published: the broker is away");
            continue;
        }
        let topic = broker.topics.finding(&bench);
        if let Err(error) = client.try_publish(topic, QoS::AtLeastOnce, false, json) {
            tracing::debug!(%bench, %error, "finding not published: too many at once");
        }
    }
}

async fn poll(mut connection: EventLoop, up: Arc<AtomicBool>) {
    let mut delay = DELAY_FIRST;
    loop {
        match connection.poll().await {
            Ok(Event::Incoming(Packet::ConnAck(_))) => {
                up.store(true, Ordering::Relaxed);
            }
            Ok(Event::Incoming(Packet::PubAck(_))) => delay = DELAY_FIRST,
            Ok(_) => {}
            Err(error) => {
                up.store(false, Ordering::Relaxed);
                tracing::debug!(%error, "no connection for findings");
                // What was under way is the past by the time the broker is back. The library also
                // keeps a publish whose packet id was taken, and would wait for it for ever.
                connection.clean();
                connection.pending.clear();
                connection.state.collision = None;
                connection.state.events.clear();
                tokio::time::sleep(delay).await;
                delay = DELAY_MAX.min(delay * 2);
            }
        }
    }
}
