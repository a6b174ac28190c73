//! The live stream. Every event carries the whole truth of a bench, so one that was missed is missed
//! by nobody: a browser that was away gets the newest at once and is exactly right.

use std::convert::Infallible;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use shared_types::BenchId;
use tokio::sync::OwnedSemaphorePermit;
use tokio_stream::wrappers::WatchStream;
use tokio_stream::{Stream, StreamExt};
use tokio_util::sync::WaitForCancellationFutureOwned;

use crate::problem::Problem;
use crate::state::{App, CLIENTS_MAX};

/// Between signs of life. The page calls the daemon lost after 25 seconds of silence: two missed.
const ALIVE_EVERY: Duration = Duration::from_secs(10);

/// The stream of one bench.
pub(crate) fn stream(app: &Arc<App>, bench: BenchId) -> Response {
    let Ok(seat) = Arc::clone(&app.clients).try_acquire_owned() else {
        return Problem::stopped(format!(
            "{CLIENTS_MAX} screens are open, which is the most served at once; close one"
        ))
        .into_response();
    };
    let drawing = Arc::clone(app);
    let events = WatchStream::new(app.version.subscribe())
        .filter_map(move |_| drawing.drawn(&bench))
        .map(|drawn| {
            // A carriage return would end a line of the stream; as a reference it is the same HTML.
            let html = drawn.html.replace('\r', "&#13;");
            Ok(Event::default()
                .id(drawn.seq.to_string())
                .retry(Duration::from_secs(2))
                .data(html))
        });
    let events = Seated {
        events: Box::pin(events),
        stop: Box::pin(app.stop.clone().cancelled_owned()),
        _seat: seat,
    };
    // A named event, not a comment: the browser's reader hides comments from the page, which then
    // could not tell a quiet bench from a dead line.
    let alive = KeepAlive::new()
        .interval(ALIVE_EVERY)
        .event(Event::default().event("alive").data("."));
    Sse::new(events).keep_alive(alive).into_response()
}

type Events = Pin<Box<dyn Stream<Item = Result<Event, Infallible>> + Send>>;

/// Ends with the daemon, without which an open stream would hold its stop up for ever, and gives its
/// seat back when the client goes.
struct Seated {
    events: Events,
    stop: Pin<Box<WaitForCancellationFutureOwned>>,
    _seat: OwnedSemaphorePermit,
}

impl Stream for Seated {
    type Item = Result<Event, Infallible>;

    fn poll_next(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        if self.stop.as_mut().poll(cx).is_ready() {
            return Poll::Ready(None);
        }
        self.events.as_mut().poll_next(cx)
    }
}
