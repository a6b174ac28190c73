//! How far the gauges of the bench can be trusted: a check under way, readings in doubt, what is overdue, and
//! the way to check a gauge.

use maud::{Markup, html};
use shared_types::{
    Check, Checking, Counted, Faces, GaugeSetup, Quantity, Reference, Seq, Verdict, ZERO, show,
};

use super::budget::budget;
use super::form::button;
use super::scene::Scene;
use super::study;
use crate::clock::{day_and_time, day_of};
use crate::due::{CheckDue, calibration_ended, check_due};

/// Readings in doubt listed for one gauge: as many as a person can look through. The record lists all.
const SUSPECTS_LISTED_MAX: usize = 24;

pub(super) fn trust(scene: &Scene<'_>) -> Markup {
    let instruments: Vec<&GaugeSetup> = scene.gauges().filter(|g| g.kind.is_some()).collect();
    if instruments.is_empty() {
        return html! { section.trust #s-trust hidden {} };
    }
    html! {
        section.trust #s-trust aria-label="trust in the gauges" {
            @for gauge in &instruments { (failing(scene, gauge)) (suspects(scene, gauge)) }
            @for gauge in &instruments { (overdue(scene, gauge)) }
            details.more #check-gauges {
                summary { "Gauges, and how to check one" }
                div.instruments { @for gauge in &instruments { (instrument(scene, gauge)) } }
            }
        }
    }
}

/// Checks that wait for their reading: first of all, because the next reading is of no piece.
pub(super) fn checking(scene: &Scene<'_>) -> Markup {
    let is_checking = |gauge: &GaugeSetup| {
        let checks = scene.shop.checks(&gauge.id);
        checks.is_some_and(|checks| checks.checking.is_some())
    };
    let under_way: Vec<&GaugeSetup> = scene.gauges().filter(|gauge| is_checking(gauge)).collect();
    html! {
        section.checking #s-checking aria-label="check under way" hidden[under_way.is_empty()] {
            @for gauge in under_way { (waits(scene, gauge)) }
        }
    }
}

fn waits(scene: &Scene<'_>, gauge: &GaugeSetup) -> Markup {
    let checks = scene.shop.checks(&gauge.id);
    let Some(Checking { reference, .. }) = checks.and_then(|checks| checks.checking.as_ref())
    else {
        return html! {};
    };
    let id = format!("check-{}-typed", gauge.id);
    html! {
        h2.rule.asks { span { "Checking " (gauge.title) } }
        p.what { span { (how(reference)) } }
        p { "The next reading of this gauge is its check, and of no piece." }
        div.row {
            @if scene.asking.can(&gauge.id) {
                (button(
                    &format!("check-{}-ask", gauge.id),
                    "/api/asks",
                    &[("gauge", gauge.id.as_str())],
                    "",
                    &html! { "Take a reading" },
                ))
            }
            form.row action="/api/readings" method="post" autocomplete="off" {
                input type="hidden" name="id" value="" data-once="";
                input type="hidden" name="gauge" value=(gauge.id);
                label for=(id) { "or type what it shows" }
                input id=(id) type="text" name="text" required maxlength="64" enterkeyhint="send" spellcheck="false" autocapitalize="off";
                button id={ (id) "-send" } type="submit" { "Record it" }
            }
            (button(
                &format!("check-{}-leave", gauge.id),
                "/api/checks",
                &[("bench", scene.id.as_str()), ("gauge", gauge.id.as_str()), ("leave", "yes")],
                "",
                &html! { "Leave the check" },
            ))
        }
    }
}

/// What is done before the button is pressed.
const fn at_zero(reference: &Reference) -> &'static str {
    match reference.value {
        Quantity::Length(_) => "with closed jaws",
        Quantity::Angle(_) => "lying where it is zeroed",
    }
}

fn how(reference: &Reference) -> String {
    if reference.name == ZERO {
        return match reference.value {
            Quantity::Length(_) => "Wipe the jaws and close them".to_owned(),
            Quantity::Angle(_) => "Lay it on the surface it is zeroed on".to_owned(),
        };
    }
    let with = match reference.faces {
        Faces::Outside => "",
        Faces::Inside => ", with the inside jaws",
        Faces::Depth => ", with the depth bar",
    };
    format!("Measure {}, {}{with}", reference.name, reference.value)
}

