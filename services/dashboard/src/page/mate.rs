//! What the piece goes into: which mating piece, and whether its plan or its measured opening is followed.

use maud::{Markup, html};
use shared_types::{Fit, FitSource, Fitting, PieceId, Shop};

use super::choose::PIECES_LISTED_MAX;
use super::scene::{Scene, Work};

pub(super) fn mate(scene: &Scene<'_>) -> Markup {
    let fit = scene
        .work
        .and_then(|work| Some((work, work.plan.fit.as_ref()?)));
    let Some((work, fit)) = fit else {
        return html! { section.mate #s-mate hidden {} };
    };
    let now = scene.shop.mate(work.piece);
    html! {
        section.mate #s-mate aria-label="what it goes into" {
            h2.rule { span { "Goes into " (fit.into) } }
            p { (says(scene.shop, work, fit, now)) }
            p { a href={ "/pairing/" (work.piece.part()) } { "Which one suits which" } }
            form.row action="/api/bench" method="post" {
                input type="hidden" name="bench" value=(scene.id);
                input type="hidden" name="piece" value=(work.piece);
                span.pair { label for="mate" { (fit.into) }
                select #mate name="mate" required { (options(scene.shop, fit, now)) } }
                button #mate-name type="submit" {
                    @if now.is_some() { "It is tried in this one now" } @else { "It goes into this one" }
                }
            }
        }
    }
}

/// By which nominals it is judged.
fn says(shop: &Shop, work: Work<'_>, fit: &Fit, now: Option<&PieceId>) -> String {
    let Some(mate) = now else {
        return match fit.source {
            FitSource::Plan => {
                format!("Judged by the plan. Say which {} it is tried in.", fit.into)
            }
            FitSource::Measured => format!(
                "Judged by the plan until you say which {} it is made for; then by that one's measured opening.",
                fit.into
            ),
        };
    };
    match (fit.source, shop.fitting(work.piece, now)) {
        (FitSource::Plan, _) => format!("{}; judged by the plan.", mate.spoken()),
        (FitSource::Measured, Some(fitting)) if since(shop, work, mate, fitting) => format!(
            "Judged by the measured opening of {}, entry {}. It was measured again since: name it again to follow that.",
            mate.spoken(),
            fitting.seq
        ),
        (FitSource::Measured, Some(fitting)) => format!(
            "Judged by the measured opening of {}, entry {}.",
            mate.spoken(),
            fitting.seq
        ),
        (FitSource::Measured, None) => format!(
            "{}; judged by the plan, which has changed since it was named, or its reading no longer counts. \
             Name it again to follow its measured opening.",
            mate.spoken()
        ),
    }
}

/// Whether the mating piece was measured again since it was named.
fn since(shop: &Shop, work: Work<'_>, mate: &PieceId, fitting: &Fitting) -> bool {
    fitting.nominals.iter().any(|moved| {
        let c = work.plan.characteristic(&moved.characteristic);
        let standing = c.and_then(|c| {
            let follows = c.follows.as_ref()?;
            shop.pieces.get(mate)?.standing(&follows.characteristic)
        });
        standing.is_some_and(|stands| stands.seq != moved.from)
    })
}

fn options(shop: &Shop, fit: &Fit, now: Option<&PieceId>) -> Markup {
    let adopted = shop.parts.get(&fit.into);
    html! {
        @for piece in adopted.into_iter().flat_map(|a| a.plan.pieces()).take(PIECES_LISTED_MAX) {
            option value=(piece) selected[now == Some(&piece)] {
                (piece.spoken())
                @if !shop.pieces.contains_key(&piece) { " (not measured)" }
            }
        }
    }
}

/// The same for a piece that does not lie here: at fit-up it cannot be laid down before.
pub(super) fn mate_any(scene: &Scene<'_>) -> Markup {
    let fits: Vec<_> = scene
        .shop
        .parts
        .values()
        .filter_map(|adopted| Some((&adopted.plan, adopted.plan.fit.as_ref()?)))
        .collect();
    html! {
        @for (plan, fit) in fits {
            details.more id={ "mate-" (plan.part) } {
                summary { "Say which " (fit.into) " a " (plan.part) " goes into" }
                form.row action="/api/bench" method="post" {
                    input type="hidden" name="bench" value=(scene.id);
                    span.pair { label for={ "mate-piece-" (plan.part) } { (plan.part) }
                    select id={ "mate-piece-" (plan.part) } name="piece" required {
                        @for piece in plan.pieces().take(PIECES_LISTED_MAX) {
                            option value=(piece) {
                                (piece.spoken())
                                @if let Some(mate) = scene.shop.mate(&piece) { " (now " (mate.spoken()) ")" }
                            }
                        }
                    } }
                    span.pair { label for={ "mate-into-" (plan.part) } { "into" }
                    select id={ "mate-into-" (plan.part) } name="mate" required { (options(scene.shop, fit, None)) } }
                    button id={ "mate-name-" (plan.part) } type="submit" { "It goes into this one" }
                }
            }
        }
    }
}
