//! Gauges of the bench, and the line to the broker.

use maud::{Markup, html};
use shared_types::{GaugeSetup, GaugeState};

use super::scene::Scene;

/// Gauges shown one by one. Where there are more, only some that cannot be heard are, and how many there
/// are in all: the reading must stay on a phone's first screen.
const LISTED_MAX: usize = 6;
const AWAY_LISTED_MAX: usize = 3;

pub(super) fn gauges(scene: &Scene<'_>) -> Markup {
    let all: Vec<&GaugeSetup> = scene.gauges().collect();
    let few = all.len() <= LISTED_MAX;
    let most = if few { LISTED_MAX } else { AWAY_LISTED_MAX };
    let looked_after = |gauge: &&&GaugeSetup| few || is_away(scene, gauge);
    let shown: Vec<_> = all.iter().filter(looked_after).take(most).collect();
    html! {
        ul.gauges aria-label="gauges" {
            @for gauge in &shown { (gauge_line(scene, gauge)) }
            @if shown.len() < all.len() {
                li { details.more #all-gauges {
                    summary { "all " (all.len()) " gauges" }
                    ul { @for gauge in &all { (gauge_line(scene, gauge)) } }
                } }
            }
            @if let Some(links) = &scene.links {
                li.link { "broker: " (links) }
            }
            @if !scene.bench.operator.is_empty() {
                li.operator { "at work: " strong { (scene.bench.operator) } }
            }
        }
    }
}

/// Whether it is known not to be heard.
pub(super) fn is_away(scene: &Scene<'_>, gauge: &GaugeSetup) -> bool {
    let state = scene.shop.gauges.get(&gauge.id).map(|sight| sight.state);
    matches!(
        state,
        Some(GaugeState::Unplugged | GaugeState::Offline | GaugeState::Silent)
    )
}

fn gauge_line(scene: &Scene<'_>, gauge: &GaugeSetup) -> Markup {
    let sight = scene.shop.gauges.get(&gauge.id);
    let state = sight.map_or(GaugeState::Unknown, |sight| sight.state);
    let garbled = sight.map_or(0, |sight| sight.garbled);
    let suppressed = sight.map_or(0, |sight| sight.suppressed);
    let trouble = sight.and_then(|sight| sight.trouble);
    let checks = sight.map(|sight| &sight.checks);
    let wrong = checks.is_some_and(|checks| checks.failing().is_some());
    let checking = checks.is_some_and(|checks| checks.checking.is_some());
    // Typed entry has no plug to pull.
    let typed = gauge.kind.is_none();
    let (class, word) = match state {
        _ if typed => ("there", "typed in"),
        GaugeState::Connected => ("there", "connected"),
        GaugeState::Unplugged => ("away", "unplugged"),
        GaugeState::Offline => ("away", "offline"),
        GaugeState::Silent => ("away", "silent"),
        GaugeState::Unknown => ("unknown", "not heard yet"),
    };
    html! {
        li.gauge.(class) {
            svg.plug viewBox="0 0 20 20" aria-hidden="true" focusable="false" {
                @match class {
                    "there" => { circle cx="10" cy="10" r="7" class="full" {} }
                    "away" => { path d="M4 4L16 16M16 4L4 16" class="line" {} }
                    _ => { circle cx="10" cy="10" r="7" class="line dashed" {} }
                }
            }
            span { (gauge.title) }
            // The filled mark says it for the eye; the word is there for the ear.
            small.unseen[class == "there"] { (word) }
            @if let Some(trouble) = trouble { small.wrong { (trouble) } }
            @if wrong { small.wrong { "failed its check" } }
            @if checking { small.asks { "being checked" } }
            // While it is checked the button stands in the check.
            @if scene.asking.can(&gauge.id) && !checking {
                form.ask method="post" action="/api/asks" {
                    input type="hidden" name="gauge" value=(gauge.id);
                    button { "Take a reading" }
                }
            }
            @if garbled > 0 { small { (garbled) " garbled" } }
            @if suppressed > 0 { small title="frames that were no new reading" { (suppressed) " passed over" } }
        }
    }
}
