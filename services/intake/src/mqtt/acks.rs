//! The task that acknowledges. It is not the task that polls: the queue to the connection may be
//! full, and only polling empties it.

use std::sync::{Arc, Mutex};
use std::time::Duration;

use rumqttc::{AsyncClient, ClientError, Publish, QoS};
use tokio::sync::mpsc;

use super::ledger::{Ledger, Ticket, lock};

/// Room in the queue to the connection: all that the shipped broker sends without an acknowledgement
/// (1000) may fall due at once, after one commit.
pub(super) const REQUESTS_MAX: usize = 1024;
/// A full queue is worked off within a round trip or two on a local network.
const FULL_WAIT: Duration = Duration::from_millis(2);

/// Acknowledges what is told, until nobody can tell any more.
pub(super) async fn acknowledge(
    client: AsyncClient,
    ledger: Arc<Mutex<Ledger>>,
    mut outcomes: mpsc::UnboundedReceiver<Ticket>,
) {
    while let Some(ticket) = outcomes.recv().await {
        {
            let mut ledger = lock(&ledger);
            ledger.told(ticket);
            while let Ok(ticket) = outcomes.try_recv() {
                ledger.told(ticket);
            }
        }
        while !all_due(&client, &ledger) {
            tokio::time::sleep(FULL_WAIT).await;
        }
    }
}

/// Queues every acknowledgement that is due; false where the queue is full. They are queued under
/// the ledger's lock: whoever raises the epoch can then throw away all that were queued before. It is
/// taken once for all of them, which costs the polling task less than a wait for each.
fn all_due(client: &AsyncClient, ledger: &Mutex<Ledger>) -> bool {
    let mut ledger = lock(ledger);
    loop {
        let Some(packet) = ledger.due() else {
            return true;
        };
        let mut publish = Publish::new("", QoS::AtLeastOnce, Vec::new());
        publish.pkid = packet;
        match client.try_ack(&publish) {
            Ok(()) => ledger.acknowledged(),
            Err(ClientError::TryRequest(_) | ClientError::Request(_)) => return false,
        }
    }
}
