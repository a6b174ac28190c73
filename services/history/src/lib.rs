//! The history: this crate alone knows SQL, the stored spelling of a fact, the Merkle log over the
//! stored bodies, the one writer and the many readers, and the checkpoints a record can be checked
//! against years later.
//!
//! What a checkpoint proves: given a checkpoint that was kept *elsewhere* (in a record handed over, on
//! paper, with an inspector), any edit, deletion, insertion, swap or cut of the entries it covers shows.
//! What it does not prove: that a reading was true when it was written; anything about entries after
//! the newest checkpoint kept elsewhere; and, because the signing key lies beside the database, the
//! signature says which build a checkpoint came from, not that nobody at that machine rewrote both.

mod checkpoint;
mod error;
mod fault;
mod marks;
mod merkle;
mod place;
mod reader;
mod replay;
mod schema;
mod signing;
mod spelling;
mod verify;
mod writer;

pub use checkpoint::{Checkpoint, NoteError, NoteSignature};
pub use error::HistoryError;
pub use fault::{BodiesFault, Fault, Faults, VerifyError, Whose};
pub use merkle::{Frontier, Hash, leaf_hash};
pub use reader::{Reader, StoredEntry};
pub use signing::{KeyProblem, VerifierKey};
pub use spelling::SpellingError;
pub use verify::{Verified, compare, verify, verify_bodies};
pub use writer::Writer;