/// A gauge that is wrong now.
fn failing(scene: &Scene<'_>, gauge: &GaugeSetup) -> Markup {
    let Some(check) = scene.shop.checks(&gauge.id).and_then(|c| c.failing()) else {
        return html! {};
    };
    html! {
        h2.rule.wrong { span { "Do not trust " (gauge.title) } }
        p { strong { (finding(scene, check)) "." } " Clean it, set it, and check it again; nothing is corrected by itself." }
        (no_check(scene, check.seq, "failing"))
    }
}

/// A check that was none does not count, and what it said of other readings neither.
pub(super) fn no_check(scene: &Scene<'_>, seq: Seq, place: &str) -> Markup {
    let id = format!("{place}-{seq}-void");
    html! {
        details.more id={ (id) "-more" } {
            summary { "That was no proper check" }
            form.row action="/api/voids" method="post" {
                input type="hidden" name="bench" value=(scene.id);
                input type="hidden" name="reading" value=(seq);
                label for=(id) { "why it does not count" }
                input id=(id) type="text" name="reason" required maxlength="400" autocomplete="off";
                button id={ (id) "-send" } type="submit" { "Void the check" }
            }
        }
    }
}

/// `0.04 mm too large at gauge block 25: 25.04 mm, may be off by 0.02 mm`.
fn finding(scene: &Scene<'_>, check: &Check) -> String {
    let value = show(check.value, scene.units());
    let limit = exact(check.limit);
    match (check.verdict, check.error()) {
        (Verdict::Pass, Some(error)) => {
            format!(
                "Right at {}: {value}, off by {}, may be {limit}",
                check.reference,
                exact(error)
            )
        }
        (verdict, Some(error)) => format!(
            "It showed {value} at {} ({}): off by {}, {verdict}, may be {limit}",
            check.reference,
            exact(check.wanted),
            exact(error),
        ),
        (verdict, None) => format!("It showed {value} at {}: {verdict}", check.reference),
    }
}

/// Errors are small and must not be rounded away.
fn exact(quantity: Quantity) -> String {
    quantity.to_string()
}

fn suspects(scene: &Scene<'_>, gauge: &GaugeSetup) -> Markup {
    let Some(checks) = scene.shop.checks(&gauge.id) else {
        return html! {};
    };
    let suspects = checks.suspects();
    let listed = suspects.listed.len();
    if listed == 0 && suspects.more == 0 {
        return html! {};
    }
    let all = u64::try_from(listed)
        .unwrap_or(u64::MAX)
        .saturating_add(suspects.more);
    let shown = suspects.listed.iter().rev().take(SUSPECTS_LISTED_MAX);
    let not_shown = all.saturating_sub(u64::try_from(listed.min(SUSPECTS_LISTED_MAX)).unwrap_or(0));
    html! {
        h2.rule.wrong { span { (all) @if all == 1 { " reading" } @else { " readings" } " of " (gauge.title) " in doubt" } }
        p { "Taken since its last good check. Their verdicts stand; measure again with a gauge that is right, or void them." }
        details.more id={ "suspects-" (gauge.id) } {
            summary { "Look through them" }
            ul.suspects { @for (seq, counted) in shown { (suspect(scene, *seq, counted)) } }
            @if not_shown > 0 || suspects.maybe_older {
                p.soft {
                    @if not_shown > 0 { (not_shown) " more, older ones: " }
                    @else { "There may be older ones: " }
                    "the record (" a href="/api/record.csv" { "CSV" } ", column \"suspect\") lists all."
                }
            }
        }
    }
}

fn suspect(scene: &Scene<'_>, seq: Seq, counted: &Counted) -> Markup {
    let plan = scene.shop.plan_for(&counted.piece);
    let name = plan
        .as_ref()
        .and_then(|plan| plan.characteristic(&counted.characteristic))
        .map_or_else(
            || counted.characteristic.to_string(),
            |c| format!("{} · {}, {}", c.number, c.name, c.stage),
        );
    let id = format!("suspect-{seq}");
    html! {
        li {
            p { strong { (counted.piece.spoken()) } " · " (name) }
            p.soft { (scene.shown(counted.value)) ", " (counted.verdict) " · " (day_and_time(counted.at_us, scene.zone)) " · entry " (seq) }
            (button(
                &id,
                "/api/voids",
                &[("bench", scene.id.as_str()), ("reading", &seq.to_string()), ("reason", "the gauge failed its check")],
                "",
                &html! { "Void it" },
            ))
        }
    }
}

