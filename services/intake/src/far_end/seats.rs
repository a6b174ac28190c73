//! One connection for each client: who comes again takes the place of the older one.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use tokio_util::sync::CancellationToken;

/// A client: ids are its user's own, so that nobody can throw out another user's client.
type Client = (String, String);

/// The clients that are connected.
#[derive(Debug, Default)]
pub(super) struct Seats {
    taken: Mutex<HashMap<Client, Tokens>>,
}

#[derive(Clone, Debug, Default)]
struct Tokens {
    leave: CancellationToken,
    left: CancellationToken,
}

impl Seats {
    /// Takes the client's seat. Whoever had it is told to leave and has left when this returns: a will of
    /// theirs comes before anything the new connection says. A client without an id has no seat to lose.
    pub(super) async fn take(self: &Arc<Self>, user: &str, client_id: &str) -> Seat {
        let tokens = Tokens::default();
        if client_id.is_empty() {
            return Seat {
                seats: Arc::clone(self),
                client: None,
                tokens,
            };
        }
        let client = (user.to_owned(), client_id.to_owned());
        let before = {
            let mut taken = self.lock();
            let before = taken.insert(client.clone(), tokens.clone());
            // Told while nobody else can look: from here on the seat is ours to give up.
            if let Some(before) = &before {
                before.leave.cancel();
            }
            before
        };
        let seat = Seat {
            seats: Arc::clone(self),
            client: Some(client),
            tokens,
        };
        if let Some(before) = before {
            before.left.cancelled().await;
        }
        seat
    }

    fn lock(&self) -> MutexGuard<'_, HashMap<Client, Tokens>> {
        self.taken.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// A connection's seat, free again once dropped.
#[derive(Debug)]
pub(super) struct Seat {
    seats: Arc<Seats>,
    client: Option<Client>,
    tokens: Tokens,
}

impl Seat {
    /// Returns once another connection has taken the seat.
    pub(super) async fn taken(&self) {
        self.tokens.leave.cancelled().await;
    }
}

impl Drop for Seat {
    fn drop(&mut self) {
        if let Some(client) = &self.client {
            let mut taken = self.seats.lock();
            // Where another has it already, it stays theirs: they told us to leave.
            if !self.tokens.leave.is_cancelled() {
                taken.remove(client);
            }
        }
        self.tokens.left.cancel();
    }
}
