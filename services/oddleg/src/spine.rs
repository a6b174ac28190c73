//! The spine: one thread, one writer. For each batch: inspect and apply each event in order, append all
//! of them in one transaction, commit, and only then tell each receipt and announce the newest entry.
//!
//! It is a plain loop over an iterator of batches: the channel in the daemon, a list in a replay.

use history::{HistoryError, Writer};
use inspection::Doubt;
use sha2::{Digest, Sha256};
use shared_types::{Entry, Event, Fact, Outcome, Receipt, Refusal, Seq, Shop, Submission};
use tokio::sync::mpsc;

/// Events waiting for the spine. A gauge that floods is slowed down here, and memory stays bounded.
pub const EVENTS_MAX: usize = 1024;

/// Most events in one transaction: large enough that the cost of a commit is shared, small enough that
/// the first of them waits a few milliseconds at most.
const BATCH_MAX: usize = 512;

/// The batches of a channel: what has arrived by the time the spine is ready, without a timer.
pub fn batches(mut events: mpsc::Receiver<Submission>) -> impl Iterator<Item = Vec<Submission>> {
    std::iter::from_fn(move || {
        let mut batch = vec![events.blocking_recv()?];
        while batch.len() < BATCH_MAX {
            match events.try_recv() {
                Ok(submission) => batch.push(submission),
                Err(_) => break,
            }
        }
        Some(batch)
    })
}

/// Runs until the batches end. Each committed batch is announced by the newest entry and the
/// entries of the batch, oldest first.
///
/// # Errors
/// The first failure to write. Nothing of that batch was acknowledged; the process is to stop, and the
/// next start finds in the history what was written after all.
pub fn run(
    batches: impl Iterator<Item = Vec<Submission>>,
    writer: &mut Writer,
    shop: &mut Shop,
    mut announce: impl FnMut(Seq, std::vec::Drain<'_, Entry>),
) -> Result<(), HistoryError> {
    let mut told: Vec<(Receipt, Outcome)> = Vec::new();
    let mut appended: Vec<Entry> = Vec::new();
    for batch in batches {
        writer.begin()?;
        for Submission {
            at_us,
            event,
            key,
            receipt,
        } in batch
        {
            let mut open = Open {
                writer: &mut *writer,
                shop: &mut *shop,
                appended: &mut appended,
            };
            let outcome = open.take(at_us, event, key)?;
            if cfg!(feature = "acknowledge-before-commit") {
                receipt.tell(outcome);
            } else {
                told.push((receipt, outcome));
            }
        }
        if cfg!(feature = "acknowledge-before-commit") {
            // The twin commits late, as a design with a batching timer or a slow card would: a killed
            // process loses only what it had not handed to the system yet.
            std::thread::sleep(std::time::Duration::from_millis(10));
        }
        writer.commit()?;
        for (receipt, outcome) in told.drain(..) {
            receipt.tell(outcome);
        }
        announce(writer.newest(), appended.drain(..));
    }
    Ok(())
}

/// The open batch and what it changes.
struct Open<'a> {
    writer: &'a mut Writer,
    shop: &'a mut Shop,
    /// The entries of the open batch.
    appended: &'a mut Vec<Entry>,
}

enum Tried {
    Appended(Seq),
    Refused(Refusal),
    KeyKnown(Event),
}

impl Open<'_> {
    fn take(
        &mut self,
        at_us: i64,
        event: Event,
        key: Option<String>,
    ) -> Result<Outcome, HistoryError> {
        // Nearly every key is new: it is tried first, and looked up only where it is not.
        match self.append(at_us, event, key.as_deref(), Doubt::None)? {
            Tried::Appended(seq) => Ok(Outcome::Committed(seq)),
            Tried::Refused(refusal) => match key {
                Some(key) if let Some(entry) = self.writer.known(&key)? => {
                    Ok(Outcome::Known(entry.seq))
                }
                _ => Ok(Outcome::Refused(refusal)),
            },
            Tried::KeyKnown(event) => {
                let key = key.expect("only an event with a key is passed over for it");
                self.again(at_us, event, &key)
            }
        }
    }

    /// A redelivery; or the same id for other bytes, which is kept under a key of its own, so that its
    /// redelivery is harmless too.
    fn again(&mut self, at_us: i64, event: Event, key: &str) -> Result<Outcome, HistoryError> {
        let before = self
            .writer
            .known(key)?
            .expect("an event is passed over only for a key that is there");
        if !is_other(&before.fact.event, &event) {
            return Ok(Outcome::Known(before.seq));
        }
        let key = format!("{key}#{}", fingerprint(&event));
        if let Some(entry) = self.writer.known(&key)? {
            return Ok(Outcome::Known(entry.seq));
        }
        Ok(
            match self.append(at_us, event, Some(&key), Doubt::IdReused)? {
                Tried::Appended(seq) => Outcome::Committed(seq),
                Tried::Refused(refusal) => Outcome::Refused(refusal),
                Tried::KeyKnown(_) => unreachable!("the key was looked up a moment ago"),
            },
        )
    }

    fn append(
        &mut self,
        at_us: i64,
        event: Event,
        key: Option<&str>,
        doubt: Doubt,
    ) -> Result<Tried, HistoryError> {
        let finding = match inspection::inspect(self.shop, at_us, &event, doubt) {
            Ok(finding) => finding,
            Err(refusal) => return Ok(Tried::Refused(refusal)),
        };
        let fact = Fact {
            at_us,
            event,
            finding,
        };
        let Some(seq) = self.writer.append_new(&fact, key)? else {
            return Ok(Tried::KeyKnown(fact.event));
        };
        let entry = Entry { seq, fact };
        self.shop.apply(&entry);
        self.appended.push(entry);
        Ok(Tried::Appended(seq))
    }
}

fn is_other(before: &Event, now: &Event) -> bool {
    matches!(
        (before, now),
        (Event::Observed(before), Event::Observed(now)) if before.raw != now.raw
    )
}

fn fingerprint(event: &Event) -> String {
    let raw: &[u8] = match event {
        Event::Observed(observation) => &observation.raw,
        _ => &[],
    };
    let hash = Sha256::digest(raw);
    hash.iter()
        .take(8)
        .map(|byte| format!("{byte:02x}"))
        .collect()
}
