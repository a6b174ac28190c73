//! The figures of a series, and in words what they are worth.

use maud::{Markup, html};
use trends::{Capability, Interval};

use super::{computed, counted, scatter};
use crate::learned::figures::Figures;
use crate::learned::{Looked, Untold};

pub(super) fn figures(looked: &Looked) -> Markup {
    html! {
        section {
            h2.rule { span { "Capability" } }
            @match &looked.figures {
                Ok(figures) => { (told(looked, figures)) }
                Err(untold) => { p.untold { "No figures: " (untold) "." } }
            }
        }
    }
}

fn told(looked: &Looked, figures: &Figures) -> Markup {
    let units = looked.series.units;
    html! {
        dl {
            dt { "readings" } dd { (figures.n) }
            dt { "mean" } dd { (computed(figures.mean, units)) }
            @if let Some(sd) = figures.sd { dt { "standard deviation" } dd { (scatter(sd, units)) } }
            dt { "smallest and largest" } dd { (super::shown(figures.least, units)) " and " (super::shown(figures.most, units)) }
            @if let Ok(alike) = figures.alike { dt { "likeness of neighbours" } dd { (format!("{alike:.2}")) ", where 0 is none and 1 is drift; every chart and index here supposes none" } }
        }
        @match &figures.capability {
            Ok(capability) => { (indices(looked, capability)) }
            Err(untold) => { p.untold { "No Cp, Cpk, Pp or Ppk: " (untold) "." } }
        }
        (holds(looked, figures))
    }
}

fn indices(looked: &Looked, capability: &Capability) -> Markup {
    let percent = looked.asked.confidence.whole();
    let rows: [(&str, Option<Interval>, &str); 4] = [
        (
            "Cp",
            capability.cp,
            "tolerance over six standard deviations, from one reading to the next",
        ),
        ("Cpk", Some(capability.cpk), "the same to the nearer limit"),
        (
            "Pp",
            capability.pp,
            "tolerance over six standard deviations, of all readings",
        ),
        ("Ppk", Some(capability.ppk), "the same to the nearer limit"),
    ];
    html! {
        p.aloud { (capability.enough) "." }
        div.wide tabindex="0" role="region" aria-label="capability" { table #capability {
            thead { tr { th { "Index" } th { "Value" } th { (percent) " % interval" } th { "Which is" } } }
            tbody { @for (name, interval, words) in rows { tr {
                th scope="row" { (name) }
                @match interval {
                    Some(Interval { value, lower, upper }) => {
                        td.n { (format!("{value:.2}")) }
                        td.n { (format!("{lower:.2} to {upper:.2}")) }
                    }
                    None => { td.n { "none" } td { "with one limit only" } }
                }
                td { (words) }
            } } }
        } }
        p.soft { "They suppose normal readings from a process that runs as it did: where the chart marks a point, they say little." }
    }
}

fn holds(looked: &Looked, figures: &Figures) -> Markup {
    let (coverage, confidence) = (figures.coverage.whole(), figures.confidence.whole());
    html! {
        h3 { "Where pieces lie" }
        @match &figures.tolerance {
            Ok(holds) => {
                p #tolerance {
                    "With " (confidence) " % confidence at least " (coverage) " % of all pieces lie from "
                    b { (computed(holds.lower, looked.series.units)) } " to " b { (computed(holds.upper, looked.series.units)) }
                    ": mean ± " (format!("{:.3}", holds.factor)) " standard deviations of " (counted(figures.n, "reading", "readings"))
                    ", if they are normal."
                }
            }
            Err(untold) => { p.untold { (sentence(untold)) } }
        }
    }
}

fn sentence(untold: &Untold) -> String {
    format!("No tolerance interval: {untold}.")
}
