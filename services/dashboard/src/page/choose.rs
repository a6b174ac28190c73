//! What a person enters: a typed reading, the piece and stage, who is at work.

use maud::{Markup, html};
use shared_types::{DisplayUnits, GaugeSetup, PieceId, STAGES, Shop, Stage};

use super::mate::mate_any;
use super::scene::Scene;
use crate::state::lies_on;

/// Pieces of a part offered in one list. Beyond that a list is no help, and the number can be posted.
pub(super) const PIECES_LISTED_MAX: usize = 500;

pub(super) fn choose(scene: &Scene<'_>) -> Markup {
    html! {
        section.enter #s-enter aria-label="enter" {
            (typed(scene))
            // With nothing on the bench the choice stands where the drawing would be.
            @if scene.work.is_some() { (piece(scene)) }
            (operator(scene))
        }
    }
}

fn typed(scene: &Scene<'_>) -> Markup {
    let Some(first) = scene.typed() else {
        return html! {};
    };
    let all: Vec<&GaugeSetup> = scene
        .gauges()
        .filter(|gauge| gauge.kind.is_none())
        .collect();
    let id = format!("type-{}", first.id);
    html! {
        form.row.typed action="/api/readings" method="post" autocomplete="off" {
            // The page's module puts an id here, so that a repeated post is recorded once.
            input type="hidden" name="id" value="" data-once="";
            label for=(id) { "Type a reading" }
            @if all.len() == 1 {
                input type="hidden" name="gauge" value=(first.id);
            } @else {
                select #type-as name="gauge" aria-label="as which gauge" {
                    @for gauge in all { option value=(gauge.id) { (gauge.title) } }
                }
            }
            input id=(id) type="text" name="text" required maxlength="64" placeholder=(example(scene.units())) title="12.34 mm, 11 1/4 in, 90 deg, 1°30'" enterkeyhint="send" spellcheck="false" autocapitalize="off";
            button id={ (id) "-send" } type="submit" { "Record it" }
        }
    }
}

const fn example(units: DisplayUnits) -> &'static str {
    match units {
        DisplayUnits::Mm => "as 12.34 mm",
        DisplayUnits::In => "as 0.515 in",
        DisplayUnits::InFractions => "as 1 1/4 in",
    }
}

fn piece(scene: &Scene<'_>) -> Markup {
    html! {
        details.more #lay-down {
            summary { "Lay another piece down" }
            (lay_form(scene))
            @if scene.work.is_none_or(|work| work.plan.fit.is_none()) { (mate_any(scene)) }
        }
    }
}

/// The choice of a piece and its stage.
pub(super) fn lay_form(scene: &Scene<'_>) -> Markup {
    let now = scene.bench.on_bench.as_ref();
    let stages: Vec<Stage> = STAGES
        .into_iter()
        .filter(|stage| {
            scene
                .shop
                .parts
                .values()
                .any(|a| a.plan.at(*stage).next().is_some())
        })
        .collect();
    let mut all = scene.shop.parts.values();
    let any_waits = all.any(|a| a.plan.pieces().any(|p| scene.shop.waits(&p)));
    html! {
            form.row action="/api/bench" method="post" {
                input type="hidden" name="bench" value=(scene.id);
                span.pair { label for="piece" { "piece" }
                select #piece name="piece" required {
                    @for adopted in scene.shop.parts.values() {
                        @let gone = adopted.withdrawn.is_some();
                        optgroup label={ (adopted.plan.part) " " (adopted.plan.title) @if gone { " (its file is gone)" } } {
                            @for piece in adopted.plan.pieces().take(PIECES_LISTED_MAX) {
                                @let here = now.is_some_and(|(lies, _)| lies == &piece);
                                @let lies = lies_on(scene.shop, &piece);
                                @let begun = scene.shop.pieces.contains_key(&piece);
                                @if begun || !gone {
                                    option value=(piece) selected[here] disabled[lies.is_some() && !here || scene.shop.scrapped(&piece).is_some()] {
                                        (piece.spoken())
                                        @if let Some(told) = told(scene.shop, &piece) { " (" (told) ")" }
                                        @if here { " (lies here)" } @else if let Some(bench) = lies { " (lies on " (bench) ")" }
                                    }
                                }
                            }
                        }
                    }
                }
                }
                span.pair { label for="stage" { "stage" }
                select #stage name="stage" required {
                    @for stage in stages {
                        option value=(stage) selected[now.is_some_and(|(_, s)| *s == stage)] { (stage) }
                    }
                }
                }
                @if any_waits {
                    span.pair { label for="lay-why" { "why now, if it waits" }
                    input #lay-why type="text" name="reason" maxlength="240" autocomplete="off"; }
                }
                button #lay type="submit" { "Lay it down" }
            }
    }
}

/// How far a piece is, where that is worth a word.
fn told(shop: &Shop, piece: &PieceId) -> Option<&'static str> {
    if shop.scrapped(piece).is_some() {
        Some("scrapped")
    } else if shop.is_complete(piece) {
        Some("complete")
    } else if shop.waits(piece) {
        Some("waits for the first article")
    } else {
        None
    }
}

fn operator(scene: &Scene<'_>) -> Markup {
    html! {
        details.more #who {
            summary { "Who is at work" }
            form.row action="/api/bench" method="post" autocomplete="off" {
                input type="hidden" name="bench" value=(scene.id);
                label for="operator" { "name or initials" }
                input #operator type="text" name="operator" maxlength="100" value=(scene.bench.operator);
                button #operator-set type="submit" { "That is me" }
            }
        }
    }
}
