//! What to measure now, how, and what is wanted. Or what to do when nothing is due.

use maud::{Markup, html};
use shared_types::{
    Attempt, Characteristic, Due, GaugeKind, GaugeSetup, PieceId, Stage, Verdict, show,
};

use super::decide::begin_early;
use super::form::button;
use super::gauges::is_away;
use super::scene::{Scene, Work, numbered};
use super::top::passed;

pub(super) fn now(scene: &Scene<'_>) -> Markup {
    html! {
        section.now #s-now aria-label="what to measure now" {
            @match (scene.work, scene.due()) {
                (Some(work), Some((due, why))) => (measure(scene, work, due, why)),
                (Some(work), None) if !wrong(work).is_empty() => (work_over(scene, work)),
                (Some(work), None) => (complete(scene, work)),
                (None, _) => {
                    h2.rule { span { "To begin" } }
                    p { "Choose the piece that lies on this bench, and the stage it is at." }
                }
            }
        }
    }
}

fn measure(scene: &Scene<'_>, work: Work<'_>, due: &Characteristic, why: Due) -> Markup {
    let limits = due.limits;
    html! {
        h2.rule { span { @match why {
            Due::Route => "Measure now",
            Due::Picked => "Measure now, as you picked",
            Due::JustFailed => "Again, or go on",
        } } }
        p.what { span.which { (due.number) } span { (due.name) } }
        p.wanted {
            span { "wanted " strong { (scene.shown(due.nominal)) } }
            @if let Some(other) = scene.other(due.nominal) { " " span.soft { "(" (other) ")" } }
            " " span { @match (limits.lower(), limits.upper()) {
                (Some(lower), Some(upper)) => { "limits " strong { (show(lower, scene.units()).number) } " to " strong { (scene.shown(upper)) } }
                (Some(lower), None) => { "at least " strong { (scene.shown(lower)) } }
                (None, Some(upper)) => { "at most " strong { (scene.shown(upper)) } }
                (None, None) => {}
            } }
        }
        @if why == Due::JustFailed { (again_or_on(scene, work, due)) }
    }
}

/// How to measure it: a section of its own, because on a phone the drawing comes before it.
pub(super) fn how(scene: &Scene<'_>) -> Markup {
    let Some((due, _)) = scene.due() else {
        return html! { section.how #s-how hidden {} };
    };
    html! {
        section.how #s-how aria-label="how to measure it" {
            p { (due.how) }
            p.with { (with(scene, due)) }
        }
    }
}

/// Which gauge of this bench it is for, and what to do where that one cannot be heard.
fn with(scene: &Scene<'_>, due: &Characteristic) -> Markup {
    let fit: Vec<&GaugeSetup> = scene
        .gauges()
        .filter(|gauge| gauge.kind == Some(due.gauge))
        .collect();
    match fit
        .iter()
        .find(|gauge| !is_away(scene, gauge))
        .or(fit.first())
    {
        Some(gauge) if is_away(scene, gauge) => html! {
            "With: " strong { (gauge.title) } ", which cannot be heard now. Plug it in"
            @if scene.typed().is_some() { ", or type what it shows" } "."
        },
        Some(gauge) if failing(scene, gauge) => html! {
            "With: " strong { (gauge.title) } ", which failed its check"
        },
        Some(gauge) => html! { "With: " strong { (gauge.title) } },
        None => html! {
            "With: " (match due.gauge { GaugeKind::Caliper => "a caliper", GaugeKind::AngleGauge => "an angle gauge" })
            @if scene.typed().is_some() { "; none is connected to this bench, so type what it shows" }
        },
    }
}

fn failing(scene: &Scene<'_>, gauge: &GaugeSetup) -> bool {
    let checks = scene.shop.checks(&gauge.id);
    checks.is_some_and(|checks| checks.failing().is_some())
}

/// After a failure the next reading may be of either; a tap makes it definite.
fn again_or_on(scene: &Scene<'_>, work: Work<'_>, due: &Characteristic) -> Markup {
    let next = scene
        .shop
        .following(work.piece, work.stage, &due.id)
        .filter(|next| next.id != due.id);
    html! {
        div.keys.two {
            (pick(scene, due, "again", "main", &html! { (due.number) " again" }))
            @if let Some(next) = next {
                (pick(scene, next, "on", "", &html! { "Go on: " (numbered(next)) }))
            }
        }
    }
}

