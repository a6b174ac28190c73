//! The bridge's side: readings with ids, QoS 1.

use std::time::Duration;

use oddleg_tests::broker::{BRIDGE, Broker};
use rumqttc::{AsyncClient, Event, Packet, QoS};
use tokio::runtime::Runtime;

fn payload(number: u64) -> String {
    format!("{{\"value\":\"290.0\",\"unit\":\"mm\",\"id\":\"0192f0c4-bench-{number:08}\"}}")
}

fn topic() -> String {
    format!("oddleg/gauges/{BRIDGE}/reading")
}

/// A function that publishes one reading each time it is called, over a connection that stays open.
pub(crate) fn over_mqtt(broker: &Broker, expected: u64) -> impl FnMut(u64) {
    let runtime = runtime();
    let (client, mut connection) = broker.client(BRIDGE, "bench-bridge");
    runtime.spawn(async move {
        let mut acknowledged = 0;
        while acknowledged < expected {
            match connection.poll().await {
                Ok(Event::Incoming(Packet::PubAck(_))) => acknowledged += 1,
                Ok(_) => {}
                Err(_) => tokio::time::sleep(Duration::from_millis(50)).await,
            }
        }
    });
    move |number| runtime.block_on(publish(&client, number))
}

async fn publish(client: &AsyncClient, number: u64) {
    client
        .publish(topic(), QoS::AtLeastOnce, false, payload(number))
        .await
        .unwrap();
}

/// Publishes `count` readings as fast as the broker takes them; returns when it has acknowledged them all.
pub(crate) fn many(broker: &Broker, count: u64) {
    let runtime = runtime();
    let (client, mut connection) = broker.client(BRIDGE, "bench-bridge");
    runtime.block_on(async move {
        tokio::spawn(async move {
            for number in 0..count {
                publish(&client, number).await;
            }
            // Kept until all is sent; the loop below ends the connection.
            std::future::pending::<()>().await;
        });
        let mut acknowledged = 0;
        while acknowledged < count {
            if let Event::Incoming(Packet::PubAck(_)) = connection.poll().await.unwrap() {
                acknowledged += 1;
            }
        }
    });
}

fn runtime() -> Runtime {
    tokio::runtime::Builder::new_multi_thread()
        .worker_threads(1)
        .enable_all()
        .build()
        .unwrap()
}
