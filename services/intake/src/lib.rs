//! The only crate that knows bytes: serial ports, MQTT topics, framing and the dialects gauges
//! speak. Decoding is pure; only `serial`, `mqtt`, `far_end` and `silence` await or read a clock. What comes out are
//! submissions: an event, when it was received, and who waits for its commit.

mod ask;
mod clock;
mod desk;
mod dialect;
mod error;
mod explain;
pub mod far_end;
mod flood;
mod frame;
pub mod mqtt;
pub mod serial;
pub mod silence;
mod take;
mod typed;
mod voice;

pub use ask::{AskError, Asker, Asks};
pub use dialect::{BitOrder, Dialect, DigitOrder, Form, Pattern, PatternError, Value};
pub use error::IntakeError;
pub use explain::{Explanation, explain};
pub use frame::{FRAME_BYTES_MAX, Frame, Framer, Terminator};
pub use silence::Silence;
pub use take::{Mode, Settle};
pub use typed::typed;

/// Where submissions go: the bounded queue of the spine.
pub type Sink = tokio::sync::mpsc::Sender<shared_types::Submission>;
