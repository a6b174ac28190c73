//! The task that polls the connection: it takes in what comes and never waits for an
//! acknowledgement or for the spine (but for a broker that sends more unacknowledged messages than
//! it may).

use std::sync::{Arc, Mutex};
use std::time::Duration;

use rumqttc::{
    AsyncClient, ConnectionError, Event, EventLoop, Packet, Publish, QoS, StateError, SubAck,
    SubscribeFilter, SubscribeReasonCode, mqttbytes,
};
use shared_types::{Receipt, Submission};
use tokio::sync::{mpsc, watch};
use tokio_util::sync::CancellationToken;

use super::heard::{self, Heard};
use super::ledger::{Ledger, Ticket, lock};
use super::message::Message;
use super::{Broker, Link, PACKET_BYTES_MAX};
use crate::clock::now_us;

const DELAY_FIRST: Duration = Duration::from_millis(200);
/// A broker that is being restarted is back within seconds; a person at the bench should not have
/// to wait much longer than that for the connection.
const DELAY_MAX: Duration = Duration::from_secs(5);
/// A connection that held this long was a good one: the next delay begins small again. One that
/// breaks at once (two programs with one client id) is tried ever more slowly.
const GOOD_US: i64 = 10_000_000;
/// Largest packet taken in order to get past it: a broker with a higher limit than ours would send
/// the same one again at every connection, for ever.
const PACKET_PAST_MAX: usize = 16 * 1024 * 1024;

/// Nobody takes submissions any more.
struct Ended;

/// What the polling task knows.
pub(super) struct Reception {
    broker: Broker,
    client: AsyncClient,
    ledger: Arc<Mutex<Ledger>>,
    told: mpsc::UnboundedSender<Ticket>,
    received: mpsc::Sender<Submission>,
    link: watch::Sender<Link>,
    heard: Arc<Mutex<Heard>>,
    subscribe_due: bool,
    up_since_us: Option<i64>,
}

impl Reception {
    pub(super) fn new(
        broker: Broker,
        client: AsyncClient,
        ledger: Arc<Mutex<Ledger>>,
        told: mpsc::UnboundedSender<Ticket>,
        received: mpsc::Sender<Submission>,
        link: watch::Sender<Link>,
        heard: Arc<Mutex<Heard>>,
    ) -> Self {
        Self {
            broker,
            client,
            ledger,
            told,
            received,
            link,
            heard,
            subscribe_due: false,
            up_since_us: None,
        }
    }

    /// Polls until nobody takes submissions any more, or until `stop` and the end of the connection:
    /// after our farewell the broker closes it, and has then read every acknowledgement before it.
    pub(super) async fn run(mut self, mut connection: EventLoop, stop: CancellationToken) {
        let mut delay = DELAY_FIRST;
        self.show(Link::Connecting {
            why: "first connection".to_owned(),
        });
        loop {
            let taken = match connection.poll().await {
                Ok(event) => self.event(event, &stop).await,
                Err(error) => {
                    if self.was_good() {
                        delay = DELAY_FIRST;
                    }
                    let why = explain(&error);
                    tracing::warn!(%why, "no connection to the broker");
                    let taken = self.broken(&error, &mut connection, &stop).await;
                    self.show(Link::Down { why: why.clone() });
                    if stop.is_cancelled() {
                        return;
                    }
                    tokio::select! {
                        () = tokio::time::sleep(delay) => {}
                        () = stop.cancelled() => return,
                    }
                    delay = DELAY_MAX.min(delay * 2);
                    self.show(Link::Connecting { why });
                    taken
                }
            };
            if taken.is_err() {
                return;
            }
            if self.subscribe_due {
                self.subscribe();
            }
        }
    }

    async fn event(&mut self, event: Event, stop: &CancellationToken) -> Result<(), Ended> {
        match event {
            Event::Incoming(Packet::ConnAck(ack)) => {
                tracing::info!(
                    session_kept = ack.session_present,
                    "connected to the broker"
                );
                lock(&self.ledger).next_epoch();
                // Also where the broker kept the session: it is harmless, and brings the gauges'
                // kept states.
                self.subscribe_due = true;
                Ok(())
            }
            Event::Incoming(Packet::SubAck(ack)) => {
                self.subscribed(&ack);
                Ok(())
            }
            Event::Incoming(Packet::Publish(publish)) => self.message(&publish, stop).await,
            _ => Ok(()),
        }
    }

