//! The pages. Every instrument's and person's text goes through `maud`, which escapes it.

mod budget;
mod changed;
mod choose;
mod computed;
mod correct;
mod decide;
mod form;
mod gauges;
mod glyph;
mod grounds;
mod held;
mod last;
pub(crate) mod learned;
mod mate;
mod now;
mod picture;
mod scale;
mod scene;
mod steps;
mod study;
mod study_page;
mod top;
mod trust;
mod warm;

use maud::{DOCTYPE, Markup, html};
use shared_types::{BenchId, Shop};

use crate::problem::Problem;
use crate::state::{App, Drawn};
use scene::Scene;

pub(crate) use study_page::study;

/// What a bench shows now: the whole of it, as the live stream sends it and the page begins with it.
/// Each section has an id of its own, by which the page's module replaces what has changed.
pub(crate) fn fragment(shop: &Shop, bench: &BenchId, app: &App, now_us: i64) -> Option<Markup> {
    let plan = scene::plan_of_work(shop, bench);
    let scene = Scene::new(shop, bench, app, now_us, plan.as_deref())?;
    Some(html! {
        (top::top(&scene))
        // Two columns where there is room. The reading comes first for the ear and the Tab key; on a phone
        // all sections stand in one column.
        div.right {
            (trust::checking(&scene))
            (study::under_way(&scene))
            (changed::changed(&scene))
            (decide::nobody(&scene))
            (last::last(&scene))
            (now::now(&scene))
            (decide::decide(&scene))
            (now::how(&scene))
        }
        div.left {
            (picture::picture(&scene))
            (steps::steps(&scene))
            (computed::computed(&scene))
            (mate::mate(&scene))
        }
        (held::held(&scene))
        (trust::trust(&scene))
        (warm::warm(&scene))
        (choose::choose(&scene))
        (foot())
    })
}

/// The page around a bench.
pub(crate) fn whole(shop: &Shop, bench: &BenchId, drawn: &Drawn) -> Markup {
    let setup = shop.setup.as_ref();
    let build = setup.map_or("", |setup| setup.build.as_str());
    let several = setup.is_some_and(|setup| setup.benches.len() > 1);
    let title = setup
        .and_then(|setup| setup.benches.iter().find(|(id, _)| id == bench))
        .map_or("", |(_, title)| title.as_str());
    shell(
        &format!("{title} · {build}"),
        html! {
            p.lost #lost role="alert" hidden {
                "Not connected: what you see is as of " span #lost-at { "the time this page was loaded" } "."
            }
            p.refused #refused role="alert" hidden {}
            p.unseen #said role="status" aria-live="polite" {}
            noscript {
                p.lost { "Without JavaScript this page does not renew itself. " a href={ "/bench/" (bench) } { "Look again" } }
            }
            main.bench #bench data-bench=(bench) data-seq=(drawn.seq) { (maud::PreEscaped(drawn.html.as_ref())) }
            nav.below aria-label="more" {
                span { (build) @if !title.is_empty() { " · " (title) } }
                @if several { a href="/" { "All benches" } }
                a href="/trends" { "Trends" }
                a href="/springback" { "Springback" }
                a href="/api/record.csv" { "Record as CSV" }
                a href="/api/record.json" { "Record as JSON, with its checkpoint" }
            }
        },
        true,
    )
}

/// Where there are several benches, or none.
pub(crate) fn benches(shop: &Shop) -> Markup {
    let setup = shop.setup.as_ref();
    let build = setup.map_or("", |setup| setup.build.as_str());
    shell(
        build,
        html! {
            main.plain {
                h1 { (build) }
                @if let Some(setup) = setup.filter(|setup| !setup.benches.is_empty()) {
                    p { "Which bench is this?" }
                    ul.doors {
                        @for (id, title) in &setup.benches {
                            li { a href={ "/bench/" (id) } {
                                strong { (title) }
                                @if let Some((piece, stage)) = shop.benches.get(id).and_then(|b| b.on_bench.as_ref()) {
                                    span { (piece.spoken()) ", " (stage) }
                                } @else { span.soft { "nothing lies there" } }
                            } }
                        }
                    }
                } @else {
                    p { "There is no bench in this configuration. Add one to oddleg.toml and start oddleg again." }
                }
            }
        },
        false,
    )
}

/// A problem for a person.
pub(crate) fn problem(problem: &Problem) -> Markup {
    shell(
        problem.title,
        html! {
            main.plain {
                h1 { (problem.title) }
                p { (problem.detail) }
                p { a href="/" { "Back to the bench" } }
            }
        },
        false,
    )
}

fn shell(title: &str, body: Markup, live: bool) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="dark light";
                title { (title) }
                link rel="stylesheet" href="/assets/bench.css";
                link rel="icon" type="image/svg+xml" href="/assets/mark.svg";
                @if live { script type="module" src="/assets/bench.js" {} }
            }
            body { (body) }
        }
    }
}

fn foot() -> Markup {
    html! {
        footer.cautions #s-foot {
            p { "Cut edges are sharp: gloves on, deburr before you measure." }
            p { "This screen compares numbers with the plan; it does not say a part is airworthy. The plans, the local rules and a licensed inspector decide." }
        }
    }
}