/// What is late: one line a gauge.
fn overdue(scene: &Scene<'_>, gauge: &GaugeSetup) -> Markup {
    let late = match check_due(scene.shop, gauge, scene.now_us) {
        Some(CheckDue::Never) => {
            let checks = scene.shop.checks(&gauge.id);
            let tried = checks.is_some_and(|checks| checks.last().is_some());
            let word = if tried {
                "has not passed a check yet"
            } else {
                "has never been checked"
            };
            Some(word.to_owned())
        }
        Some(CheckDue::Late { days: 0 }) => Some("is due for its check today".to_owned()),
        Some(CheckDue::Late { days: 1 }) => Some("is overdue for its check by a day".to_owned()),
        Some(CheckDue::Late { days }) => Some(format!("is overdue for its check by {days} days")),
        Some(CheckDue::By { .. }) | None => None,
    };
    let ended = calibration_ended(gauge, scene.today);
    html! {
        @if let Some(late) = late { p.late { strong { (gauge.title) } " " (late) "." } }
        @if let Some(until) = ended { p.late { "The calibration of " strong { (gauge.title) } " ended on " (until) "." } }
    }
}

/// All that is known of a gauge, and the buttons that check it.
fn instrument(scene: &Scene<'_>, gauge: &GaugeSetup) -> Markup {
    let trust = &gauge.trust;
    let sight = scene.shop.gauges.get(&gauge.id);
    let counts = sight.map_or_else(String::new, |s| {
        format!(
            "{} readings, {} held, {} passed over, {} garbled",
            s.readings, s.held, s.suppressed, s.garbled
        )
    });
    let last = sight.and_then(|s| s.last.as_ref());
    let limit = trust.limit_of_error.map(|limit| limit.to_string());
    html! {
        div.instrument {
            h3 { (gauge.title) @if !gauge.serial_number.is_empty() { " " small { "no. " (gauge.serial_number) } } }
            dl {
                @if let Some(last) = last { dt { "last" } dd { (last.digits) " " (last.unit.sign()) } }
                @if !counts.is_empty() { dt { "sent" } dd { (counts) } }
                @if let Some(step) = trust.resolution { dt { "step" } dd { (exact(step)) } }
                dt { "may be off by" } dd { (limit.as_deref().unwrap_or("not stated")) }
                @if let Some(until) = trust.calibrated_until { dt { "calibrated until" } dd { (until) } }
                @if let Some(check) = sight.and_then(|s| s.checks.last()) {
                    dt { "last check" } dd { (day_and_time(check.at_us, scene.zone)) ". " (finding(scene, check)) }
                }
                @if let Some(CheckDue::By { at_us }) = check_due(scene.shop, gauge, scene.now_us) {
                    dt { "next check by" } dd { (day_of(at_us, scene.zone)) }
                }
            }
            (budget(scene, gauge))
            (begin(scene, gauge))
            (study::begin(scene, gauge))
        }
    }
}

/// One button for each reference the gauge may be checked against.
fn begin(scene: &Scene<'_>, gauge: &GaugeSetup) -> Markup {
    let references: Vec<Reference> = gauge.kind.map_or_else(Vec::new, |kind| {
        let all = gauge.trust.all_references(kind);
        all.filter(|r| gauge.trust.limit_at(r.value, r.faces).is_some())
            .collect()
    });
    html! {
        @if references.is_empty() {
            p.soft { "To check it here, state its " code { "limit_of_error" } " in oddleg.toml." }
        }
        div.keys {
            @for (index, reference) in references.iter().enumerate() {
                (button(
                    &format!("check-{}-{index}", gauge.id),
                    "/api/checks",
                    &[("bench", scene.id.as_str()), ("gauge", gauge.id.as_str()), ("against", &reference.name)],
                    "",
                    &html! {
                        @if reference.name == ZERO {
                            "Zero check"
                            // It is asked as soon as the button is pressed.
                            @if scene.asking.can(&gauge.id) { small { (at_zero(reference)) } }
                        }
                        @else { "Check at " (reference.name) small { (exact(reference.value)) } }
                    },
                ))
            }
        }
    }
}
