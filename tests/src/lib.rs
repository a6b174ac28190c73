//! The outside of oddleg, for the tests that stand there: the real program as a process, the real broker,
//! real pseudo-terminals, and a person who speaks HTTP.

#![allow(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "a helper of tests: what cannot be set up here fails the test, and waiting needs a clock"
)]

pub mod bridge;
pub mod broker;
pub mod daemon;
pub mod door;
pub mod lamp;
pub mod person;
pub mod program;
pub mod seed;
pub mod wait;
pub mod workshop;

pub use oddleg::demo::Plugged;
