//! The stage's characteristics in route order: numbered rings whose line says how they stand. A tap
//! makes one the next to be measured. Below them the same as a table with the values.

use maud::{Markup, html};
use shared_types::{Characteristic, CharacteristicId, Verdict};

use super::glyph::mark;
use super::scene::{Scene, Work, computed_from};

pub(super) fn steps(scene: &Scene<'_>) -> Markup {
    let Some(work) = scene.work else {
        return html! { section.steps #s-steps hidden {} };
    };
    html! {
        section.steps #s-steps aria-label="steps of this stage" {
            ol.rings {
                @for c in work.route() {
                    li { (ring(scene, work, c)) }
                }
            }
            (table(scene, work))
        }
    }
}

fn verdict_of(work: Work<'_>, c: &Characteristic) -> Option<Verdict> {
    work.verdict(&c.id)
}

/// Whether a held reading may be of it.
pub(super) fn is_held(scene: &Scene<'_>, id: &CharacteristicId) -> bool {
    scene
        .bench
        .held
        .values()
        .any(|held| held.candidates.iter().any(|may| &may.characteristic == id))
}

const fn words(verdict: Option<Verdict>) -> &'static str {
    match verdict {
        None => "not measured",
        Some(verdict) => verdict.words(),
    }
}

fn ring(scene: &Scene<'_>, work: Work<'_>, c: &Characteristic) -> Markup {
    let verdict = verdict_of(work, c);
    let due = scene.due().is_some_and(|(due, _)| due.id == c.id);
    let held = is_held(scene, &c.id);
    let class = match verdict {
        Some(Verdict::Pass) => "pass",
        Some(Verdict::TooLarge) => "over",
        Some(Verdict::TooSmall) => "under",
        Some(Verdict::Undecided) => "undecided",
        None if held => "held",
        None => "open",
    };
    let says = format!(
        "{} {}: {}{}{}",
        c.number,
        c.name,
        words(verdict),
        if held {
            ", a held reading may be of it"
        } else {
            ""
        },
        match &c.derived {
            Some(derived) => format!(", computed from {}", computed_from(work.plan, derived)),
            None if due => ", to be measured now".to_owned(),
            None => "; measure it next".to_owned(),
        },
    );
    if c.derived.is_some() {
        // Nobody can measure it, so there is nothing to tap.
        return html! {
            span.step.computed.(class) id={ "step-" (c.number) } role="img" title=(says) aria-label=(says) {
                b { (c.number) }
                (mark(verdict))
            }
        };
    }
    html! {
        form.one action="/api/bench" method="post" {
            input type="hidden" name="bench" value=(scene.id);
            input type="hidden" name="next" value=(c.id);
            button.step.(class).due[due] id={ "step-" (c.number) } type="submit" title=(says) aria-label=(says) {
                b { (c.number) }
                (mark(verdict))
            }
        }
    }
}

fn table(scene: &Scene<'_>, work: Work<'_>) -> Markup {
    html! {
        details #steps-table {
            summary { "All values of this stage" }
            div.wide { table {
                thead { tr { th { "No." } th { "Characteristic" } th { "Wanted" } th { "From" } th { "To" } th { "Measured" } th { "Verdict" } th { "Times" } } }
                tbody {
                    @for c in work.route() {
                        @let measured = work.measured.and_then(|m| m.measured.get(&c.id));
                        @let standing = work.standing(&c.id);
                        tr {
                            td { (c.number) }
                            td { (c.name) @if let Some(derived) = &c.derived { ", from " (computed_from(work.plan, derived)) } }
                            td.n { (scene.shown(c.nominal)) }
                            td.n { @if let Some(l) = c.limits.lower() { (scene.shown(l)) } @else { "–" } }
                            td.n { @if let Some(u) = c.limits.upper() { (scene.shown(u)) } @else { "–" } }
                            td.n { @if let Some(s) = standing { (scene.shown(s.value)) } @else { "–" } }
                            td { (words(standing.map(|s| s.verdict))) }
                            td.n { (measured.map_or(0, |m| m.times)) }
                        }
                    }
                }
            } }
        }
    }
}
