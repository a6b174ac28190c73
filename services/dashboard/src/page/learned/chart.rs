//! One characteristic over all pieces: its chart, what breaks a rule, its figures, and the values themselves.

use maud::{Markup, html};
use shared_types::{Limits, Verdict};

use super::figures::figures;
use super::offences::said;
use super::plot::{DRAWN_MAX, plot};
use super::{computed, counted, frame, scatter, shown};
use crate::learned::control::{Control, Kind, POINTS_MIN, POINTS_USUAL, RULE_SETS, WEIGHT};
use crate::learned::figures::Percent;
use crate::learned::{Asked, Looked};

/// The whole page.
pub(crate) fn chart(looked: &Looked) -> Markup {
    let series = &looked.series;
    let c = &series.characteristic;
    let body = html! {
        h1 { (series.part) " · " (c.name) }
        p.title { (series.title) ", " (c.stage) ", number " (c.number) }
        p {
            "Measured on " (series.points.len()) " of " (counted(series.planned, "piece", "pieces")) ". The plan wants "
            b { (shown(c.nominal, series.units)) } (within(&c.limits, series.units)) "."
        }
        @if series.pairs { p.soft { "Left and right pieces stand together; the name is that on the left one." } }
        @if series.is_moved() { p.soft { "The plan's nominal moves with the mating piece. Charted is each value less that movement, as if every piece were made to " (shown(c.nominal, series.units)) "; the values as read are in the list below." } }
        @if series.otherwise > 0 { p.soft { (counted(series.otherwise, "value is", "values are")) " left out: the plan wanted another size when it was judged, or what it wanted is no longer kept in memory." } }
        (ask(looked))
        section {
            h2.rule { span { (looked.asked.kind.words()) } }
            @match &looked.control {
                Ok(control) => { (charts(looked, control)) }
                Err(untold) => { p.untold { "Not drawn: " (untold) "." } }
            }
        }
        (figures(looked))
        (values(looked))
    };
    frame(&format!("{} · {}", series.part, c.name), series.seq, &body)
}

fn within(limits: &Limits, units: shared_types::DisplayUnits) -> String {
    match (limits.lower(), limits.upper()) {
        (Some(lower), Some(upper)) => {
            format!(", {} to {}", shown(lower, units), shown(upper, units))
        }
        (Some(lower), None) => format!(", {} or more", shown(lower, units)),
        (None, Some(upper)) => format!(", {} or less", shown(upper, units)),
        (None, None) => String::new(),
    }
}

/// What else can be asked. A form that reads: nothing is posted.
fn ask(looked: &Looked) -> Markup {
    let Asked {
        kind,
        rules,
        coverage,
        confidence,
    } = looked.asked;
    let grouped = looked.series.group > 1;
    let kinds = Kind::ALL
        .into_iter()
        .filter(|kind| grouped || matches!(kind, Kind::Individuals | Kind::Weighted));
    let percents = |chosen: Percent| {
        html! { @for percent in Percent::ALL { option value=(percent.whole()) selected[percent == chosen] { (percent.whole()) " %" } } }
    };
    html! {
        form.asks method="get" {
            label { span { "Chart" } select name="chart" {
                @for one in kinds { option value=(one.word()) selected[one == kind] { (one.words()) } }
            } }
            label { span { "Run rules" } select #rules name="rules" {
                @for (at, (word, set)) in RULE_SETS.iter().enumerate() {
                    option value=(word) selected[*set == rules] { (set.name()) @if at == 0 { " (the usual one)" } }
                }
            } }
            label { span { "Confidence" } select name="confidence" { (percents(confidence)) } }
            label { span { "Part of all pieces" } select name="coverage" { (percents(coverage)) } }
            button #show type="submit" { "Show" }
        }
    }
}

