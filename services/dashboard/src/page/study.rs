//! Studies of a gauge: what to measure next while one is under way, and the form that begins one.

use maud::{Markup, html};
use shared_types::{GaugeSetup, StudyCell, StudyPlan};

use super::form::button;
use super::scene::Scene;
use crate::clock::day_of;

/// A study under way: first of all, because the next readings are of no piece of the build.
pub(super) fn under_way(scene: &Scene<'_>) -> Markup {
    let all: Vec<Markup> = scene
        .gauges()
        .filter_map(|gauge| asks(scene, gauge))
        .collect();
    html! {
        section.checking #s-study aria-label="gauge study under way" hidden[all.is_empty()] {
            @for one in all { (one) }
        }
    }
}

fn asks(scene: &Scene<'_>, gauge: &GaugeSetup) -> Option<Markup> {
    let study = scene.shop.gauges.get(&gauge.id)?.studies.under_way()?;
    let next = study.next()?;
    let id = format!("study-{}-typed", gauge.id);
    let fields = |what| {
        [
            ("bench", scene.id.as_str()),
            ("gauge", gauge.id.as_str()),
            (what, "yes"),
        ]
    };
    Some(html! {
        h2.rule.asks { span { "Study of " (gauge.title) ": " (study.plan.of) } }
        p.what { span { (who(&study.plan, next)) " measures piece " (u16::from(next.piece) + 1) } }
        p {
            "Time " (u16::from(next.trial) + 1) " of " (study.plan.trials) "; "
            (study.done()) " of " (study.plan.size()) " readings are in. "
            "The pieces come in another order each time: do not look up what they measured before. "
            "Readings of this gauge are of the study, and of no piece of the build."
        }
        div.row {
            form.row action="/api/readings" method="post" autocomplete="off" {
                input type="hidden" name="id" value="" data-once="";
                input type="hidden" name="gauge" value=(gauge.id);
                label for=(id) { "or type what it shows" }
                input id=(id) type="text" name="text" required maxlength="64" enterkeyhint="send" spellcheck="false" autocapitalize="off";
                button id={ (id) "-send" } type="submit" { "Record it" }
            }
            (button(&format!("study-{}-leave", gauge.id), "/api/studies", &fields("leave"), "", &html! { "Leave the study" }))
        }
        p { a href={ "/studies/" (study.seq) } { "The study so far" } }
    })
}

/// Who measures at a place of the table.
pub(super) fn who(plan: &StudyPlan, cell: StudyCell) -> &str {
    let name = plan.appraisers.get(usize::from(cell.appraiser));
    name.map_or("", String::as_str)
}

/// What a gauge was studied for, and the way to study it again.
pub(super) fn begin(scene: &Scene<'_>, gauge: &GaugeSetup) -> Markup {
    let sight = scene.shop.gauges.get(&gauge.id);
    let studies = sight.map(|sight| &sight.studies);
    let id = |field: &str| format!("study-{}-{field}", gauge.id);
    html! {
        @if let Some(studies) = studies.filter(|studies| studies.all().next().is_some()) {
            p { "Studies: "
                @for study in studies.all().rev() {
                    a href={ "/studies/" (study.seq) } { (study.plan.of) ", " (day_of(study.at_us, scene.zone)) }
                    @if study.is_complete() { " " } @else { " (" (study.done()) " of " (study.plan.size()) ") " }
                }
            }
        }
        details.more id=(id("begin")) {
            summary { "Study how it repeats" }
            form.stack action="/api/studies" method="post" autocomplete="off" {
                input type="hidden" name="bench" value=(scene.id);
                input type="hidden" name="gauge" value=(gauge.id);
                p { "Lay out some pieces that differ as the work does, and number them. Each person measures each piece several times, in the order asked for here." }
                label for=(id("of")) { "what is measured" }
                input id=(id("of")) type="text" name="of" required maxlength="200" placeholder="width of ten strips";
                label for=(id("appraisers")) { "who measures, with commas between" }
                input id=(id("appraisers")) type="text" name="appraisers" required maxlength="200" value=(scene.bench.operator);
                label for=(id("pieces")) { "pieces, 2 to 30" }
                input id=(id("pieces")) type="number" name="pieces" min="2" max="30" value="10" required;
                label for=(id("trials")) { "times each, 2 to 10" }
                input id=(id("trials")) type="number" name="trials" min="2" max="10" value="3" required;
                label for=(id("width")) { "width of the tolerance it is for, if it is for one" }
                input id=(id("width")) type="text" name="width" maxlength="40" placeholder="0.4 mm";
                button id=(id("send")) type="submit" { "Begin the study" }
            }
        }
    }
}
