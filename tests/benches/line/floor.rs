//! The floor: a bare subscriber that group-commits the same rows through the same client crate and broker and
//! acknowledges after the commit. No inspection, no screen, no Merkle tree beyond writing a leaf-sized blob.

use std::path::Path;

use rumqttc::{AsyncClient, Event, Incoming, MqttOptions, Publish, QoS};
use rusqlite::Connection;
use tokio::sync::mpsc;

/// The stored text of this benchmark's judged reading, to the byte, without its key: that stands in a column.
const BODY: &str = r#"{"t":1795600005000000,"e":{"observed":{"g":"bridge-1","v":"mqtt","b":"{\"value\":\"290.0\",\"unit\":\"mm\",\"id\":\"0192f0c4-bench-00000000\"}","d":["290.0","mm",{"pm":290000000000}]}},"f":{"judged":{"p":"P1/1","c":"blank.width","n":2,"v":"large"}}}"#;

pub(crate) fn run(port: u16, dir: &Path) {
    let database = Connection::open(dir.join("history.db")).unwrap();
    database
        .execute_batch(
            "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;
             CREATE TABLE IF NOT EXISTS entry(seq INTEGER PRIMARY KEY, key TEXT, leaf BLOB NOT NULL, body TEXT NOT NULL) STRICT;
             CREATE UNIQUE INDEX IF NOT EXISTS entry_key ON entry(key) WHERE key IS NOT NULL;",
        )
        .unwrap();
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .unwrap();
    let (send, receive) = mpsc::channel::<Publish>(1024);
    let (acknowledge, acknowledged) = mpsc::unbounded_channel::<Publish>();
    let mut options = MqttOptions::new("oddleg", "127.0.0.1", port);
    options
        .set_credentials("oddleg", "invented")
        .set_clean_session(false)
        .set_manual_acks(true);
    let (client, mut connection) = AsyncClient::new(options, 2048);
    std::thread::spawn(move || commit(&database, receive, &acknowledge));
    runtime.spawn(acks(client.clone(), acknowledged));
    let ready = dir.join("ready");
    runtime.block_on(async move {
        loop {
            match connection.poll().await.unwrap() {
                Event::Incoming(Incoming::ConnAck(_)) => {
                    client
                        .subscribe("oddleg/gauges/+/reading", QoS::AtLeastOnce)
                        .await
                        .unwrap();
                }
                Event::Incoming(Incoming::SubAck(_)) => std::fs::write(&ready, "").unwrap(),
                Event::Incoming(Incoming::Publish(publish)) => send.send(publish).await.unwrap(),
                _ => {}
            }
        }
    });
}

async fn acks(client: AsyncClient, mut acknowledged: mpsc::UnboundedReceiver<Publish>) {
    while let Some(publish) = acknowledged.recv().await {
        client.ack(&publish).await.unwrap();
    }
}

fn commit(
    database: &Connection,
    mut receive: mpsc::Receiver<Publish>,
    acknowledge: &mpsc::UnboundedSender<Publish>,
) {
    let leaf = [7_u8; 32];
    while let Some(first) = receive.blocking_recv() {
        let mut batch = vec![first];
        while batch.len() < 512 {
            match receive.try_recv() {
                Ok(publish) => batch.push(publish),
                Err(_) => break,
            }
        }
        database.execute_batch("BEGIN IMMEDIATE").unwrap();
        for publish in &batch {
            // The id, cut out where this benchmark's payloads have it.
            let text = std::str::from_utf8(&publish.payload).unwrap();
            let id = text.rsplit('"').nth(1).unwrap();
            let key = format!("mqtt:bridge-1:{id}");
            let mut insert = database
                .prepare_cached("INSERT OR IGNORE INTO entry(key, leaf, body) VALUES (?1, ?2, ?3)")
                .unwrap();
            insert.execute((key, leaf.as_slice(), BODY)).unwrap();
        }
        database.execute_batch("COMMIT").unwrap();
        for publish in batch {
            acknowledge.send(publish).unwrap();
        }
    }
}
