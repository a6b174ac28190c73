//! Readings that wait for a person, each with its reason and the choices one tap away.

use maud::{Markup, html};
use shared_types::{Candidate, Characteristic, Held, SameOffset, Seq, Stage, ZERO, show};

use super::correct::characteristic_select;
use super::form::button;
use super::last::sentence;
use super::scene::{Scene, numbered};
use crate::clock::time_of_day;

/// Held readings listed at once. More than a person could tell apart in a row; the rest follow as
/// these are decided.
const LISTED_MAX: usize = 12;

/// All but the one that the last reading's own section shows.
pub(super) fn held(scene: &Scene<'_>) -> Markup {
    let last = scene.bench.last.as_ref().map(|last| last.seq);
    let waiting: Vec<(&Seq, &Held)> = scene
        .bench
        .held
        .iter()
        .rev()
        .filter(|(seq, _)| Some(**seq) != last)
        .collect();
    let stray: Vec<(&Seq, &Held)> = scene.shop.stray.iter().rev().collect();
    let older = scene.bench.held_older;
    if waiting.is_empty() && stray.is_empty() && older == 0 {
        return html! { section.waiting #s-held hidden {} };
    }
    html! {
        section.waiting #s-held aria-label="held readings" {
            h2.rule { span { (waiting.len()) @if waiting.len() == 1 { " held reading waits" } @else { " held readings wait" } } }
            (list(scene, &waiting))
            @if waiting.len() > LISTED_MAX {
                p.soft { "These are the newest " (LISTED_MAX) "; the others follow as these are decided." }
            }
            @if !stray.is_empty() {
                h2.rule { span { (stray.len()) " from gauges in no configuration" } }
                (list(scene, &stray))
            }
            @if older > 0 {
                p.soft { (older) " older ones stay held in the history, and can no longer be decided here." }
            }
        }
    }
}

fn list(scene: &Scene<'_>, waiting: &[(&Seq, &Held)]) -> Markup {
    html! {
        ul.held-list {
            @for (seq, held) in waiting.iter().take(LISTED_MAX) {
                li {
                    p.held-head {
                        strong { (show(held.reading.value, scene.units())) }
                        @if let Some(other) = scene.other(held.reading.value) { span.soft { (other) } }
                        span.soft { (scene.gauge_title(&held.gauge)) " · " (time_of_day(held.at_us, scene.zone)) }
                    }
                    p { (sentence(&held.reason.to_string())) }
                    (choices(scene, **seq, held, "held"))
                }
            }
        }
        @if waiting.len() > LISTED_MAX {
            p.soft { "and " (waiting.len() - LISTED_MAX) " more" }
        }
    }
}

/// What a held reading may be, one button each; then any other characteristic; then nothing.
pub(super) fn choices(scene: &Scene<'_>, seq: Seq, held: &Held, place: &str) -> Markup {
    let action = format!("/api/held/{seq}");
    // It belongs to what lay there when it came.
    let lay_there = held.on_bench.as_ref().or(scene.bench.on_bench.as_ref());
    let plan = lay_there.and_then(|(piece, _)| scene.shop.plan_for(piece));
    let plan = plan.as_deref();
    let stage = lay_there.map(|(_, stage)| *stage);
    let elsewhere = lay_there
        .filter(|there| scene.bench.on_bench.as_ref().map(|(p, _)| p) != Some(&there.0))
        .map(|(piece, _)| piece);
    html! {
        @if let Some(piece) = elsewhere { p.soft { "It was taken when " (piece.spoken()) " lay here." } }
        @if let Some(offset) = &held.offset { (not_zeroed(scene, seq, held, offset, place)) }
        div.keys {
            @for (index, candidate) in held.candidates.iter().enumerate() {
                @if let Some(c) = plan.and_then(|plan| plan.characteristic(&candidate.characteristic)) {
                    (candidate_button(scene, &action, held, candidate, c, &format!("{place}-{seq}-{index}")))
                }
            }
            (button(
                &format!("{place}-{seq}-nothing"),
                &action,
                &[("bench", scene.id.as_str()), ("dismiss", "")],
                "",
                &html! { "It is nothing" },
            ))
        }
        @if let (Some(plan), Some(stage)) = (plan, stage) {
            // Without a guess of ours the person's own choice is the first thing needed.
            details.more id={ (place) "-" (seq) "-more" } open[held.candidates.is_empty()] {
                summary { @if held.candidates.is_empty() { "It is one of these" } @else { "It is another one" } }
                form.row action=(action) method="post" {
                    input type="hidden" name="bench" value=(scene.id);
                    (characteristic_select(&format!("{place}-{seq}-of"), same_stage(plan, stage), None))
                    button id={ (place) "-" (seq) "-assign" } type="submit" { "It is this one" }
                }
            }
        }
    }
}

