//! Springback learned, as a page and as JSON.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::response::Html;
use serde::Serialize;
use shared_types::{PartId, PieceId, Quantity, Seq};

use super::charted::GUIDANCE;
use crate::learned::springback::{CONFIDENCE, Folded, Next, Read, Springbacks, Told};
use crate::page;
use crate::state::App;

pub(super) async fn page(State(app): State<Arc<App>>) -> Html<String> {
    let all = Springbacks::gather(&app.shop());
    Html(page::learned::springback(&all).into_string())
}

pub(super) async fn json(State(app): State<Arc<App>>) -> Json<Answer> {
    let all = Springbacks::gather(&app.shop());
    Json(Answer {
        seq: all.seq,
        confidence: CONFIDENCE,
        folds: all.folds.iter().map(FoldState::new).collect(),
        without_block: all.unblocked,
        left_out: all.left_out,
        guidance: GUIDANCE,
    })
}

#[derive(Serialize)]
pub(super) struct Answer {
    seq: Seq,
    confidence: f64,
    folds: Vec<FoldState>,
    /// Parts with bends that teach nothing, since no block of theirs is known.
    without_block: Vec<PartId>,
    left_out: usize,
    guidance: &'static str,
}

#[derive(Serialize)]
struct FoldState {
    alloy: String,
    thickness: String,
    radius: String,
    /// What was thought before any reading.
    thought: ThoughtState,
    readings: Vec<ReadState>,
    scatter: Option<String>,
    next: Vec<NextState>,
    #[serde(skip_serializing_if = "Option::is_none")]
    untold: Option<String>,
}

#[derive(Serialize)]
struct ThoughtState {
    bend: String,
    springback: String,
    /// The part in whose file it is stated; predicted where there is none.
    stated_in: Option<PartId>,
}

#[derive(Serialize)]
struct ReadState {
    piece: PieceId,
    entry: Seq,
    name: String,
    /// Turned through by the block.
    tool: String,
    /// The piece the block was measured with; its nominal stands for it where there is none.
    block_measured_with: Option<PieceId>,
    bend: String,
    springback: Option<String>,
    /// Whether it came after what was thought.
    counts: bool,
}

#[derive(Serialize)]
struct NextState {
    bend: String,
    bevel: String,
    least: String,
    most: String,
    readings: usize,
    planned: String,
    parts: Vec<PartId>,
}

impl FoldState {
    fn new(folded: &Folded) -> Self {
        let (told, untold) = match &folded.learned {
            Ok(told) => (Some(told), None),
            Err(untold) => (None, Some(untold.to_string())),
        };
        let thought = &folded.thought;
        Self {
            alloy: folded.fold.alloy.clone(),
            thickness: folded.fold.thickness.to_string(),
            radius: folded.fold.radius.to_string(),
            thought: ThoughtState {
                bend: degrees(thought.angle),
                springback: degrees(thought.back),
                stated_in: thought.stated.clone(),
            },
            readings: folded
                .reads
                .iter()
                .map(|read| ReadState::new(read, thought.counts(read)))
                .collect(),
            scatter: told.map(|told: &Told| told.scatter.to_string()),
            next: told.map_or_else(Vec::new, |told| {
                told.next.iter().map(NextState::new).collect()
            }),
            untold,
        }
    }
}

impl ReadState {
    fn new(read: &Read, counts: bool) -> Self {
        Self {
            counts,
            piece: read.piece.clone(),
            entry: read.seq,
            name: read.name.clone(),
            tool: degrees(read.formed.tool),
            block_measured_with: read.block_of.clone(),
            bend: degrees(read.formed.bend),
            springback: read.back().map(degrees),
        }
    }
}

impl NextState {
    fn new(next: &Next) -> Self {
        Self {
            bend: degrees(next.angle),
            bevel: degrees(next.block.bevel),
            least: degrees(next.block.least),
            most: degrees(next.block.most),
            readings: next.block.n,
            planned: degrees(next.planned),
            parts: next.parts.clone(),
        }
    }
}

fn degrees(angle: shared_types::Angle) -> String {
    Quantity::Angle(angle).to_string()
}
