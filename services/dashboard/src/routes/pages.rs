//! The pages and what they load.

use std::sync::Arc;

use axum::extract::State;
use axum::http::header;
use axum::response::{Html, IntoResponse, Response};
use serde::Deserialize;
use shared_types::BenchId;

use super::taken::{self, Asks, InPath};
use crate::page;
use crate::problem::Problem;
use crate::state::App;

#[derive(Deserialize)]
pub(super) struct WhichBench {
    bench: Option<String>,
}

pub(super) async fn root(
    State(app): State<Arc<App>>,
    Asks(which): Asks<WhichBench>,
) -> Result<Response, Problem> {
    if let Some(name) = &which.bench {
        return shown(&app, &taken::bench(&app, Some(name))?);
    }
    let several = app
        .shop()
        .setup
        .as_ref()
        .is_some_and(|setup| setup.benches.len() > 1);
    match app.first_bench() {
        Some(bench) if !several => shown(&app, &bench),
        _ => Ok(Html(page::benches(&app.shop()).into_string()).into_response()),
    }
}

pub(super) async fn bench(
    State(app): State<Arc<App>>,
    InPath(name): InPath,
) -> Result<Response, Problem> {
    shown(&app, &taken::bench(&app, Some(&name))?)
}

fn shown(app: &App, bench: &BenchId) -> Result<Response, Problem> {
    let drawn = app
        .drawn_now(bench)
        .ok_or_else(|| Problem::not_found(format!("there is no bench {bench}")))?;
    let shop = app.shop();
    Ok(Html(page::whole(&shop, bench, &drawn).into_string()).into_response())
}

/// Read again at every start: the module and the page must be of one version.
const FRESH: (header::HeaderName, &str) = (header::CACHE_CONTROL, "no-cache");

pub(super) async fn css() -> Response {
    let kind = (header::CONTENT_TYPE, "text/css; charset=utf-8");
    // The drawing's own rules first: what the page says of its own sections wins.
    let css = [
        drawing::CSS,
        include_str!("../assets/bench.css"),
        include_str!("../assets/learned.css"),
    ]
    .join("\n");
    ([kind, FRESH], css).into_response()
}

pub(super) async fn js() -> Response {
    let kind = (header::CONTENT_TYPE, "text/javascript; charset=utf-8");
    ([kind, FRESH], include_str!("../assets/bench.js")).into_response()
}

pub(super) async fn mark() -> Response {
    let kind = (header::CONTENT_TYPE, "image/svg+xml");
    ([kind, FRESH], include_str!("../assets/mark.svg")).into_response()
}
