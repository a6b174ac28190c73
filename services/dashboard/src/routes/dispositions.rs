//! What a person decides about a fail, or about a whole piece.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use shared_types::{BenchId, CharacteristicId, Disposition, Event, PieceId, Seq, Shop};

use super::taken::{self, needed, parsed};
use crate::act::act as hand_in;
use crate::problem::Problem;
use crate::state::App;
use crate::wanted::{Fields, text, whole, written};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Decided {
    #[serde(default, deserialize_with = "text")]
    bench: Option<String>,
    /// Without it, the one that lies there.
    #[serde(default, deserialize_with = "text")]
    piece: Option<String>,
    /// Without it, the whole piece.
    #[serde(default, deserialize_with = "text")]
    characteristic: Option<String>,
    /// The reading the person saw; without it, the one that stands.
    #[serde(default, deserialize_with = "whole")]
    reading: Option<u64>,
    #[serde(default, deserialize_with = "text")]
    disposition: Option<String>,
    /// Without it, who is named at the bench.
    #[serde(default, deserialize_with = "text")]
    by: Option<String>,
    #[serde(default, deserialize_with = "text")]
    reason: Option<String>,
}

pub(super) async fn act(
    State(app): State<Arc<App>>,
    Fields { fields, asked }: Fields<Decided>,
) -> Result<Response, Problem> {
    let bench = taken::bench(&app, fields.bench.as_deref())?;
    let event = event(&app.shop(), &bench, fields)?;
    let seq = hand_in(&app, event, None).await?;
    Ok(written(asked, seq, Some(&bench)))
}

fn event(shop: &Shop, bench: &BenchId, fields: Decided) -> Result<Event, Problem> {
    let state = shop.benches.get(bench);
    let lies = state.and_then(|b| b.on_bench.as_ref());
    let piece = match &fields.piece {
        Some(text) => Some(parsed::<PieceId>("piece", text)?),
        None => lies.map(|(piece, _)| piece.clone()),
    };
    let piece = needed("piece", piece)?;
    let of = fields.characteristic.as_deref();
    let of = of.map(|text| parsed::<CharacteristicId>("characteristic", text));
    let characteristic = of.transpose()?;
    let stands = characteristic.as_ref().and_then(|id| {
        let stands = shop.pieces.get(&piece)?.standing(id)?;
        Some(stands.seq)
    });
    let word = needed("disposition", fields.disposition)?;
    // A word's error says itself what was found.
    let disposition = word
        .parse::<Disposition>()
        .map_err(|error| Problem::fields(format!("disposition: {error}")))?;
    let named = state.map_or("", |b| b.operator.as_str());
    Ok(Event::Disposed {
        bench: bench.clone(),
        piece,
        characteristic,
        reading: fields.reading.map(Seq).or(stands),
        disposition,
        by: fields.by.unwrap_or_else(|| named.to_owned()),
        reason: needed("reason", fields.reason)?,
    })
}
