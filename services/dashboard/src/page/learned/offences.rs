//! What breaks a rule, in words.

use std::collections::BTreeSet;

use maud::{Markup, html};
use trends::{Offence, Rule};

use crate::learned::Looked;
use crate::learned::control::{Control, Drawn, Kind};
use crate::learned::series::Series;

pub(super) fn said(looked: &Looked, control: &Control) -> Markup {
    let series = &looked.series;
    let outside = |drawn: &Drawn| {
        let beyond = drawn.marks.iter().filter(|mark| mark.beyond);
        let beyond = beyond.map(|mark| mark.of);
        beyond.map(|of| name(series, of)).collect::<Vec<_>>()
    };
    let own = match control.kind {
        Kind::Weighted => outside(&control.main),
        Kind::Individuals | Kind::Ranges | Kind::Deviations => Vec::new(),
    };
    let spread = control.spread.as_ref().map_or_else(Vec::new, outside);
    let runs = runs(&control.offences);
    let none = runs.is_empty() && own.is_empty() && spread.is_empty();
    let set = looked.asked.rules.name();
    html! {
        ul.offences #offences {
            @for run in &runs {
                @let places: Vec<usize> = run.points.iter().map(|at| control.main.marks[*at].of).collect();
                li { "▢ Rule " (run.rule.number) " of " (set) ", " (run.rule.text) ": " (spoken(series, &places)) }
            }
            @for place in &own { li { "▢ Weighted average beyond its limits: " (place) } }
            @if let Some(drawn) = &control.spread {
                @for place in &spread { li { "▢ In the " (drawn.what) ", beyond the limits: " (place) } }
            }
            @if none {
                li { "Nothing breaks "
                    @if control.kind == Kind::Weighted { "the limits of the weighted averages; run rules do not apply to them, since neighbours share readings." }
                    @else { "a rule of " (set) "." }
                }
            }
        }
        @if !none { p { "A pattern says that something changed, not what: see what was done otherwise about then." } }
    }
}

/// Offences against one rule that share points: a run that goes on is seen anew at every point.
struct Run {
    rule: &'static Rule,
    points: BTreeSet<usize>,
}

fn runs(offences: &[Offence]) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    for offence in offences {
        let known = runs.iter_mut().rev().find(|run| run.rule == offence.rule);
        match known {
            Some(run) if offence.points.iter().any(|at| run.points.contains(at)) => {
                run.points.extend(&offence.points);
            }
            _ => runs.push(Run {
                rule: offence.rule,
                points: offence.points.iter().copied().collect(),
            }),
        }
    }
    runs
}

/// `6 (B2/6) to 14 (B2/14)` of neighbours, otherwise each.
fn spoken(series: &Series, places: &[usize]) -> String {
    match places {
        [first, .., last] if places.len() > 2 && last - first + 1 == places.len() => {
            format!("{} to {}", name(series, *first), name(series, *last))
        }
        _ => {
            let named: Vec<String> = places.iter().map(|of| name(series, *of)).collect();
            named.join(", ")
        }
    }
}

fn name(series: &Series, of: usize) -> String {
    format!("{} ({})", of + 1, series.points[of].piece)
}