/// By how much the gauge may not be at nought, what says so, and the way to look.
fn not_zeroed(
    scene: &Scene<'_>,
    seq: Seq,
    held: &Held,
    offset: &SameOffset,
    place: &str,
) -> Markup {
    let way = if offset.by.raw() < 0 {
        "small"
    } else {
        "large"
    };
    let by = offset.by.with_raw(offset.by.raw().abs());
    let before = offset.readings.iter().map(|reading| {
        let Some((piece, id, attempt)) = scene.shop.attempt(*reading) else {
            return format!("entry {reading}");
        };
        let plan = scene.shop.plan_for(piece);
        let named = plan.and_then(|plan| plan.characteristic(id).map(numbered));
        let (named, value) = (named.unwrap_or_else(|| id.to_string()), attempt.value);
        format!("{named} of {}, {}", piece.spoken(), scene.shown(value))
    });
    let before: Vec<String> = before.collect();
    let setup = scene.shop.gauge_setup(&held.gauge);
    let zero = setup.and_then(|setup| {
        let zero = setup.trust.reference(ZERO, setup.kind?)?;
        setup.trust.limit_at(zero.value, zero.faces)
    });
    html! {
        @if let Some(by) = by {
            p { "All too " (way) " by about " strong { (scene.shown(by)) } ": this one; " (before.join("; ")) ". What was judged stays as it is judged; nothing is corrected." }
        }
        @if zero.is_some() {
            div.keys {
                (button(
                    &format!("{place}-{seq}-zero"),
                    "/api/checks",
                    &[("bench", scene.id.as_str()), ("gauge", held.gauge.as_str()), ("against", ZERO)],
                    "main",
                    &html! { "Check its zero" small { "the next reading is the check" } },
                ))
            }
        }
    }
}

fn same_stage(plan: &shared_types::PartPlan, stage: Stage) -> Vec<&Characteristic> {
    plan.at(stage).filter(|c| c.derived.is_none()).collect()
}

fn candidate_button(
    scene: &Scene<'_>,
    action: &str,
    held: &Held,
    candidate: &Candidate,
    c: &Characteristic,
    id: &str,
) -> Markup {
    let other_unit = candidate.unit != held.reading.unit;
    let mut fields = vec![
        ("bench", scene.id.as_str()),
        ("characteristic", c.id.as_str()),
    ];
    if other_unit {
        fields.push(("unit", candidate.unit.sign()));
    }
    if let Some(form) = candidate.form {
        fields.push(("form", form.name()));
    }
    // Where one choice is a form of the value, the one that is not says so too.
    let forms = held.candidates.iter().any(|may| may.form.is_some());
    let formed = candidate
        .form
        .and_then(|form| Some((form, candidate.value(&held.reading)?)));
    let says = html! {
        "It is " (numbered(c))
        @if held.offset.is_some() {
            small { "as shown, " (scene.shown(held.reading.value)) ": the gauge is right, the part is off" }
        } @else if let Some((form, value)) = formed {
            small { "as " (scene.shown(value)) ", " (form) }
        } @else if forms && !other_unit {
            small { "as shown, " (scene.shown(held.reading.value)) }
        } @else if other_unit {
            small { "read as " (held.reading.digits) " " (candidate.unit.sign()) }
        } @else {
            small { "wanted " (scene.shown(c.nominal)) }
        }
    };
    button(id, action, &fields, "main", &says)
}
