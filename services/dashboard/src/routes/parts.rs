//! Pieces and parts as JSON.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use serde::Serialize;
use shared_types::{BenchId, CharacteristicId, Fit, PartId, PieceId, Seq, Shop, Stage, Verdict};

use super::seen::Wanted;
use super::taken::InPath;
use crate::problem::Problem;
use crate::state::{App, lies_on};

#[derive(Serialize)]
pub(super) struct Pieces {
    seq: Seq,
    pieces: Vec<PieceState>,
}

#[derive(Serialize)]
struct PieceState {
    piece: PieceId,
    spoken: String,
    title: String,
    /// The mating piece it is made for or tried in.
    mate: Option<PieceId>,
    /// Standing values judged by other limits than those in force.
    outdated: usize,
    lies_on: Option<BenchId>,
    /// Nothing of it is open.
    complete: bool,
    /// The entry by which it was scrapped.
    scrapped: Option<Seq>,
    /// What of it is open, in route order; empty for a scrapped piece.
    open: Vec<CharacteristicId>,
    /// Whether it is the first article of its part and hand, and the others wait for it.
    first_article: bool,
    /// What the first article lacks before this piece may be begun without a reason.
    waits_for: Option<String>,
    stages: Vec<StageState>,
}

#[derive(Serialize)]
struct StageState {
    stage: Stage,
    characteristics: usize,
    passed: usize,
    failed: usize,
    /// Of the failed and undecided, those used as they are.
    used_as_is: usize,
    undecided: usize,
}

/// Every piece the build is to have, measured or not.
pub(super) async fn pieces(State(app): State<Arc<App>>) -> Json<Pieces> {
    let shop = app.shop();
    let mut pieces = Vec::new();
    for adopted in shop.parts.values() {
        let plan = &adopted.plan;
        for piece in plan.pieces() {
            let measured = shop.pieces.get(&piece);
            let stages = plan.stages().map(|stage| {
                let mut state = StageState {
                    stage,
                    characteristics: 0,
                    passed: 0,
                    failed: 0,
                    used_as_is: 0,
                    undecided: 0,
                };
                for c in plan.at(stage) {
                    state.characteristics += 1;
                    let Some(stands) = measured.and_then(|m| m.standing(&c.id)) else {
                        continue;
                    };
                    let as_is = measured.and_then(|m| m.used_as_is(&c.id, stands));
                    state.used_as_is += usize::from(as_is.is_some());
                    match stands.verdict {
                        Verdict::Pass => state.passed += 1,
                        Verdict::TooSmall | Verdict::TooLarge => state.failed += 1,
                        Verdict::Undecided => state.undecided += 1,
                    }
                }
                state
            });
            let scrapped = shop.scrapped(&piece);
            let open = shop.left_open(&piece);
            let open = open.iter().filter(|_| scrapped.is_none());
            let first = shop.batch(&piece).filter(|b| b.released.is_none());
            let first = first.and_then(|b| b.first.as_ref());
            pieces.push(PieceState {
                title: plan.title.clone(),
                spoken: piece.spoken(),
                mate: shop.mate(&piece).cloned(),
                outdated: shop.outdated(&piece).len(),
                lies_on: lies_on(&shop, &piece).cloned(),
                complete: shop.is_complete(&piece),
                scrapped: scrapped.map(|scrap| scrap.seq),
                open: open.map(|o| o.characteristic.id.clone()).collect(),
                first_article: first == Some(&piece),
                waits_for: waits_for(&shop, &piece),
                stages: stages.collect(),
                piece,
            });
        }
    }
    Json(Pieces {
        seq: shop.seq,
        pieces,
    })
}

/// In words, for a piece that waits.
pub(super) fn waits_for(shop: &Shop, piece: &PieceId) -> Option<String> {
    let lacks = shop.waits_for(piece)?;
    Some(format!(
        "the first article {}, which lacks {lacks}",
        lacks.first
    ))
}

#[derive(Serialize)]
pub(super) struct Part {
    part: PartId,
    title: String,
    quantity: u32,
    /// Whether each number is a left and a right piece.
    pairs: bool,
    /// Whether its file is no longer in the build.
    withdrawn: bool,
    fit: Option<Fit>,
    alloy: String,
    thickness: String,
    revision: Seq,
    digest: String,
    characteristics: Vec<Wanted>,
    guidance: Vec<Guidance>,
}

#[derive(Serialize)]
struct Guidance {
    what: String,
    source: String,
}

/// A part's revision in force.
pub(super) async fn part(
    State(app): State<Arc<App>>,
    InPath(name): InPath,
) -> Result<Json<Part>, Problem> {
    let shop = app.shop();
    let adopted = PartId::new(&name)
        .ok()
        .and_then(|id| shop.parts.get(&id))
        .ok_or_else(|| Problem::not_found(format!("there is no part {name:?} in this build")))?;
    let plan = &adopted.plan;
    Ok(Json(Part {
        part: plan.part.clone(),
        title: plan.title.clone(),
        quantity: plan.quantity,
        pairs: plan.mirrored.is_some(),
        withdrawn: adopted.withdrawn.is_some(),
        fit: plan.fit.clone(),
        alloy: plan.sheet.alloy.clone(),
        thickness: plan.sheet.thickness.to_string(),
        revision: adopted.seq,
        digest: plan.digest.clone(),
        characteristics: plan.characteristics.iter().map(Wanted::new).collect(),
        guidance: plan
            .warnings
            .iter()
            .map(|w| Guidance {
                what: w.what.clone(),
                source: w.source.clone(),
            })
            .collect(),
    }))
}
