//! Studies of gauges: begun, left and gone on with; and the page of one.

use std::sync::Arc;

use axum::extract::State;
use axum::response::{Html, IntoResponse, Response};
use serde::Deserialize;
use shared_types::{
    Event, GaugeId, Quantity, STUDY_PIECES, STUDY_TRIALS, Seq, StudyAct, StudyPlan,
};

use super::taken::{self, InPath, needed, parsed};
use crate::act::act as hand_in;
use crate::page;
use crate::problem::Problem;
use crate::state::App;
use crate::wanted::{Fields, text, whole, written};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ToStudy {
    #[serde(default, deserialize_with = "text")]
    bench: Option<String>,
    #[serde(default, deserialize_with = "text")]
    gauge: Option<String>,
    /// What is measured.
    #[serde(default, deserialize_with = "text")]
    of: Option<String>,
    /// Who measures, with commas between.
    #[serde(default, deserialize_with = "text")]
    appraisers: Option<String>,
    #[serde(default, deserialize_with = "whole")]
    pieces: Option<u64>,
    #[serde(default, deserialize_with = "whole")]
    trials: Option<u64>,
    /// The width of the tolerance the gauge is to serve.
    #[serde(default, deserialize_with = "text")]
    width: Option<String>,
    /// The entry of a study to go on with.
    #[serde(default, deserialize_with = "whole")]
    resume: Option<u64>,
    /// Anything: the study under way is left.
    #[serde(default, deserialize_with = "text")]
    leave: Option<String>,
}

pub(super) async fn act(
    State(app): State<Arc<App>>,
    Fields { fields, asked }: Fields<ToStudy>,
) -> Result<Response, Problem> {
    let bench = taken::bench(&app, fields.bench.as_deref())?;
    let gauge = parsed::<GaugeId>("gauge", &needed("gauge", fields.gauge.clone())?)?;
    let event = Event::Study {
        bench: bench.clone(),
        gauge,
        act: what(fields)?,
    };
    let seq = hand_in(&app, event, None).await?;
    Ok(written(asked, seq, Some(&bench)))
}

fn what(fields: ToStudy) -> Result<StudyAct, Problem> {
    let begins = fields.of.is_some();
    match (fields.resume, fields.leave) {
        (None, None) => Ok(StudyAct::Begun(StudyPlan {
            of: needed("of", fields.of)?,
            width: match fields.width {
                Some(width) => Some(quantity(&width)?),
                None => None,
            },
            pieces: few("pieces", fields.pieces, &STUDY_PIECES)?,
            appraisers: names(&needed("appraisers", fields.appraisers)?),
            trials: few("trials", fields.trials, &STUDY_TRIALS)?,
        })),
        (Some(study), None) if !begins => Ok(StudyAct::Resumed(Seq(study))),
        (None, Some(_)) if !begins => Ok(StudyAct::Left),
        _ => Err(Problem::fields(
            "found several acts, expected one of: of with appraisers, pieces and trials; resume; leave",
        )),
    }
}

/// A number of pieces or times that a study may have.
fn few(
    field: &str,
    number: Option<u64>,
    may: &std::ops::RangeInclusive<u8>,
) -> Result<u8, Problem> {
    let number = needed(field, number)?;
    let few = u8::try_from(number).ok().filter(|few| may.contains(few));
    few.ok_or_else(|| {
        let (least, most) = (may.start(), may.end());
        Problem::fields(format!(
            "{field}: found {number}, expected {least} to {most}"
        ))
    })
}

fn quantity(text: &str) -> Result<Quantity, Problem> {
    Quantity::parse(text).map_err(|error| Problem::fields(format!("width: {error}")))
}

fn names(text: &str) -> Vec<String> {
    text.split(',').map(|name| name.trim().to_owned()).collect()
}

pub(super) async fn page(
    State(app): State<Arc<App>>,
    InPath(number): InPath,
) -> Result<Response, Problem> {
    let nowhere = || {
        Problem::not_found(format!(
            "{number:?} is not the entry of a study that is at hand; the record has all"
        ))
    };
    let seq = number.parse().map(Seq).map_err(|_| nowhere())?;
    let shop = app.shop();
    let setup = shop.setup.as_ref().ok_or_else(nowhere)?;
    let found = setup.gauges.iter().find_map(|gauge| {
        let study = shop.gauges.get(&gauge.id)?.studies.get(seq)?;
        Some((gauge, study))
    });
    let (gauge, study) = found.ok_or_else(nowhere)?;
    Ok(Html(page::study(setup, gauge, study, &app.zone).into_string()).into_response())
}
