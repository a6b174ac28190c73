//! What the uncertainty of a gauge is made of, as a table beside the gauge.

use inspection::{Told, told};
use maud::{Markup, html};
use shared_types::{Angle, GaugeKind, GaugeSetup, Length, PM_PER_MM, Quantity};

use super::grounds::small;
use super::scene::Scene;

/// A caliper's budget is for what is to be measured now, or else for this; an angle gauge's for a right angle.
const USUAL_MM: i64 = 100;

pub(super) fn budget(scene: &Scene<'_>, gauge: &GaugeSetup) -> Markup {
    let Some(size) = size(scene, gauge) else {
        return html! {};
    };
    let Some(told) = told(scene.shop, gauge, size) else {
        return html! {
            p.soft { "Nothing is known of its uncertainty: state its " code { "limit_of_error" } " or " code { "[[gauge." (gauge.id) ".uncertainty]]" } " in oddleg.toml." }
        };
    };
    html! {
        details.more id={ "budget-" (gauge.id) } {
            summary { "Its uncertainty: U = " (small(told.expanded)) " at " (scene.shown(size)) }
            (table(&told))
        }
    }
}

/// The size it is told for: of what is due where this gauge measures that.
fn size(scene: &Scene<'_>, gauge: &GaugeSetup) -> Option<Quantity> {
    let kind = gauge.kind?;
    let due = scene.due().filter(|(due, _)| due.gauge == kind);
    if let Some((due, _)) = due {
        return Some(due.nominal);
    }
    match kind {
        GaugeKind::Caliper => Length::from_pm(USUAL_MM * PM_PER_MM).map(Quantity::Length),
        GaugeKind::AngleGauge => Angle::from_mas(90 * 3_600_000).map(Quantity::Angle),
    }
}

fn table(told: &Told) -> Markup {
    let k = format!("{}.{:02}", told.k_hundredths / 100, told.k_hundredths % 100);
    html! {
        div.wide { table.budget {
            thead { tr { th { "Part" } th { "Distribution" } th { "u" } th { "Share" } th { "From" } } }
            tbody {
                @for row in &told.rows {
                    tr {
                        td { (row.name) @if row.averages { ", smaller in a mean" } }
                        td { (row.spread.word()) @if let Some(freedom) = row.freedom { ", " (freedom) " degrees of freedom" } }
                        td.n { (small(row.standard)) }
                        td.n { (row.percent) " %" }
                        td { (row.source) }
                    }
                }
                tr {
                    td { strong { "combined" } }
                    td { @if let Some(freedom) = told.freedom { (freedom) " degrees of freedom" } }
                    td.n { (small(told.standard)) }
                    td {}
                    td { "root of the sum of squares (GUM 5.1.2)" }
                }
                tr {
                    td { strong { "expanded, 95 %" } }
                    td { "k = " (k) }
                    td.n { (small(told.expanded)) }
                    td {}
                    td { "U = k u" }
                }
            }
        } }
    }
}
