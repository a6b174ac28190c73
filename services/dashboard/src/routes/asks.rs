//! Asking a gauge that sends only when it is asked. What comes of it is a reading like any other.

use std::sync::Arc;

use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use serde::{Deserialize, Serialize};
use shared_types::GaugeId;

use super::taken::needed;
use crate::problem::Problem;
use crate::state::App;
use crate::wanted::{Asked, Fields, text};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Ask {
    #[serde(default, deserialize_with = "text")]
    gauge: Option<String>,
}

#[derive(Serialize)]
struct Sent {
    asked: GaugeId,
}

pub(super) async fn act(
    State(app): State<Arc<App>>,
    Fields { fields, asked }: Fields<Ask>,
) -> Result<Response, Problem> {
    let name = needed("gauge", fields.gauge)?;
    let known = GaugeId::new(&name)
        .ok()
        .and_then(|gauge| Some((app.shop().bench_of(&gauge)?.clone(), gauge)));
    let (bench, gauge) = known.ok_or_else(|| {
        Problem::not_found(format!("there is no gauge {name:?} in this configuration"))
    })?;
    app.asking.ask(&gauge).map_err(Problem::fields)?;
    // Nothing is written yet: the reading is, when it comes.
    Ok(match asked {
        Asked::Json => (StatusCode::ACCEPTED, axum::Json(Sent { asked: gauge })).into_response(),
        Asked::Form => Redirect::to(&format!("/bench/{bench}")).into_response(),
    })
}