    /// The connection broke. Acknowledgements of the old one must not go out on the next: the epoch
    /// is raised first, and what was queued under the old one is thrown away after that.
    async fn broken(
        &mut self,
        error: &ConnectionError,
        connection: &mut EventLoop,
        stop: &CancellationToken,
    ) -> Result<(), Ended> {
        self.up_since_us = None;
        lock(&self.ledger).next_epoch();
        connection.clean();
        if let ConnectionError::MqttState(StateError::Deserialization(
            mqttbytes::Error::PayloadSizeLimitExceeded(bytes),
        )) = error
            && *bytes <= PACKET_PAST_MAX
        {
            let limit = PACKET_BYTES_MAX.max(bytes + 1);
            connection
                .mqtt_options
                .set_max_packet_size(limit, PACKET_BYTES_MAX);
        }
        // The library would hand out what it had read before the break after the reconnect, as if
        // of the new connection. The broker sends those again; only unprotected ones it does not.
        let left: Vec<Event> = connection.state.events.drain(..).collect();
        for event in left {
            if let Event::Incoming(Packet::Publish(publish)) = event
                && publish.qos == QoS::AtMostOnce
            {
                self.message(&publish, stop).await?;
            }
        }
        Ok(())
    }

    fn subscribe(&mut self) {
        let filter = |level: &str| {
            let topic = self.broker.topics.of_any_gauge(level);
            SubscribeFilter::new(topic, QoS::AtLeastOnce)
        };
        let mut filters = vec![filter("reading"), filter("state")];
        if !self.broker.topics.sensors.is_empty() {
            // Without protection: a temperature that waited at the broker while we were away says nothing of now.
            let topic = self.broker.topics.of_any_sensor();
            filters.push(SubscribeFilter::new(topic, QoS::AtMostOnce));
        }
        match self.client.try_subscribe_many(filters) {
            Ok(()) => self.subscribe_due = false,
            // The queue is full of acknowledgements: tried again after the next event.
            Err(error) => tracing::debug!(%error, "subscription postponed"),
        }
    }

    fn subscribed(&mut self, ack: &SubAck) {
        if ack.return_codes.contains(&SubscribeReasonCode::Failure) {
            let why = "subscribing to the gauges' topics: the broker refused, expected leave to read \
                       gauges/+/reading and gauges/+/state, and sensors/+/temperature where there are sensors; look at the broker's access list";
            tracing::error!(why);
            self.show(Link::Down {
                why: why.to_owned(),
            });
        } else {
            let since_us = now_us();
            self.up_since_us = Some(since_us);
            self.show(Link::Up { since_us });
        }
    }

    async fn message(&mut self, publish: &Publish, stop: &CancellationToken) -> Result<(), Ended> {
        if stop.is_cancelled() {
            // Not taken, not acknowledged: it is delivered again at the next start.
            return Ok(());
        }
        // Room first: what is taken note of is then handed in, whatever else happens.
        let most = self.broker.topics.stored_max(&publish.topic);
        let Ok(rooms) = self.received.reserve_many(most).await else {
            // Where we stop it is not acknowledged, and delivered again at the next start.
            return if stop.is_cancelled() {
                Ok(())
            } else {
                Err(Ended)
            };
        };
        let at_us = now_us();
        let message = Message {
            topic: &publish.topic,
            payload: &publish.payload,
            kept: publish.retain,
            again: publish.dup,
        };
        let told = heard::lock(&self.heard).event(&self.broker.topics, &message, at_us);
        told.hand_in(at_us, self.receipt(publish), rooms);
        Ok(())
    }

    /// Whatever became of it (committed, known before or refused), the broker may forget it. A
    /// receipt dropped uncalled acknowledges nothing.
    fn receipt(&self, publish: &Publish) -> Receipt {
        if publish.qos == QoS::AtMostOnce {
            return Receipt::nobody();
        }
        let ticket = lock(&self.ledger).received(publish.pkid);
        let told = self.told.clone();
        Receipt::new(move |_| {
            if told.send(ticket).is_err() {
                tracing::debug!("committed after the connection was given up");
            }
        })
    }

    fn was_good(&self) -> bool {
        self.up_since_us
            .is_some_and(|since_us| now_us().saturating_sub(since_us) >= GOOD_US)
    }

    fn show(&self, link: Link) {
        // Nobody may be watching; the next one who does sees the newest.
        self.link.send_replace(link);
    }
}

/// What a person can do about a broken connection, where it is not plain.
fn explain(error: &ConnectionError) -> String {
    match error {
        ConnectionError::ConnectionRefused(code) => format!(
            "connecting to the broker: it refused ({code:?}), expected it to know our user and password"
        ),
        ConnectionError::MqttState(StateError::Deserialization(
            mqttbytes::Error::PayloadSizeLimitExceeded(bytes),
        )) if *bytes > PACKET_PAST_MAX => format!(
            "receiving from the broker: a message of {bytes} bytes waits there, expected at most \
             {PACKET_BYTES_MAX}; set max_packet_size at the broker and delete the message"
        ),
        ConnectionError::MqttState(StateError::ConnectionAborted) => {
            "the broker closed the connection".to_owned()
        }
        other => chain(other),
    }
}

fn chain(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut source = error.source();
    while let Some(error) = source {
        let said = error.to_string();
        if !text.contains(&said) {
            text.push_str(": ");
            text.push_str(&said);
        }
        source = error.source();
    }
    text
}
