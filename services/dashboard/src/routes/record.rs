//! The build record, made when it is asked for.

use std::sync::Arc;

use axum::extract::State;
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
use tokio::sync::Semaphore;

use crate::problem::Problem;
use crate::state::App;

/// Records made at once. Each reads the whole history into memory.
static MAKING: Semaphore = Semaphore::const_new(1);

pub(super) async fn csv(State(app): State<Arc<App>>) -> Result<Response, Problem> {
    let made = make(app, build_record::csv).await?;
    Ok(answer(made, "text/csv; charset=utf-8", "csv"))
}

pub(super) async fn json(State(app): State<Arc<App>>) -> Result<Response, Problem> {
    let made = make(app, |source| build_record::json(source).into_bytes()).await?;
    Ok(answer(made, "application/json", "json"))
}

async fn make(
    app: Arc<App>,
    make: impl FnOnce(&build_record::Source<'_>) -> Vec<u8> + Send + 'static,
) -> Result<Vec<u8>, Problem> {
    let _turn = MAKING
        .acquire()
        .await
        .map_err(|_| Problem::stopped("the server is stopping"))?;
    tokio::task::spawn_blocking(move || {
        let (rows, checkpoint) = app.source.whole()?;
        Ok(make(&build_record::Source {
            rows: &rows,
            checkpoint: &checkpoint,
        }))
    })
    .await
    .map_err(|_| Problem::stopped("the server is stopping"))?
    .map_err(|error: history::HistoryError| {
        Problem::inside(format!("reading the history for the record: {error}"))
    })
}

fn answer(body: Vec<u8>, kind: &'static str, ending: &str) -> Response {
    let name = format!("attachment; filename=\"build-record.{ending}\"");
    let name = HeaderValue::from_str(&name).expect("the name is plain ASCII");
    (
        [
            (header::CONTENT_TYPE, HeaderValue::from_static(kind)),
            (header::CONTENT_DISPOSITION, name),
        ],
        body,
    )
        .into_response()
}
