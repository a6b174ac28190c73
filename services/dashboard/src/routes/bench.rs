//! What lies on a bench, what is due and what came last; and what a person does there.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use shared_types::{BenchId, CharacteristicId, Event, PieceId, Shop, Stage};

use super::seen::BenchState;
use super::taken::{self, Asks, parsed};
use crate::act::act as hand_in;
use crate::problem::Problem;
use crate::state::App;
use crate::wanted::{Fields, text, written};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Act {
    #[serde(default, deserialize_with = "text")]
    bench: Option<String>,
    #[serde(default, deserialize_with = "text")]
    piece: Option<String>,
    #[serde(default, deserialize_with = "text")]
    stage: Option<String>,
    #[serde(default, deserialize_with = "text")]
    mate: Option<String>,
    /// Why a piece is begun before its first article is released.
    #[serde(default, deserialize_with = "text")]
    reason: Option<String>,
    #[serde(default, deserialize_with = "text")]
    next: Option<String>,
    /// Kept as given, empty too: that says nobody is named any more.
    operator: Option<String>,
}

pub(super) async fn act(
    State(app): State<Arc<App>>,
    Fields { fields, asked }: Fields<Act>,
) -> Result<Response, Problem> {
    let bench = taken::bench(&app, fields.bench.as_deref())?;
    let event = event(&app.shop(), &bench, &fields)?;
    let seq = hand_in(&app, event, None).await?;
    Ok(written(asked, seq, Some(&bench)))
}

/// One post is one act: of two, the first could be written and the second refused.
fn event(shop: &Shop, bench: &BenchId, fields: &Act) -> Result<Event, Problem> {
    if let Some(mate) = &fields.mate {
        return mated(shop, bench, fields, mate);
    }
    let lays = fields.piece.is_some() || fields.stage.is_some();
    match (&fields.next, &fields.operator) {
        (None, None) if lays => laid(shop, bench, fields),
        (Some(next), None) if !lays => Ok(Event::Picked {
            bench: bench.clone(),
            characteristic: parsed::<CharacteristicId>("next", next)?,
        }),
        (None, Some(name)) if !lays => Ok(Event::Operator {
            bench: bench.clone(),
            name: name.trim().to_owned(),
        }),
        (None, None) => Err(Problem::fields(
            "found nothing to do, expected piece and stage, or mate, or next, or operator",
        )),
        _ => Err(several()),
    }
}

fn several() -> Problem {
    Problem::fields(
        "found several acts, expected one of: piece with stage; piece with mate; next; operator",
    )
}

/// Without a piece it is the one that lies there.
fn mated(shop: &Shop, bench: &BenchId, fields: &Act, mate: &str) -> Result<Event, Problem> {
    if fields.stage.is_some() || fields.next.is_some() || fields.operator.is_some() {
        return Err(several());
    }
    let lies = shop.benches.get(bench).and_then(|b| b.on_bench.as_ref());
    let piece = match &fields.piece {
        Some(text) => Some(parsed::<PieceId>("piece", text)?),
        None => lies.map(|(piece, _)| piece.clone()),
    };
    Ok(Event::Mated {
        bench: bench.clone(),
        piece: taken::needed("piece", piece)?,
        mate: parsed::<PieceId>("mate", mate)?,
    })
}

/// A piece alone keeps the bench's stage, a stage alone its piece.
fn laid(shop: &Shop, bench: &BenchId, fields: &Act) -> Result<Event, Problem> {
    let now = shop.benches.get(bench).and_then(|b| b.on_bench.as_ref());
    let piece = match &fields.piece {
        Some(text) => Some(parsed::<PieceId>("piece", text)?),
        None => now.map(|(piece, _)| piece.clone()),
    };
    let stage = match &fields.stage {
        // A word's error says itself what was found.
        Some(text) => Some(
            text.parse::<Stage>()
                .map_err(|error| Problem::fields(format!("stage: {error}")))?,
        ),
        None => now.map(|(_, stage)| *stage),
    };
    Ok(Event::Laid {
        bench: bench.clone(),
        piece: taken::needed("piece", piece)?,
        stage: taken::needed("stage", stage)?,
        reason: fields.reason.clone(),
    })
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Which {
    bench: Option<String>,
}

pub(super) async fn read(
    State(app): State<Arc<App>>,
    Asks(which): Asks<Which>,
) -> Result<Json<BenchState>, Problem> {
    let bench = taken::bench(&app, which.bench.as_deref())?;
    let shop = app.shop();
    Ok(Json(BenchState::new(&shop, bench)))
}
