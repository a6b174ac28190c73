//! What lies on the bench, at which stage, who works there, and which gauges can be heard.

use maud::{Markup, html};
use shared_types::{Characteristic, Stage};

use super::form::button;
use super::gauges::gauges;
use super::scene::{Scene, Work};

pub(super) fn top(scene: &Scene<'_>) -> Markup {
    html! {
        header.top #s-top {
            div.lies {
                @if let Some(work) = scene.work {
                    h1 {
                        (work.piece.part()) span.slash { "/" } (work.piece.number())
                        @if let Some(hand) = work.piece.hand() { " " span.hand { (hand.word()) } }
                    }
                    p.title { (work.plan.title) }
                } @else {
                    h1 { "Nothing lies here" }
                    p.title { "Lay a piece down to begin" }
                }
            }
            @if let Some(work) = scene.work { (stages(scene, work)) }
            (gauges(scene))
            @if let Some(trouble) = &scene.trouble { p.trouble role="alert" { (trouble) } }
        }
    }
}

/// The stages in order, the one at work marked; a tap lays the same piece down at another.
fn stages(scene: &Scene<'_>, work: Work<'_>) -> Markup {
    html! {
        ol.stages aria-label="stages" {
            @for stage in work.plan.stages() {
                @let (passed, all) = passed(work, stage);
                @let count = html! { (stage) " " small { (standing(work, stage, passed, all)) } };
                li.now[stage == work.stage].done[passed == all] {
                    @if stage == work.stage {
                        span aria-current="step" { (count) }
                    } @else {
                        (button(
                            &format!("stage-{}", stage.word()),
                            "/api/bench",
                            &[("bench", scene.id.as_str()), ("piece", &work.piece.to_string()), ("stage", stage.word())],
                            "stage",
                            &count,
                        ))
                    }
                }
            }
        }
    }
}

/// How a stage stands. One that was never measured is not `0 of 18`, which would read like a fault.
fn standing(work: Work<'_>, stage: Stage, passed: usize, all: usize) -> String {
    let measured = |c: &Characteristic| work.measured.is_some_and(|m| m.standing(&c.id).is_some());
    if stage == work.stage || work.plan.at(stage).any(measured) {
        format!("{passed} of {all}")
    } else if stage < work.stage {
        "not measured".to_owned()
    } else {
        format!("{all} to come")
    }
}

/// How many of a stage are right, by a pass or used as they are, and how many it has.
pub(super) fn passed(work: Work<'_>, stage: Stage) -> (usize, usize) {
    work.plan.at(stage).fold((0, 0), |(passed, all), c| {
        let right = work.measured.is_some_and(|m| m.is_right(&c.id));
        (passed + usize::from(right), all + 1)
    })
}
