//! What one client says and is told, once it is known who it is.

use std::sync::Arc;

use bytes::BytesMut;
use rumqttc::QoS;
use rumqttc::mqttbytes::v4::{LastWill, Packet, PubAck, Publish, SubAck, UnsubAck};
use shared_types::Receipt;
use tokio::sync::broadcast::error::RecvError;
use tokio::sync::{broadcast, mpsc};

use super::hearing::Hearing;
use super::session::End;
use super::users::User;
use super::{Hall, News};
use crate::clock::now_us;
use crate::mqtt::PACKET_BYTES_MAX;
use crate::mqtt::heard::lock;
use crate::mqtt::ledger::{Ledger, Ticket};
use crate::mqtt::message::{Level, Message, address};
use crate::mqtt::sensor;

/// Messages of one client that wait for their commit. More would only wait in the spine's queue, where
/// others' readings wait too.
const OPEN_MAX: usize = 64;
/// Answers that wait for a client to take them; one that takes none is not listened to either.
const OUT_BYTES_MAX: usize = 4096;

/// A client, what it has said and what waits for it.
pub(super) struct Talk<'h> {
    pub(super) user: Arc<User>,
    /// Bytes on their way to it.
    pub(super) out: BytesMut,
    /// Messages that are committed, or known to be.
    pub(super) outcomes: mpsc::UnboundedReceiver<Ticket>,
    pub(super) news: broadcast::Receiver<Arc<News>>,
    hall: &'h Hall,
    will: Option<LastWill>,
    ledger: Ledger,
    told: mpsc::UnboundedSender<Ticket>,
    hearing: Hearing,
}

impl<'h> Talk<'h> {
    pub(super) fn new(hall: &'h Hall, user: Arc<User>, will: Option<LastWill>) -> Self {
        let (told, outcomes) = mpsc::unbounded_channel();
        Self {
            user,
            out: BytesMut::new(),
            outcomes,
            news: hall.news.subscribe(),
            hall,
            will,
            ledger: Ledger::default(),
            told,
            hearing: Hearing::default(),
        }
    }

    /// A will is the gauge's state and nothing else: a reading left behind would be none of now.
    pub(super) fn check_will(&mut self) -> Result<(), End> {
        match &self.will {
            Some(will) if !self.speaks_for(&will.topic, Some(Level::State)) => {
                Err(End::Will(self.will.take().expect("it is there").topic))
            }
            _ => Ok(()),
        }
    }

    /// Whether it may be listened to.
    pub(super) fn has_room(&self) -> bool {
        self.ledger.waiting() < OPEN_MAX && self.out.len() < OUT_BYTES_MAX
    }

    /// Whether everything is acknowledged.
    pub(super) fn is_settled(&self) -> bool {
        self.ledger.is_settled()
    }

    /// Takes in what it says. An error ends the connection.
    pub(super) async fn hear(&mut self, packet: Packet) -> Result<(), End> {
        match packet {
            Packet::Publish(publish) => self.publish(&publish).await?,
            Packet::Subscribe(subscribe) => {
                let topics = &self.hall.far_end.topics;
                let codes = if self.user.findings {
                    if self.hearing.is_deaf() {
                        self.news = self.hall.news.subscribe();
                    }
                    let benches = &self.hall.far_end.benches;
                    self.hearing.subscribe(topics, benches, &subscribe)
                } else {
                    Hearing::refuse(&subscribe)
                };
                self.say(&Packet::SubAck(SubAck::new(subscribe.pkid, codes)));
            }
            Packet::Unsubscribe(gone) => {
                self.hearing
                    .unsubscribe(&self.hall.far_end.topics, &gone.topics);
                self.say(&Packet::UnsubAck(UnsubAck::new(gone.pkid)));
            }
            Packet::PingReq => self.say(&Packet::PingResp),
            Packet::Disconnect => return Err(End::Farewell),
            _ => return Err(End::OutOfTurn),
        }
        Ok(())
    }

    async fn publish(&mut self, publish: &Publish) -> Result<(), End> {
        if !self.speaks_for(&publish.topic, None) {
            return Err(End::Impostor(publish.topic.clone()));
        }
        let topics = &self.hall.far_end.topics;
        let at_us = now_us();
        // Room first: what is taken note of is then handed in, whatever else happens.
        let most = topics.stored_max(&publish.topic);
        let Ok(rooms) = self.hall.sink.reserve_many(most).await else {
            return Err(End::Stopping);
        };
        let message = Message {
            topic: &publish.topic,
            payload: &publish.payload,
            // It asks us to keep the message for others; nothing is kept here, and it is as new as any.
            kept: false,
            again: publish.dup,
        };
        let told = lock(&self.hall.heard).event(topics, &message, at_us);
        let receipt = match publish.qos {
            QoS::AtMostOnce => Receipt::nobody(),
            _ => {
                let (ticket, told) = (self.ledger.received(publish.pkid), self.told.clone());
                Receipt::new(move |_| {
                    if told.send(ticket).is_err() {
                        tracing::debug!("committed after the MQTT client had left");
                    }
                })
            }
        };
        told.hand_in(at_us, receipt, rooms);
        Ok(())
    }

    /// Acknowledges what is due, in the order it came.
    pub(super) fn told(&mut self, ticket: Option<Ticket>) {
        let ticket = ticket.expect("we hold a sender ourselves");
        self.ledger.told(ticket);
        while let Ok(ticket) = self.outcomes.try_recv() {
            self.ledger.told(ticket);
        }
        while let Some(packet) = self.ledger.due() {
            self.ledger.acknowledged();
            self.say(&Packet::PubAck(PubAck::new(packet)));
        }
    }

    /// A lamp that still has something to take gets the newest once it has.
    pub(super) fn wants_news(&self) -> bool {
        self.out.is_empty() && !self.hearing.is_deaf()
    }

    pub(super) fn pass_on(&mut self, news: Result<Arc<News>, RecvError>) {
        match news {
            Ok(news) if self.hearing.hears(&news.bench) => self.out.extend_from_slice(&news.packet),
            Ok(_) => {}
            Err(RecvError::Lagged(missed)) => {
                tracing::debug!(
                    user = self.user.name,
                    missed,
                    "a lamp was too slow for findings"
                );
            }
            Err(RecvError::Closed) => self.hearing = Hearing::default(),
        }
    }

    pub(super) fn say(&mut self, packet: &Packet) {
        packet
            .write(&mut self.out, PACKET_BYTES_MAX)
            .expect("our answers are a few bytes");
    }

    /// Says its last will for it.
    pub(super) async fn leave_will(&mut self) {
        let Some(will) = self.will.take() else {
            return;
        };
        let topics = &self.hall.far_end.topics;
        let most = topics.stored_max(&will.topic);
        let Ok(rooms) = self.hall.sink.reserve_many(most).await else {
            return;
        };
        let message = Message {
            topic: &will.topic,
            payload: &will.message,
            kept: false,
            again: false,
        };
        let at_us = now_us();
        let told = lock(&self.hall.heard).event(topics, &message, at_us);
        told.hand_in(at_us, Receipt::nobody(), rooms);
    }

    fn speaks_for(&self, topic: &str, only: Option<Level>) -> bool {
        let root = &self.hall.far_end.topics.root;
        if only.is_none()
            && let Some(sensor) = sensor::address(root, topic)
        {
            return self.user.sensors.contains(&sensor);
        }
        address(root, topic).is_some_and(|(gauge, level)| {
            self.user.gauges.contains(&gauge) && only.is_none_or(|only| only == level)
        })
    }
}
