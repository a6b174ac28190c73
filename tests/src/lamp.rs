//! A lamp on the bench: hears what oddleg publishes.

use std::sync::mpsc::{self, Receiver};
use std::time::Duration;

use rumqttc::{AsyncClient, Event, EventLoop, Packet, QoS};
use serde_json::Value;

use crate::broker::Broker;
use crate::door::Door;

/// A lamp that has subscribed.
#[derive(Debug)]
pub struct Lamp {
    heard: Receiver<Value>,
}

impl Lamp {
    /// A lamp of `bench`; returns once the broker has taken its subscription.
    #[must_use]
    pub fn at(broker: &Broker, bench: &str) -> Self {
        Self::of(broker.client("lamp", "lamp-1"), bench)
    }

    /// The same at oddleg's own door.
    #[must_use]
    pub fn near(door: &Door, bench: &str) -> Self {
        Self::of(door.client("lamp", "lamp-1"), bench)
    }

    fn of((client, mut connection): (AsyncClient, EventLoop), bench: &str) -> Self {
        let topic = format!("oddleg/benches/{bench}/finding");
        let (tell, heard) = mpsc::channel();
        let (ready, subscribed) = mpsc::channel();
        std::thread::spawn(move || {
            let runtime = tokio::runtime::Builder::new_current_thread()
                .enable_all()
                .build()
                .unwrap();
            runtime.block_on(async {
                client.subscribe(topic, QoS::AtLeastOnce).await.unwrap();
                // Until the broker or the test is gone.
                while let Ok(event) = connection.poll().await {
                    let told = match event {
                        Event::Incoming(Packet::SubAck(_)) => ready.send(()).is_ok(),
                        Event::Incoming(Packet::Publish(publish)) => tell
                            .send(serde_json::from_slice(&publish.payload).unwrap())
                            .is_ok(),
                        _ => true,
                    };
                    if !told {
                        return;
                    }
                }
            });
        });
        subscribed
            .recv_timeout(Duration::from_secs(30))
            .expect("the broker takes the lamp's subscription");
        Self { heard }
    }

    /// What was said last, waiting for `seq`; what is older is passed over.
    #[must_use]
    pub fn hears(&self, seq: u64) -> Value {
        loop {
            let said = self.heard.recv_timeout(Duration::from_secs(30));
            let said = said.unwrap_or_else(|_| panic!("the lamp never heard of entry {seq}"));
            if said["seq"] == seq {
                return said;
            }
        }
    }

    /// Whether anything has been said since.
    #[must_use]
    pub fn heard_something(&self) -> bool {
        self.heard.try_iter().count() > 0
    }
}
