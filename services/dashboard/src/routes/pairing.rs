//! Which piece into which mating piece, as a page and as JSON.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::response::Html;
use serde::Serialize;
use shared_types::{Hand, Length, PartId, PieceId, Seq};

use super::charted::GUIDANCE;
use super::taken::InPath;
use crate::learned::pairing::{Candidate, Group, Pairs, each_side};
use crate::page;
use crate::problem::Problem;
use crate::state::App;

pub(super) async fn page(
    State(app): State<Arc<App>>,
    InPath(part): InPath,
) -> Result<Html<String>, Problem> {
    let pairs = look(app, &part).await?;
    Ok(Html(page::learned::pairing(&pairs).into_string()))
}

pub(super) async fn json(
    State(app): State<Arc<App>>,
    InPath(part): InPath,
) -> Result<Json<Answer>, Problem> {
    Ok(Json(Answer::new(&look(app, &part).await?)))
}

async fn look(app: Arc<App>, name: &str) -> Result<Pairs, Problem> {
    let pairs = PartId::new(name)
        .ok()
        .and_then(|part| Pairs::gather(&app.shop(), &part))
        .ok_or_else(|| {
            Problem::not_found(format!(
                "there is no part {name:?} that goes into another in this build; a part with [fit] does"
            ))
        })?;
    // A hundred pieces in a hundred mates take longer than others should wait.
    tokio::task::spawn_blocking(move || pairs.solve())
        .await
        .map_err(|_| Problem::stopped("the server is stopping"))
}

#[derive(Serialize)]
pub(super) struct Answer {
    seq: Seq,
    part: PartId,
    into: PartId,
    /// Wanted on each side.
    wanted: String,
    /// What is compared.
    stations: Vec<String>,
    groups: Vec<GroupState>,
    guidance: &'static str,
}

#[derive(Serialize)]
struct GroupState {
    hand: Option<Hand>,
    /// Measured everywhere, in the order of the rows.
    pieces: Vec<PieceId>,
    /// Measured everywhere, in the order of the columns.
    mates: Vec<PieceId>,
    /// Predicted clearance on each side: a row for each piece, a column for each mating piece.
    clearances: Vec<Vec<String>>,
    pairs: Vec<PairState>,
    worst: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    untold: Option<String>,
    not_measured: Vec<Lacking>,
}

#[derive(Serialize)]
struct PairState {
    piece: PieceId,
    mate: Option<PieceId>,
    clearance: Option<String>,
    /// Where there is least.
    tightest: Option<String>,
    /// The mating piece named for it.
    named: Option<PieceId>,
}

#[derive(Serialize)]
struct Lacking {
    piece: PieceId,
    lacking: Vec<String>,
}

impl Answer {
    fn new(pairs: &Pairs) -> Self {
        let group = |group: &Group| GroupState::new(pairs, group);
        Self {
            seq: pairs.seq,
            part: pairs.part.clone(),
            into: pairs.fit.into.clone(),
            wanted: pairs.fit.clearance.to_string(),
            stations: pairs.stations.clone(),
            groups: pairs.groups.iter().map(group).collect(),
            guidance: GUIDANCE,
        }
    }
}

impl GroupState {
    fn new(pairs: &Pairs, group: &Group) -> Self {
        let (pieces, mates) = (
            Group::complete(&group.pieces),
            Group::complete(&group.mates),
        );
        let id = |candidate: &&Candidate| candidate.piece.clone();
        let solved = group.solved.as_ref();
        let cell = |piece: usize, mate: usize| -> Option<Length> {
            solved.ok()?.table.clearance(piece, mate)
        };
        let side = |both: Length| each_side(both).to_string();
        let row = |piece: usize| {
            let cells = (0..mates.len()).filter_map(|mate| cell(piece, mate));
            cells.map(side).collect()
        };
        let pair = |(at, piece): (usize, &&Candidate)| {
            let mate = solved.ok()?.pairing.mates.get(at).copied().flatten();
            let tightest = mate.and_then(|mate| Group::tightest(piece, mates[mate]));
            Some(PairState {
                piece: piece.piece.clone(),
                mate: mate.map(|mate| mates[mate].piece.clone()),
                clearance: mate.and_then(|mate| cell(at, mate)).map(side),
                tightest: tightest.and_then(|at| pairs.stations.get(at).cloned()),
                named: piece.named.clone(),
            })
        };
        let waiting = group.pieces.iter().chain(&group.mates);
        Self {
            hand: group.hand,
            pieces: pieces.iter().map(id).collect(),
            mates: mates.iter().map(id).collect(),
            clearances: match solved {
                Ok(_) => (0..pieces.len()).map(row).collect(),
                Err(_) => Vec::new(),
            },
            pairs: pieces.iter().enumerate().filter_map(pair).collect(),
            worst: solved.ok().map(|solved| side(solved.pairing.worst)),
            untold: solved.err().map(ToString::to_string),
            not_measured: waiting
                .filter(|candidate| candidate.off.is_none())
                .map(|candidate| Lacking {
                    piece: candidate.piece.clone(),
                    lacking: candidate.lacking.clone(),
                })
                .collect(),
        }
    }
}