fn charts(looked: &Looked, control: &Control) -> Markup {
    let series = &looked.series;
    let single = control.kind == Kind::Individuals;
    let plan = single.then_some(&series.characteristic.limits);
    let n = control.main.marks.len();
    let breaking = |drawn: &crate::learned::control::Drawn| {
        let marks = drawn.marks.iter();
        marks
            .filter(|mark| mark.beyond || !mark.rules.is_empty())
            .count()
    };
    let label = |drawn: &crate::learned::control::Drawn| {
        format!(
            "Chart of {} {}, {} marked; the same stands in words below",
            drawn.marks.len(),
            drawn.what,
            breaking(drawn)
        )
    };
    html! {
        @match &control.taken {
            None => p.untold { "No limits: " (counted(n, "point is", "points are")) " too few to take limits from, expected " (POINTS_MIN) " or more." },
            Some(taken) => {
                p {
                    "Limits three standard deviations about the centre, taken from these " (counted(taken.readings, "reading", "readings"))
                    ": centre " b { (computed(taken.centre, series.units)) } ", standard deviation of one reading "
                    b { (scatter(taken.sigma, series.units)) }
                    (match control.kind {
                        Kind::Individuals | Kind::Weighted => ", from the steps between neighbours.",
                        Kind::Ranges | Kind::Deviations => ", from the scatter within a piece.",
                    })
                    @if control.kind == Kind::Weighted { " Each average takes " (WEIGHT) " of the newest reading." }
                }
                @if n < POINTS_USUAL { p.untold { "Trial limits: from " (counted(n, "point", "points")) ", where " (POINTS_USUAL) " or more are usual." } }
            }
        }
        figure {
            (plot(series, &control.main, plan, &label(&control.main)))
            figcaption { (control.main.what) (units_of(series.units, series.characteristic.nominal)) }
        }
        p.key {
            "● a point"
            @if single { "  ▲ too large  ▼ too small, by the limits of the plan" }
            "  ▢ with a number: stands in a pattern that breaks the rule of that number; with !: beyond its limits"
        }
        @if let Some(spread) = &control.spread {
            figure {
                (plot(series, spread, None, &label(spread)))
                figcaption { (spread.what) (units_of(series.units, series.characteristic.nominal)) }
            }
        }
        @if control.taken.is_some() { (said(looked, control)) }
    }
}

fn units_of(units: shared_types::DisplayUnits, like: shared_types::Quantity) -> String {
    let unit = shared_types::show(like, super::decimal(units)).unit;
    format!(", {unit}; numbers along the foot are those of the list below")
}

/// The values as read, newest last, as the chart numbers them.
fn values(looked: &Looked) -> Markup {
    let series = &looked.series;
    let moved = series.is_moved();
    let skipped = series.points.len().saturating_sub(DRAWN_MAX);
    let marks = |at: usize| {
        let control = looked.control.as_ref().ok()?;
        let mark = control.main.marks.iter().find(|mark| mark.of == at)?;
        let rules: Vec<String> = mark.rules.iter().map(ToString::to_string).collect();
        match (rules.is_empty(), mark.beyond) {
            (false, _) => Some(format!("rule {}", rules.join(", "))),
            (true, true) => Some("beyond its limits".to_owned()),
            (true, false) => None,
        }
    };
    html! {
        section {
            h2.rule { span { "The values" } }
            @if skipped > 0 { p.soft { "Listed are the newest " (DRAWN_MAX) "." } }
            @if series.points.is_empty() { p { "None yet." } } @else {
                div.wide tabindex="0" role="region" aria-label="the values" { table {
                    thead { tr {
                        th { "No." } th { "Piece" } th { "As read" }
                        @if moved { th { "Charted" } }
                        @if series.group > 1 { th { "Readings of its mean" } }
                        th { "Verdict" } th { "On the chart" } th { "Entry" }
                    } }
                    tbody {
                        @for (at, point) in series.points.iter().enumerate().skip(skipped) {
                            tr {
                                td.n { (at + 1) }
                                td.n { (point.piece) }
                                td.n { (shown(point.value, series.units)) }
                                @if moved { td.n { (shown(point.charted, series.units)) } }
                                @if series.group > 1 { td {
                                    @for (nth, reading) in point.group.iter().enumerate() { @if nth > 0 { ", " } (shown(*reading, series.units)) }
                                    @if point.group.is_empty() { "not all taken" }
                                } }
                                td.n { @match point.verdict { Verdict::Pass => "pass", Verdict::TooLarge => "▲ too large", Verdict::TooSmall => "▼ too small", Verdict::Undecided => "◆ undecided" } }
                                td.n { (marks(at).unwrap_or_default()) }
                                td.n { (point.seq) }
                            }
                        }
                    }
                } }
            }
        }
    }
}
