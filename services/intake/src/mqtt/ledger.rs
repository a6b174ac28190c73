//! Which received messages may be acknowledged now. Pure.
//!
//! A packet id means a message only on the connection it came by: after a reconnect the broker may
//! give it to another message, and an acknowledgement held over would make the broker forget that
//! one unseen. So each connection is an epoch, and what is told of an older epoch is dropped: the
//! broker delivers those messages again.

use std::collections::VecDeque;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// A received message's place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Ticket {
    epoch: u64,
    number: u64,
}

#[derive(Debug)]
struct Waiting {
    packet: u16,
    told: bool,
}

/// The messages of the present connection that are not acknowledged yet, in order of reception.
#[derive(Debug, Default)]
pub(crate) struct Ledger {
    epoch: u64,
    /// Number of the first one waiting.
    first: u64,
    waiting: VecDeque<Waiting>,
    #[cfg(test)]
    blind_to_epochs: bool,
}

impl Ledger {
    /// The connection is another one, or none.
    pub(crate) fn next_epoch(&mut self) {
        self.epoch += 1;
        #[cfg(test)]
        if self.blind_to_epochs {
            return;
        }
        self.first = 0;
        self.waiting.clear();
    }

    /// A message came that will want an acknowledgement.
    pub(crate) fn received(&mut self, packet: u16) -> Ticket {
        let number = self.first + self.waiting.len() as u64;
        self.waiting.push_back(Waiting {
            packet,
            told: false,
        });
        Ticket {
            epoch: self.epoch,
            number,
        }
    }

    /// The message is committed, or known to be.
    pub(crate) fn told(&mut self, ticket: Ticket) {
        if !self.is_of_this_connection(ticket) {
            return;
        }
        let index = ticket
            .number
            .checked_sub(self.first)
            .and_then(|index| usize::try_from(index).ok());
        if let Some(waiting) = index.and_then(|index| self.waiting.get_mut(index)) {
            waiting.told = true;
        }
    }

    /// The packet id to acknowledge next: the oldest one's, once it is told.
    pub(crate) fn due(&self) -> Option<u16> {
        self.waiting
            .front()
            .filter(|waiting| waiting.told)
            .map(|waiting| waiting.packet)
    }

    /// The one that was due is acknowledged.
    pub(crate) fn acknowledged(&mut self) {
        if self.waiting.pop_front().is_some() {
            self.first += 1;
        }
    }

    /// Whether everything received is acknowledged.
    pub(crate) fn is_settled(&self) -> bool {
        self.waiting.is_empty()
    }

    /// How many are not acknowledged yet.
    pub(crate) fn waiting(&self) -> usize {
        self.waiting.len()
    }

    #[cfg(not(test))]
    fn is_of_this_connection(&self, ticket: Ticket) -> bool {
        ticket.epoch == self.epoch
    }

    #[cfg(test)]
    fn is_of_this_connection(&self, ticket: Ticket) -> bool {
        ticket.epoch == self.epoch || self.blind_to_epochs
    }
}

/// The ledger, for a moment. Nothing that holds it can panic halfway through a change.
pub(crate) fn lock(ledger: &Mutex<Ledger>) -> MutexGuard<'_, Ledger> {
    ledger.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
#[path = "ledger_tests.rs"]
mod tests;
