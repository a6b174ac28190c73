//! How warm it is at a bench, as a person reads it off a thermometer.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use shared_types::{Event, Temperature, TemperatureOf};

use super::taken::{self, needed, parsed};
use crate::act::act as hand_in;
use crate::problem::Problem;
use crate::state::App;
use crate::wanted::{Fields, text, written};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Warm {
    #[serde(default, deserialize_with = "text")]
    bench: Option<String>,
    /// With its unit.
    #[serde(default, deserialize_with = "text")]
    temperature: Option<String>,
    /// Of the piece, of the gauge, or of both, as without it.
    #[serde(default, deserialize_with = "text")]
    of: Option<String>,
}

pub(super) async fn act(
    State(app): State<Arc<App>>,
    Fields { fields, asked }: Fields<Warm>,
) -> Result<Response, Problem> {
    let bench = taken::bench(&app, fields.bench.as_deref())?;
    let text = needed("temperature", fields.temperature)?;
    let value = parsed::<Temperature>("temperature", &text)?;
    let of = match &fields.of {
        // A word's error says itself what was found.
        Some(of) => of
            .parse::<TemperatureOf>()
            .map_err(|error| Problem::fields(format!("of: {error}")))?,
        None => TemperatureOf::Both,
    };
    let event = Event::Temperature {
        bench: bench.clone(),
        of,
        value,
        sensor: None,
    };
    let seq = hand_in(&app, event, None).await?;
    Ok(written(asked, seq, Some(&bench)))
}
