//! What a person decides about fails: work over, use as it is, scrap. And what was decided, what was measured
//! until it passed, and what the other pieces wait for.

use maud::{Markup, html};
use shared_types::{Characteristic, Disposed, Disposition, Open, Seq, Unreleased};

use super::scene::{Scene, Work, numbered};

/// Longest name and reason a form takes, in characters: within the 500 bytes of an entry's text.
const NAME_MAX: u8 = 100;
const REASON_MAX: u8 = 240;

/// Nobody is named: readings count all the same, and what a person decides is refused until somebody is.
pub(super) fn nobody(scene: &Scene<'_>) -> Markup {
    if !scene.bench.operator.trim().is_empty() {
        return html! { section.decide #s-nobody hidden {} };
    }
    html! {
        section.decide #s-nobody aria-label="nobody is named" {
            p { strong { "Nobody is named at this bench." } " Readings are recorded as nobody's; judging, voiding and checking wait for a name." }
            form.row action="/api/bench" method="post" autocomplete="off" {
                input type="hidden" name="bench" value=(scene.id);
                label for="nobody-name" { "name or initials" }
                input #nobody-name type="text" name="operator" required maxlength=(NAME_MAX);
                button #nobody-set type="submit" { "That is me" }
            }
        }
    }
}

pub(super) fn decide(scene: &Scene<'_>) -> Markup {
    let Some(work) = scene.work else {
        return html! { section.decide #s-decide hidden {} };
    };
    if let Some(scrap) = scene.shop.scrapped(work.piece) {
        return html! {
            section.decide #s-decide aria-label="scrapped" {
                h2.rule { span { "Scrapped" } }
                p { (work.piece.spoken()) " is not used: " (scrap.reason) " (" (scrap.by) ", entry " (scrap.seq) "). Nothing more is measured on it." }
                (take_back(scene, scrap))
            }
        };
    }
    let failed: Vec<Open<'_>> = scene
        .shop
        .left_open(work.piece)
        .into_iter()
        .filter(|open| open.stands.is_some() && open.characteristic.stage == work.stage)
        .collect();
    let just = scene.bench.last.as_ref().map(|last| last.seq);
    let is_just = |open: &&Open<'_>| open.stands.map(|a| a.seq) == just;
    let kept = kept(scene, work);
    let until = until(scene, work);
    let first = first(scene, work);
    if failed.is_empty() && kept.is_empty() && until.is_empty() && first.is_none() {
        return html! { section.decide #s-decide hidden {} };
    }
    html! {
        section.decide.fails[!failed.is_empty()] #s-decide aria-label="what is decided" {
            @for open in failed.iter().filter(is_just) { (form(scene, work, open)) }
            @for open in failed.iter().filter(|open| !is_just(open)) {
                details.more id={ "decide-" (open.characteristic.number) } {
                    summary { "Open: " (numbered(named(work, open.characteristic))) @if open.rework.is_some() { ", to be worked over" } }
                    (form(scene, work, open))
                }
            }
            @for line in &kept { (line) }
            @for line in &until { (line) }
            @if let Some(first) = &first { (first) }
        }
    }
}

/// In the words of the piece's hand.
fn named<'a>(work: Work<'a>, c: &'a Characteristic) -> &'a Characteristic {
    work.plan.characteristic(&c.id).unwrap_or(c)
}

/// One fail, with the three ways it can end.
fn form(scene: &Scene<'_>, work: Work<'_>, open: &Open<'_>) -> Markup {
    let Some(stands) = open.stands else {
        return html! {};
    };
    let c = named(work, open.characteristic);
    let id = format!("dispose-{}", c.number);
    html! {
        @if let Some(rework) = open.rework {
            p { (numbered(c)) ": to be worked over and measured again, says " (rework.by) ": " (rework.reason) "." }
        }
        form.row.dispose action="/api/dispositions" method="post" autocomplete="off" {
            input type="hidden" name="bench" value=(scene.id);
            input type="hidden" name="piece" value=(work.piece);
            input type="hidden" name="characteristic" value=(c.id);
            input type="hidden" name="reading" value=(stands.seq);
            p { strong { (c.number) ": " (scene.shown(stands.value)) ", " (stands.verdict) "." } " What becomes of it?" }
            span.pair { label for={ (id) "-by" } { "who" }
            input id={ (id) "-by" } type="text" name="by" required maxlength=(NAME_MAX) value=(scene.bench.operator); }
            span.pair { label for={ (id) "-why" } { "why" }
            input id={ (id) "-why" } type="text" name="reason" required maxlength=(REASON_MAX); }
            div.keys {
                (way(&id, Disposition::Rework, "Rework", "worked over, then measured again"))
                (way(&id, Disposition::UseAsIs, "Use as is", "for the builder's own record; the plans, the designer and the inspector decide"))
                (way(&id, Disposition::Scrap, "Scrap the piece", "it is not used"))
            }
        }
    }
}

