//! A reading typed by a person, or by a keyboard wedge, as a gauge.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use shared_types::{Event, GaugeId};

use super::taken::needed;
use crate::act::act as hand_in;
use crate::problem::Problem;
use crate::state::App;
use crate::wanted::{Fields, text, written};

/// Longest typed text: what a gauge's line may be. Anything a person reads off a gauge is under 40.
const TEXT_BYTES_MAX: usize = 256;

/// Longest id: a UUID is 36, a bridge's running number with its name is under 100.
const ID_BYTES_MAX: usize = 128;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Typed {
    #[serde(default, deserialize_with = "text")]
    gauge: Option<String>,
    #[serde(default, deserialize_with = "text")]
    text: Option<String>,
    /// Any text the sender never uses again for this gauge: sending it twice then records it once.
    #[serde(default, deserialize_with = "text")]
    id: Option<String>,
}

pub(super) async fn act(
    State(app): State<Arc<App>>,
    Fields { fields, asked }: Fields<Typed>,
) -> Result<Response, Problem> {
    let name = needed("gauge", fields.gauge)?;
    let typed = needed("text", fields.text)?;
    short("text", &typed, TEXT_BYTES_MAX)?;
    let (gauge, bench) = {
        let shop = app.shop();
        let known = GaugeId::new(&name)
            .ok()
            .and_then(|gauge| Some((shop.bench_of(&gauge)?.clone(), gauge)));
        let (bench, gauge) = known.ok_or_else(|| {
            Problem::not_found(format!("there is no gauge {name:?} in this configuration"))
        })?;
        (gauge, bench)
    };
    let key = match &fields.id {
        Some(id) => {
            short("id", id, ID_BYTES_MAX)?;
            Some(format!("http:{gauge}:{id}"))
        }
        None => None,
    };
    let observation = (app.type_in)(&gauge, &typed);
    let seq = hand_in(&app, Event::Observed(observation), key).await?;
    Ok(written(asked, seq, Some(&bench)))
}

fn short(field: &str, text: &str, bytes_max: usize) -> Result<(), Problem> {
    if text.len() > bytes_max {
        return Err(Problem::fields(format!(
            "{field}: found {} bytes, expected at most {bytes_max}",
            text.len()
        )));
    }
    Ok(())
}
