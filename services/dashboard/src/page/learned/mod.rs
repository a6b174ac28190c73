//! Pages of what many readings say together. They are drawn when asked for and do not renew themselves; forms on them
//! ask only, so that all of it works without JavaScript.

mod chart;
mod figures;
mod list;
mod offences;
mod pairing;
mod plot;
mod springback;

use maud::{Markup, html};
use shared_types::{DisplayUnits, Quantity, Seq, show, show_excess};

use super::shell;

pub(crate) use chart::chart;
pub(crate) use list::list;
pub(crate) use pairing::pairing;
pub(crate) use springback::springback;

/// The page around it.
fn frame(title: &str, seq: Seq, body: &Markup) -> Markup {
    shell(
        title,
        html! {
            main.learned {
                nav.above aria-label="where you are" {
                    a href="/" { "Bench" }
                    a href="/trends" { "Trends" }
                    a href="/springback" { "Springback" }
                }
                (body)
                footer.cautions {
                    p { "Guidance, not acceptance: this page says how the work runs, not that a part is good or airworthy. The plans, the local rules and a licensed inspector decide." }
                    p { "As of entry " (seq) ". Load the page again to see what came since." }
                }
            }
        },
        false,
    )
}

/// In the build's units.
fn shown(quantity: Quantity, units: DisplayUnits) -> String {
    show(quantity, units).to_string()
}

/// A computed value is no fraction of an inch of anybody's.
fn computed(quantity: Quantity, units: DisplayUnits) -> String {
    shown(quantity, decimal(units))
}

/// A scatter, which must not read as none where it is small.
fn scatter(quantity: Quantity, units: DisplayUnits) -> String {
    let none = quantity.with_raw(0);
    none.and_then(|none| show_excess(quantity, none, decimal(units)))
        .map_or_else(|| shown(quantity, units), |shown| shown.to_string())
}

const fn decimal(units: DisplayUnits) -> DisplayUnits {
    match units {
        DisplayUnits::InFractions => DisplayUnits::In,
        same => same,
    }
}

/// `1 reading`, `3 readings`.
fn counted(n: usize, one: &str, more: &str) -> String {
    match n {
        1 => format!("1 {one}"),
        n => format!("{n} {more}"),
    }
}