fn way(id: &str, way: Disposition, says: &str, more: &str) -> Markup {
    html! {
        button id={ (id) "-" (way.word()) } type="submit" name="disposition" value=(way.word()) { (says) small { (more) } }
    }
}

/// What is used as it is at this stage.
fn kept(scene: &Scene<'_>, work: Work<'_>) -> Vec<Markup> {
    let of = |c: &Characteristic| {
        let (state, stands) = (work.measured?, work.standing(&c.id)?);
        let used = state.used_as_is(&c.id, stands)?;
        Some(html! {
            p { (numbered(c)) ": " (scene.shown(stands.value)) ", " (stands.verdict) ", used as it is: " (used.reason) " (" (used.by) ", entry " (used.seq) "). "
                span.soft { "For the builder's own record; the plans, the designer and the inspector decide." } }
            (take_back(scene, used))
        })
    };
    work.route().filter_map(of).collect()
}

/// What was measured until it passed, with all that failed before.
fn until(scene: &Scene<'_>, work: Work<'_>) -> Vec<Markup> {
    let of = |c: &Characteristic| {
        let fails = work.measured?.until_it_passed(&c.id);
        let each = |(value, verdict, seq): (String, String, Seq)| {
            format!("{value}, {verdict} (entry {seq})")
        };
        let all: Vec<String> = fails
            .iter()
            .map(|a| each((scene.shown(a.value), a.verdict.to_string(), a.seq)))
            .collect();
        (!all.is_empty()).then(|| {
            html! {
                p.until { (numbered(c)) ": passed at attempt " (all.len() + 1) ", and no rework was stated. Before it: " (all.join("; ")) "." }
            }
        })
    };
    work.route().filter_map(of).collect()
}

/// Where this piece stands in its batch.
fn first(scene: &Scene<'_>, work: Work<'_>) -> Option<Markup> {
    let early = work.measured.and_then(|state| state.early.as_ref());
    let early = early.map(|early| {
        html! { p { (work.piece.spoken()) " was begun before its first article was released: " (early.reason) " (entry " (early.seq) ")." } }
    });
    let batch = scene.shop.batch(work.piece)?;
    let batch_told = match (&batch.released, scene.shop.lacking(work.piece)) {
        (Some(released), _) => match scene.shop.changed_since_release(released) {
            Some(changed) if changed.is_empty() => None,
            changed => Some(html! {
                p { "The batch was released by " (released.piece.spoken()) ", entry " (released.seq) ". "
                    strong {
                        @match &changed {
                            Some(changed) => { "Nominal or limits of " (changed.len()) " characteristics changed since" }
                            None => "Its part has had many revisions since"
                        }
                    } "; it stays released: decide whether that first article still shows what it should." }
            }),
        },
        (None, Some(lacks)) if scene.shop.first_article().required && work.plan.quantity > 1 => {
            let is_first = &lacks.first == work.piece;
            Some(html! {
                p.soft {
                    @if is_first { "This is the first article. The other pieces wait until it has passed every stage; it lacks " (lacks) "." }
                    @else { "The first article is " (lacks.first.spoken()) "; it lacks " (lacks) "." }
                }
            })
        }
        (None, _) => None,
    };
    match (early, batch_told) {
        (None, None) => None,
        (early, told) => Some(
            html! { @if let Some(early) = early { (early) } @if let Some(told) = told { (told) } },
        ),
    }
}

/// A disposition is taken back by a reason of its own.
fn take_back(scene: &Scene<'_>, disposed: &Disposed) -> Markup {
    let id = format!("back-{}", disposed.seq);
    html! {
        details.more id=(id) {
            summary { "Take that back" }
            form.row action="/api/voids" method="post" autocomplete="off" {
                input type="hidden" name="bench" value=(scene.id);
                input type="hidden" name="reading" value=(disposed.seq);
                label for={ (id) "-why" } { "why" }
                input id={ (id) "-why" } type="text" name="reason" required maxlength=(REASON_MAX);
                button id={ (id) "-do" } type="submit" { "Take it back" }
            }
        }
    }
}

/// The way to begin a piece that waits for its first article: with a reason, which is in the record.
pub(super) fn begin_early(
    scene: &Scene<'_>,
    piece: &shared_types::PieceId,
    stage: shared_types::Stage,
    lacks: &Unreleased,
) -> Markup {
    html! {
        form.row action="/api/bench" method="post" autocomplete="off" {
            input type="hidden" name="bench" value=(scene.id);
            input type="hidden" name="piece" value=(piece);
            input type="hidden" name="stage" value=(stage);
            p { (piece.spoken()) " waits for the first article " (lacks.first.spoken()) ", which lacks " (lacks) "." }
            label for="early-why" { "to begin it now, say why" }
            input #early-why type="text" name="reason" required maxlength=(REASON_MAX);
            button #early-lay type="submit" { "Lay down " (piece.spoken()) ", " (stage) }
        }
    }
}
