//! What a person says about a reading: what it is of, that it is of nothing, or that it does not count.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use shared_types::{CharacteristicId, Event, Form, Seq, Unit};

use super::taken::{self, InPath, needed, parsed};
use crate::act::act as hand_in;
use crate::problem::Problem;
use crate::state::App;
use crate::wanted::{Fields, seq as entry_number, text, written};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct OfHeld {
    #[serde(default, deserialize_with = "text")]
    bench: Option<String>,
    #[serde(default, deserialize_with = "text")]
    characteristic: Option<String>,
    #[serde(default, deserialize_with = "text")]
    unit: Option<String>,
    #[serde(default, deserialize_with = "text")]
    form: Option<String>,
    /// Why it is of nothing; may be empty.
    dismiss: Option<String>,
}

/// Assigns a reading that is held, or one that was matched wrongly; or dismisses a held one.
pub(super) async fn held(
    State(app): State<Arc<App>>,
    InPath(number): InPath,
    Fields { fields, asked }: Fields<OfHeld>,
) -> Result<Response, Problem> {
    let reading = number
        .parse()
        .map(Seq)
        .map_err(|_| Problem::not_found(format!("{number:?} is not the number of an entry")))?;
    let bench = taken::bench(&app, fields.bench.as_deref())?;
    let event = match (fields.characteristic, fields.dismiss) {
        (Some(characteristic), None) => Event::Assigned {
            bench: bench.clone(),
            reading,
            characteristic: parsed::<CharacteristicId>("characteristic", &characteristic)?,
            unit: fields.unit.as_deref().map(unit).transpose()?,
            form: fields.form.as_deref().map(form).transpose()?,
        },
        (None, Some(reason)) => Event::Dismissed {
            bench: bench.clone(),
            reading,
            reason: reason.trim().to_owned(),
        },
        (Some(_), Some(_)) => {
            return Err(Problem::fields(
                "found both characteristic and dismiss, expected one of them",
            ));
        }
        (None, None) => {
            return Err(Problem::fields(
                "found neither characteristic nor dismiss, expected one of them",
            ));
        }
    };
    let seq = hand_in(&app, event, None).await?;
    Ok(written(asked, seq, Some(&bench)))
}

fn unit(name: &str) -> Result<Unit, Problem> {
    Unit::from_name(name).ok_or_else(|| {
        Problem::fields(format!(
            "unit: found {name:?}, expected one of mm, cm, m, µm, in, deg"
        ))
    })
}

fn form(name: &str) -> Result<Form, Problem> {
    Form::from_name(name).ok_or_else(|| {
        Problem::fields(format!(
            "form: found {name:?}, expected one of complement, supplement, other-sign"
        ))
    })
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Void {
    #[serde(default, deserialize_with = "text")]
    bench: Option<String>,
    #[serde(deserialize_with = "entry_number")]
    reading: Seq,
    #[serde(default, deserialize_with = "text")]
    reason: Option<String>,
}

/// A judged reading that does not count.
pub(super) async fn void(
    State(app): State<Arc<App>>,
    Fields { fields, asked }: Fields<Void>,
) -> Result<Response, Problem> {
    let bench = taken::bench(&app, fields.bench.as_deref())?;
    let event = Event::Voided {
        bench: bench.clone(),
        reading: fields.reading,
        reason: needed("reason", fields.reason)?,
    };
    let seq = hand_in(&app, event, None).await?;
    Ok(written(asked, seq, Some(&bench)))
}
