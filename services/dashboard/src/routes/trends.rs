//! How a characteristic runs from piece to piece, as a page and as JSON.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::response::Html;
use serde::Deserialize;
use shared_types::{CharacteristicId, PartId, UnknownWord};
use trends::RuleSet;

use super::charted::Charted;
use super::taken::{Asks, InPaths, parsed};
use crate::learned::control::{Kind, RULE_SETS};
use crate::learned::figures::Percent;
use crate::learned::series::Series;
use crate::learned::{Asked, Looked};
use crate::page;
use crate::problem::Problem;
use crate::state::App;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Choice {
    chart: Option<String>,
    rules: Option<String>,
    coverage: Option<String>,
    confidence: Option<String>,
}

pub(super) async fn list(State(app): State<Arc<App>>) -> Html<String> {
    Html(page::learned::list(&app.shop()).into_string())
}

pub(super) async fn page(
    State(app): State<Arc<App>>,
    InPaths(part, id): InPaths,
    Asks(choice): Asks<Choice>,
) -> Result<Html<String>, Problem> {
    let looked = look(&app, &part, &id, &choice)?;
    Ok(Html(page::learned::chart(&looked).into_string()))
}

pub(super) async fn json(
    State(app): State<Arc<App>>,
    InPaths(part, id): InPaths,
    Asks(choice): Asks<Choice>,
) -> Result<Json<Charted>, Problem> {
    Ok(Json(Charted::new(&look(&app, &part, &id, &choice)?)))
}

/// The shop is let go before anything is computed.
fn look(app: &App, part: &str, id: &str, choice: &Choice) -> Result<Looked, Problem> {
    let series = PartId::new(part)
        .ok()
        .zip(CharacteristicId::new(id).ok())
        .and_then(|(part, id)| Series::gather(&app.shop(), &part, &id))
        .ok_or_else(|| {
            Problem::not_found(format!(
                "there is no part {part:?} with a characteristic {id:?} in this build; /trends lists them"
            ))
        })?;
    let kind = match &choice.chart {
        Some(word) => parsed("chart", word)?,
        None => Kind::usual(&series),
    };
    let asked = Asked {
        kind,
        rules: rules(choice.rules.as_deref())?,
        coverage: percent("coverage", choice.coverage.as_deref())?,
        confidence: percent("confidence", choice.confidence.as_deref())?,
    };
    Ok(Looked::at(series, asked))
}

fn rules(word: Option<&str>) -> Result<RuleSet, Problem> {
    let Some(word) = word else {
        return Ok(RULE_SETS[0].1);
    };
    let known = RULE_SETS.iter().find(|(name, _)| *name == word);
    known.map(|(_, set)| *set).ok_or_else(|| {
        let unknown = UnknownWord {
            found: word.to_owned(),
            expected: "western-electric, nelson, iso-7870-2",
        };
        Problem::fields(format!("rules: {unknown}"))
    })
}

fn percent(field: &str, word: Option<&str>) -> Result<Percent, Problem> {
    let Some(word) = word else {
        return Ok(Percent::NinetyFive);
    };
    let known = Percent::ALL
        .into_iter()
        .find(|percent| percent.whole().to_string() == word);
    known.ok_or_else(|| {
        Problem::fields(format!(
            "{field}: found {word:?}, expected one of 90, 95, 99"
        ))
    })
}
