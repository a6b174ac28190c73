//! The history itself, the live stream, and whether all is well.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};
use shared_types::{Event, Finding, Seq};

use super::taken::{self, Asks};
use crate::clock::rfc3339;
use crate::problem::Problem;
use crate::state::App;

/// Entries in one answer: half a megabyte at most where every one is a reading.
const ENTRIES_MAX: usize = 1000;

/// Entries where the asker names no number.
const ENTRIES_USUAL: usize = 100;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct After {
    #[serde(default)]
    after: u64,
    limit: Option<usize>,
}

#[derive(Serialize)]
struct Entries {
    newest: Seq,
    entries: Vec<Listed>,
}

#[derive(Serialize)]
struct Listed {
    seq: Seq,
    at: String,
    event: Event,
    finding: Finding,
}

pub(super) async fn history(
    State(app): State<Arc<App>>,
    Asks(asked): Asks<After>,
) -> Result<Response, Problem> {
    let limit = asked.limit.unwrap_or(ENTRIES_USUAL).min(ENTRIES_MAX);
    let reading = Arc::clone(&app);
    let after = Seq(asked.after);
    let entries = tokio::task::spawn_blocking(move || reading.source.after(after, limit))
        .await
        .map_err(|_| Problem::stopped("the server is stopping"))?
        .map_err(|error| Problem::inside(format!("reading the history: {error}")))?;
    let entries = entries
        .into_iter()
        .map(|entry| Listed {
            seq: entry.seq,
            at: rfc3339(entry.fact.at_us),
            event: entry.fact.event,
            finding: entry.fact.finding,
        })
        .collect();
    let newest = app.shop().seq;
    Ok(Json(Entries { newest, entries }).into_response())
}

#[derive(Deserialize)]
pub(super) struct Which {
    bench: Option<String>,
}

pub(super) async fn live(
    State(app): State<Arc<App>>,
    Asks(which): Asks<Which>,
) -> Result<Response, Problem> {
    let bench = taken::bench(&app, which.bench.as_deref())?;
    Ok(crate::live::stream(&app, bench))
}

#[derive(Serialize)]
struct Health {
    status: &'static str,
    seq: Seq,
    #[serde(skip_serializing_if = "Option::is_none")]
    trouble: Option<String>,
}

/// Well means: an act can be handed in, and the screens are in step with the history.
pub(super) async fn healthz(State(app): State<Arc<App>>) -> Response {
    let trouble = app.trouble().or_else(|| {
        app.sink
            .is_closed()
            .then(|| "the history's writer has stopped".to_owned())
    });
    let (code, status) = match trouble {
        None => (StatusCode::OK, "ok"),
        Some(_) => (StatusCode::SERVICE_UNAVAILABLE, "trouble"),
    };
    let seq = app.shop().seq;
    (
        code,
        Json(Health {
            status,
            seq,
            trouble,
        }),
    )
        .into_response()
}
