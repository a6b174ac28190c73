//! The spine: one thread, one writer. For each batch: inspect and apply each event in order, append all
//! of them in one transaction, commit, and only then tell each receipt and announce the newest entry.
//!
//! It is a plain loop over an iterator of batches: the channel in the daemon, a list in a replay.

use history::{HistoryError, Writer};
use inspection::Doubt;
use sha2::{Digest, Sha256};
use shared_types::{Entry, Event, Fact, Outcome, Receipt, Seq, Shop, Submission};
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

/// Runs until the batches end.
///
/// # Errors
/// The first failure to write. Nothing of that batch was acknowledged; the process is to stop, and the
/// next start finds in the history what was written after all.
pub fn run(
    batches: impl Iterator<Item = Vec<Submission>>,
    writer: &mut Writer,
    shop: &mut Shop,
    mut announce: impl FnMut(Seq),
) -> Result<(), HistoryError> {
    let mut told: Vec<(Receipt, Outcome)> = Vec::new();
    for batch in batches {
        writer.begin()?;
        for Submission {
            at_us,
            event,
            key,
            receipt,
        } in batch
        {
            let outcome = take(writer, shop, at_us, event, key)?;
            if cfg!(feature = "acknowledge-before-commit") {
                receipt.tell(outcome);
            } else {
                told.push((receipt, outcome));
            }
        }
        writer.commit()?;
        for (receipt, outcome) in told.drain(..) {
            receipt.tell(outcome);
        }
        announce(writer.newest());
    }
    Ok(())
}

fn take(
    writer: &mut Writer,
    shop: &mut Shop,
    at_us: i64,
    event: Event,
    key: Option<String>,
) -> Result<Outcome, HistoryError> {
    let (key, doubt) = match key {
        None => (None, Doubt::None),
        Some(key) => match delivered(writer, &key, &event)? {
            Delivered::Never => (Some(key), Doubt::None),
            Delivered::As(seq) => return Ok(Outcome::Known(seq)),
            Delivered::OtherBytes => {
                // The same id for other bytes: kept under a key of its own, so that its redelivery is harmless too.
                let key = format!("{key}#{}", fingerprint(&event));
                match writer.known(&key)? {
                    Some(entry) => return Ok(Outcome::Known(entry.seq)),
                    None => (Some(key), Doubt::IdReused),
                }
            }
        },
    };
    let finding = match inspection::inspect(shop, &event, doubt) {
        Ok(finding) => finding,
        Err(refusal) => return Ok(Outcome::Refused(refusal)),
    };
    let fact = Fact {
        at_us,
        event,
        finding,
    };
    let seq = writer.append(&fact, key.as_deref())?;
    shop.apply(&Entry { seq, fact });
    Ok(Outcome::Committed(seq))
}

enum Delivered {
    Never,
    As(Seq),
    OtherBytes,
}

fn delivered(writer: &mut Writer, key: &str, event: &Event) -> Result<Delivered, HistoryError> {
    Ok(match writer.known(key)? {
        None => Delivered::Never,
        Some(entry) => match (&entry.fact.event, event) {
            (Event::Observed(before), Event::Observed(now)) if before.raw != now.raw => {
                Delivered::OtherBytes
            }
            _ => Delivered::As(entry.seq),
        },
    })
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
