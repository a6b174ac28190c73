//! Checking a gauge: which one, and against what. Its next reading is the check.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use shared_types::{Event, GaugeId, ZERO};

use super::taken::{self, needed, parsed};
use crate::act::act as hand_in;
use crate::problem::Problem;
use crate::state::App;
use crate::wanted::{Fields, text, written};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ToCheck {
    #[serde(default, deserialize_with = "text")]
    bench: Option<String>,
    #[serde(default, deserialize_with = "text")]
    gauge: Option<String>,
    /// The reference, by its name in the configuration.
    #[serde(default, deserialize_with = "text")]
    against: Option<String>,
    /// Anything: the check that was begun is left.
    #[serde(default, deserialize_with = "text")]
    leave: Option<String>,
}

pub(super) async fn act(
    State(app): State<Arc<App>>,
    Fields { fields, asked }: Fields<ToCheck>,
) -> Result<Response, Problem> {
    let bench = taken::bench(&app, fields.bench.as_deref())?;
    let gauge = parsed::<GaugeId>("gauge", &needed("gauge", fields.gauge)?)?;
    // Whoever begins a zero check has closed the jaws, and a stream makes no reading of closed jaws by itself.
    let ask = fields.against.as_deref() == Some(ZERO) && app.asking.can(&gauge);
    let event = match (fields.against, fields.leave) {
        (Some(reference), None) => Event::CheckBegun {
            bench: bench.clone(),
            gauge: gauge.clone(),
            reference,
        },
        (None, Some(_)) => Event::CheckLeft {
            bench: bench.clone(),
            gauge: gauge.clone(),
        },
        _ => {
            return Err(Problem::fields(
                "expected one of against, the name of a reference, and leave",
            ));
        }
    };
    let seq = hand_in(&app, event, None).await?;
    // After the commit, so that the answer finds the check begun.
    if ask && let Err(error) = app.asking.ask(&gauge) {
        // Begun all the same: it was asked a moment ago and has not answered yet.
        tracing::debug!(
            error,
            "a zero check was begun without asking the gauge again"
        );
    }
    Ok(written(asked, seq, Some(&bench)))
}
