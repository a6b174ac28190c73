//! The piece as drawn, with the dimension to measure next marked.

use drawing::{Mark, Side, Style};
use maud::{Markup, PreEscaped, html};
use shared_types::{CharacteristicId, Hand, Verdict, View};

use super::choose::lay_form;
use super::mate::mate_any;
use super::scene::{Scene, Work};
use super::steps::is_held;

pub(super) fn picture(scene: &Scene<'_>) -> Markup {
    let Some(work) = scene.work else {
        return html! {
            section.picture.lay #s-picture aria-label="lay a piece down" {
                h2.rule { span { "What lies here?" } }
                (lay_form(scene))
                (mate_any(scene))
            }
        };
    };
    let due = scene.due().map(|(c, _)| &c.id);
    let undrawn =
        |views: &[&View]| due.is_some_and(|due| !views.iter().any(|view| shows(view, due)));
    let views: Vec<&View> = work
        .plan
        .views
        .iter()
        .filter(|view| view.stage == work.stage)
        .collect();
    let main = views
        .iter()
        .position(|view| due.is_some_and(|due| shows(view, due)))
        .unwrap_or(0);
    html! {
        section.picture #s-picture aria-label="drawing" {
            // A dimension stated outright has no drawing: an empty or unmarked picture would leave a person searching.
            @if undrawn(&views) {
                p.undrawn { "No drawing shows this dimension: see how it is measured." }
            }
            @if let Some(view) = views.get(main) {
                figure.main { (draw(scene, work, view)) figcaption { (view.title) } }
            }
            // The whole piece stays in sight where the due dimension is on a section of it.
            @if main != 0 && let Some(view) = views.first() {
                @let side = scene.due().and_then(|(c, _)| Some((side(&c.id, work.piece.hand())?, c.number)));
                figure.aside {
                    (PreEscaped(drawing::key(view, side)))
                    figcaption { (view.title) @if let Some((side, _)) = side { ", the " (side.word()) " side marked" } }
                }
            }
        }
    }
}

/// The side a characteristic is measured at: where there is one, it is the last word of its id, as in
/// `formed.height.left`. Ids are the left piece's: on the right one left and right change places.
fn side(id: &CharacteristicId, hand: Option<Hand>) -> Option<Side> {
    let (_, last) = id.as_str().rsplit_once('.')?;
    let side = [Side::Left, Side::Right, Side::Top, Side::Bottom]
        .into_iter()
        .find(|side| side.word() == last)?;
    Some(match (hand, side) {
        (Some(Hand::Right), Side::Left) => Side::Right,
        (Some(Hand::Right), Side::Right) => Side::Left,
        _ => side,
    })
}

fn shows(view: &View, id: &CharacteristicId) -> bool {
    view.dimensions.iter().any(|d| &d.characteristic == id)
}

fn draw(scene: &Scene<'_>, work: Work<'_>, view: &View) -> Markup {
    let mark = |id: &CharacteristicId| match work.verdict(id) {
        Some(Verdict::Pass) => Some(Mark::Pass),
        Some(Verdict::TooSmall) => Some(Mark::TooSmall),
        Some(Verdict::TooLarge) => Some(Mark::TooLarge),
        Some(Verdict::Undecided) => Some(Mark::Undecided),
        None => is_held(scene, id).then_some(Mark::Held),
    };
    let style = Style {
        units: scene.units(),
        due: scene.due().map(|(c, _)| &c.id),
        marks: &mark,
        standalone: false,
    };
    PreEscaped(drawing::svg(view, work.plan, &style))
}
