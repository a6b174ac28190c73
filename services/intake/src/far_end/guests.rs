//! How many may be at the door.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex, PoisonError};

use tokio::sync::{OwnedSemaphorePermit, Semaphore};

/// Most connections at once: a kit maker's floor of a thousand bridges and lamps, and room for those that
/// reconnect before their old connection is given up.
pub const CONNECTIONS_MAX: usize = 2048;
/// Most connections of one address that have not said who they are: a handful of bridges behind one
/// gateway after a power cut; what a stranger can hold open there is no more.
pub(super) const STRANGERS_PER_ADDRESS_MAX: usize = 64;
/// Most of them in all, so that strangers from many addresses leave room for those who are known.
const STRANGERS_MAX: usize = CONNECTIONS_MAX / 4;

/// Counts who is at the door.
#[derive(Debug)]
pub(super) struct Guests {
    places: Arc<Semaphore>,
    strangers: Arc<Mutex<HashMap<IpAddr, usize>>>,
}

impl Default for Guests {
    fn default() -> Self {
        Self {
            places: Arc::new(Semaphore::new(CONNECTIONS_MAX)),
            strangers: Arc::default(),
        }
    }
}

impl Guests {
    /// A place for a connection, and its place among the strangers; `None` where there is no room.
    pub(super) fn enter(&self, from: IpAddr) -> Option<(OwnedSemaphorePermit, Stranger)> {
        let place = Arc::clone(&self.places).try_acquire_owned().ok()?;
        let address = network(from);
        let mut strangers = self
            .strangers
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        let all: usize = strangers.values().sum();
        let here = strangers.entry(address).or_default();
        if *here >= STRANGERS_PER_ADDRESS_MAX || all >= STRANGERS_MAX {
            if *here == 0 {
                strangers.remove(&address);
            }
            return None;
        }
        *here += 1;
        let stranger = Stranger {
            strangers: Arc::clone(&self.strangers),
            address,
        };
        Some((place, stranger))
    }
}

/// A connection that has not said who it is; dropped once it has.
pub(super) struct Stranger {
    strangers: Arc<Mutex<HashMap<IpAddr, usize>>>,
    address: IpAddr,
}

impl Drop for Stranger {
    fn drop(&mut self) {
        let mut strangers = self
            .strangers
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        if let Some(here) = strangers.get_mut(&self.address) {
            *here -= 1;
            if *here == 0 {
                strangers.remove(&self.address);
            }
        }
    }
}

/// One machine has a whole /64 of IPv6 addresses to itself.
fn network(address: IpAddr) -> IpAddr {
    match address.to_canonical() {
        IpAddr::V6(six) => {
            let [a, b, c, d, ..] = six.segments();
            IpAddr::from([a, b, c, d, 0, 0, 0, 0])
        }
        four @ IpAddr::V4(_) => four,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strangers_of_one_address_are_few_and_take_nobody_elses_place() {
        let guests = Guests::default();
        let address = |last: u16| IpAddr::from([0x2001, 0xdb8, 0, 0, 0, 0, 0, last]);
        let mut inside: Vec<_> = (0..64)
            .map(|last| guests.enter(address(last)).unwrap())
            .collect();
        assert!(
            guests.enter(address(999)).is_none(),
            "one /64 is one machine"
        );
        assert!(guests.enter(IpAddr::from([192, 0, 2, 1])).is_some());
        // One of them has said who it is: its place among the strangers is free again.
        let (_place, stranger) = inside.pop().unwrap();
        drop(stranger);
        assert!(guests.enter(address(999)).is_some());
        drop(inside);
        assert!(guests.strangers.lock().unwrap().is_empty());
    }
}