pub(super) fn pick(
    scene: &Scene<'_>,
    of: &Characteristic,
    id: &str,
    class: &str,
    says: &Markup,
) -> Markup {
    let fields = [("bench", scene.id.as_str()), ("next", of.id.as_str())];
    button(id, "/api/bench", &fields, class, says)
}

/// What is computed and does not pass: all that is measured may have passed, and the piece be wrong.
fn wrong(work: Work<'_>) -> Vec<(&Characteristic, &Attempt)> {
    let computed = work.route().filter(|c| c.derived.is_some());
    let standing = computed.filter_map(|c| Some((c, work.standing(&c.id)?)));
    standing
        .filter(|(_, stands)| stands.verdict != Verdict::Pass)
        .collect()
}

/// Nothing is due, and something computed is out of its limits: it can only be measured again.
fn work_over(scene: &Scene<'_>, work: Work<'_>) -> Markup {
    html! {
        h2.rule { span { "Not right yet" } }
        @for (c, stands) in wrong(work) {
            @let inputs = c.derived.as_ref().map_or(&[][..], |derived| derived.inputs());
            p.what { span.which { (c.number) } span { (c.name) ": " (scene.shown(stands.value)) ", " (stands.verdict) } }
            p { @match stands.verdict {
                Verdict::TooSmall => (c.if_small),
                Verdict::TooLarge => (c.if_large),
                Verdict::Pass | Verdict::Undecided => {}
            } }
            div.keys {
                @for of in inputs.iter().filter_map(|id| work.plan.characteristic(id)).filter(|of| of.stage == work.stage) {
                    (pick(scene, of, &format!("again-{}-{}", c.number, of.number), "", &html! { "Measure again: " (numbered(of)) }))
                }
            }
        }
    }
}

/// Everything at this stage has passed: the next stage of this piece, or the next piece at this stage.
fn complete(scene: &Scene<'_>, work: Work<'_>) -> Markup {
    let (_, all) = passed(work, work.stage);
    let next_stage = work.plan.stages().find(|stage| *stage > work.stage);
    let gone = work.adopted.withdrawn.is_some();
    let next_piece = work
        .plan
        .pieces()
        .find(|piece| piece > work.piece && scene.shop.scrapped(piece).is_none());
    // A piece of a part whose file is gone can be finished and none begun.
    let next_piece = next_piece.filter(|piece| !gone || scene.shop.pieces.contains_key(piece));
    let mate_first = |stage: &Stage| {
        let named = work.measured.is_some_and(|piece| piece.mate.is_some());
        *stage == Stage::FitUp && work.plan.fit.is_some() && !named
    };
    // Blocks are tools, and wait for nothing.
    let waits = |piece: &PieceId| {
        let lacks = scene.shop.waits_for(piece);
        lacks.filter(|_| work.stage != Stage::Blocks)
    };
    html! {
        h2.rule { span { "Stage complete" } }
        p.what { span { (work.piece.spoken()) ", " (work.stage) ": all " (all) " are right" } }
        @if next_piece.is_none() && next_stage.is_none() {
            p { "Nothing is left to measure on this piece. Lay another one down below, or look at the record." }
        }
        @if let (true, Some(fit)) = (next_stage.as_ref().is_some_and(mate_first), &work.plan.fit) {
            p { "Next is " (Stage::FitUp) ": say below which " (fit.into) " it is tried in, then lay it down at that stage." }
        }
        div.keys {
            @if let Some(piece) = &next_piece {
                @if let Some(lacks) = waits(piece) {
                    (begin_early(scene, piece, work.stage, &lacks))
                } @else {
                    (lay(scene, piece, work.stage, "lay-piece", "main"))
                }
            }
            @if let Some(stage) = next_stage.filter(|stage| !mate_first(stage)) {
                (lay(scene, work.piece, stage, "lay-stage", ""))
            }
        }
    }
}

fn lay(scene: &Scene<'_>, piece: &PieceId, stage: Stage, id: &str, class: &str) -> Markup {
    let spoken = piece.spoken();
    let piece = piece.to_string();
    let fields = [
        ("bench", scene.id.as_str()),
        ("piece", piece.as_str()),
        ("stage", stage.word()),
    ];
    let says = html! { "Lay down " (spoken) ", " (stage) };
    button(id, "/api/bench", &fields, class, &says)
}
