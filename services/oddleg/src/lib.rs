//! The only crate that knows the whole: a build's configuration, the wiring of the rooms, signals, the
//! life of the process and the command line.

mod capture;
mod clock;
pub mod command;
pub mod config;
pub mod demo;
mod doors;
pub mod findings;
mod replay;
mod serial_ports;
pub mod serve;
mod signals;
pub mod spine;
