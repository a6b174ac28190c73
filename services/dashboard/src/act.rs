//! A person's act: handed to the spine, answered by its receipt.

use std::time::Duration;

use shared_types::{Event, Outcome, Receipt, Seq, Submission};
use tokio::sync::oneshot;
use tokio::time::timeout;

use crate::clock::now_us;
use crate::problem::Problem;
use crate::state::App;

/// For the commit. It takes a millisecond; a disk that needs ten seconds is in trouble.
const COMMIT_WAIT_MAX: Duration = Duration::from_secs(10);

/// For the screen to have what was just committed, so that the page a form leads back to shows it.
const SHOWN_WAIT_MAX: Duration = Duration::from_secs(2);

/// Hands `event` in and waits for its commit.
pub(crate) async fn act(app: &App, event: Event, key: Option<String>) -> Result<Seq, Problem> {
    let (tell, told) = oneshot::channel();
    let submission = Submission {
        at_us: now_us(),
        event,
        key,
        // Nobody listens any more where the browser has gone: the entry stands all the same.
        receipt: Receipt::new(move |outcome| drop(tell.send(outcome))),
    };
    match timeout(COMMIT_WAIT_MAX, app.sink.send(submission)).await {
        Ok(Ok(())) => {}
        Ok(Err(_closed)) => {
            return Err(Problem::stopped(
                "the history's writer has stopped; nothing was written; start oddleg again",
            ));
        }
        Err(_elapsed) => {
            return Err(Problem::stopped(
                "the queue into the history was full for ten seconds; nothing was written; try again",
            ));
        }
    }
    let seq = match timeout(COMMIT_WAIT_MAX, told).await {
        Ok(Ok(Outcome::Committed(seq) | Outcome::Known(seq))) => seq,
        Ok(Ok(Outcome::Refused(refusal))) => return Err(refusal.into()),
        Ok(Err(_)) | Err(_) => {
            return Err(Problem::stopped(
                "no receipt came from the history's writer; it is not known whether this was written: \
                 look at the bench before doing it again",
            ));
        }
    };
    shown(app, seq).await;
    Ok(seq)
}

/// Waits for the follower. Too late is no failure: the stream brings it.
async fn shown(app: &App, seq: Seq) {
    let mut version = app.version.subscribe();
    let there = async {
        while app.shop().seq < seq {
            if version.changed().await.is_err() {
                break;
            }
        }
    };
    if timeout(SHOWN_WAIT_MAX, there).await.is_err() {
        tracing::debug!("entry {seq} is committed and not on the screen yet");
    }
}
