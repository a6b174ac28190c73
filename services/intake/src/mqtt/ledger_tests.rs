use std::collections::{BTreeSet, VecDeque};

use proptest::prelude::*;

use super::{Ledger, Ticket};

fn due(ledger: &mut Ledger) -> Vec<u16> {
    let mut out = Vec::new();
    while let Some(packet) = ledger.due() {
        ledger.acknowledged();
        out.push(packet);
    }
    out
}

#[test]
fn messages_are_acknowledged_in_the_order_they_came_however_they_are_told() {
    let mut ledger = Ledger::default();
    let tickets: Vec<Ticket> = [7, 3, 9].map(|packet| ledger.received(packet)).into();
    ledger.told(tickets[2]);
    assert_eq!(due(&mut ledger), Vec::<u16>::new());
    ledger.told(tickets[0]);
    assert_eq!(due(&mut ledger), [7]);
    ledger.told(tickets[1]);
    assert_eq!(due(&mut ledger), [3, 9]);
    assert!(ledger.is_settled());
}

#[test]
fn what_is_told_of_an_older_connection_acknowledges_nothing() {
    let mut ledger = Ledger::default();
    let old = ledger.received(1);
    ledger.next_epoch();
    let new = ledger.received(1);
    ledger.told(old);
    assert_eq!(due(&mut ledger), Vec::<u16>::new());
    ledger.told(new);
    assert_eq!(due(&mut ledger), [1]);
}

/// A broker with a window of two that numbers packets afresh on each connection, as the protocol
/// allows, and an outside account of what was committed.
struct World {
    ledger: Ledger,
    queue: VecDeque<u32>,
    in_flight: Vec<(u16, u32)>,
    next_packet: u16,
    handed_in: Vec<(Ticket, u32)>,
    committed: BTreeSet<u32>,
}

impl World {
    fn new(blind_to_epochs: bool, messages: u32) -> Self {
        Self {
            ledger: Ledger {
                blind_to_epochs,
                ..Ledger::default()
            },
            queue: (0..messages).collect(),
            in_flight: Vec::new(),
            next_packet: 1,
            handed_in: Vec::new(),
            committed: BTreeSet::new(),
        }
    }

    fn deliver(&mut self) {
        if self.in_flight.len() < 2
            && let Some(message) = self.queue.pop_front()
        {
            let packet = self.next_packet;
            self.next_packet += 1;
            self.in_flight.push((packet, message));
            let ticket = self.ledger.received(packet);
            self.handed_in.push((ticket, message));
        }
    }

    /// What was not acknowledged goes behind the queue, so that the ids it had go to others.
    fn reconnect(&mut self) {
        self.ledger.next_epoch();
        for (_, message) in self.in_flight.drain(..) {
            self.queue.push_back(message);
        }
        self.next_packet = 1;
    }

    fn commit(&mut self, which: usize) {
        if self.handed_in.is_empty() {
            return;
        }
        let (ticket, message) = self.handed_in.remove(which % self.handed_in.len());
        self.committed.insert(message);
        self.ledger.told(ticket);
        for packet in due(&mut self.ledger) {
            self.in_flight.retain(|(sent, _)| *sent != packet);
        }
    }

    /// The process dies here: only what the broker still holds or what is committed survives.
    fn lost(&self, messages: u32) -> Vec<u32> {
        let held: BTreeSet<u32> = self
            .queue
            .iter()
            .copied()
            .chain(self.in_flight.iter().map(|(_, message)| *message))
            .collect();
        (0..messages)
            .filter(|m| !self.committed.contains(m) && !held.contains(m))
            .collect()
    }
}

/// Packet 1 is committed late, after a reconnect gave the id to another message.
fn late_commit(blind_to_epochs: bool) -> Vec<u32> {
    let mut world = World::new(blind_to_epochs, 4);
    world.deliver();
    world.deliver();
    world.reconnect();
    world.deliver();
    world.commit(0);
    world.lost(4)
}

#[test]
fn a_commit_after_a_reconnect_loses_no_other_message() {
    assert_eq!(late_commit(false), Vec::<u32>::new());
}

#[test]
fn twin_without_epochs_a_commit_after_a_reconnect_loses_another_message() {
    assert_eq!(late_commit(true), [2]);
}

proptest! {
    #[test]
    fn nothing_is_lost_whatever_the_order_of_deliveries_commits_and_reconnects(
        steps in proptest::collection::vec((0..8_u8, 0..5_usize), 0..60)
    ) {
        let mut world = World::new(false, 12);
        for (step, which) in steps {
            match step {
                0 => world.reconnect(),
                1..=4 => world.deliver(),
                _ => world.commit(which),
            }
            prop_assert_eq!(world.lost(12), Vec::<u32>::new());
        }
    }
}
