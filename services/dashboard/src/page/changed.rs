//! What was judged by other limits than those in force now, and parts whose file is gone. Nothing is judged
//! again by itself: a person measures again, or leaves it.

use maud::{Markup, html};
use shared_types::{Changed, Outdated, PieceId};

use super::now::pick;
use super::scene::{Scene, Work, numbered};
use crate::clock::time_of_day;

/// Other pieces named in the notice; how many more there are follows.
const OTHERS_LISTED_MAX: usize = 8;

pub(super) fn changed(scene: &Scene<'_>) -> Markup {
    let here = scene
        .work
        .map(|work| (work, scene.shop.outdated(work.piece)))
        .filter(|(_, outdated)| !outdated.is_empty());
    let gone = scene.work.filter(|work| work.adopted.withdrawn.is_some());
    let lies = scene.work.map(|work| work.piece);
    let others: Vec<(&PieceId, usize)> = scene
        .shop
        .pieces
        .keys()
        .filter(|piece| Some(*piece) != lies)
        .map(|piece| (piece, scene.shop.outdated(piece).len()))
        .filter(|(_, count)| *count > 0)
        .collect();
    if here.is_none() && gone.is_none() && others.is_empty() {
        return html! { section.changed #s-changed hidden {} };
    }
    html! {
        section.changed #s-changed aria-label="limits changed since" {
            @if let Some(work) = gone {
                p { strong { "The file of part " (work.piece.part()) " is no longer in this build." } " This piece can be finished by its last revision; no new one can be begun." }
            }
            @if let Some((work, outdated)) = &here { (piece(scene, *work, outdated)) }
            @if !others.is_empty() {
                p.soft {
                    "Limits changed since, on other pieces: "
                    @for (index, (piece, count)) in others.iter().take(OTHERS_LISTED_MAX).enumerate() {
                        @if index > 0 { ", " }
                        (piece.spoken()) " (" (readings(*count)) ")"
                    }
                    @if others.len() > OTHERS_LISTED_MAX { " and " (others.len() - OTHERS_LISTED_MAX) " more" }
                    "."
                }
            }
        }
    }
}

fn piece(scene: &Scene<'_>, work: Work<'_>, outdated: &[Outdated]) -> Markup {
    let mut causes: Vec<Changed> = outdated.iter().map(|o| o.why).collect();
    causes.sort();
    causes.dedup();
    let here = outdated.iter().filter_map(|o| {
        let c = work.plan.characteristic(&o.characteristic)?;
        (c.stage == work.stage && c.derived.is_none()).then_some(c)
    });
    html! {
        @for why in causes {
            p { strong { (told(scene, work, why, outdated.iter().filter(|o| o.why == why).count())) } }
        }
        div.keys {
            @for c in here {
                (pick(scene, c, &format!("changed-{}", c.number), "", &html! { "Measure again: " (numbered(c)) }))
            }
        }
    }
}

fn told(scene: &Scene<'_>, work: Work<'_>, why: Changed, count: usize) -> String {
    let (piece, readings) = (work.piece.spoken(), readings(count));
    let was = if count == 1 { "was" } else { "were" };
    let which = if count == 1 { "it" } else { "them" };
    let by = match why {
        Changed::Plan(Some(at_us)) => {
            format!("the revision of {}", time_of_day(at_us, scene.zone))
        }
        Changed::Plan(None) => "an earlier revision".to_owned(),
        Changed::Fit => "what it then followed, or the plan".to_owned(),
    };
    format!(
        "Limits changed since: {readings} of {piece} {was} judged by {by}; measure again or leave {which}."
    )
}

fn readings(count: usize) -> String {
    if count == 1 {
        "1 reading".to_owned()
    } else {
        format!("{count} readings")
    }
}
