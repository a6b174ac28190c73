//! The only crate that knows how a plan is drawn: a view becomes an SVG that reads on a phone and on
//! paper. It knows nothing of families of parts, only strokes, dimensions and what is due.
//!
//! The look: thin scribed lines; every dimension by its number in a ring; exactly one marked, the one to
//! measure now, with its value written. Colours are the page's own (`--scribe`, `--faint`, `--mark`,
//! `--pass`, `--over`, `--under`, `--held`, `--sheet`, `--soft`); the rules that use them are [`CSS`].

// Coordinates on a screen are floats; no value or verdict is computed here.
#![expect(
    clippy::float_arithmetic,
    reason = "places on paper are computed here; values and verdicts never are"
)]

mod dimension;
mod face;
mod frame;
mod key;
mod label;
pub mod layout;
mod look;
mod loupe;
mod stroke;
mod value;
pub mod washer;

use maud::{Markup, PreEscaped, html};
use shared_types::{CharacteristicId, DisplayUnits, PartPlan, View, show};

use dimension::Drawn;
use frame::{Frame, number};
pub use key::{Side, key};
use label::Label;
pub use look::CSS;
use loupe::Loupe;
use value::Value;

/// What became of a characteristic, as marked on its ring: by colour and by the badge's shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// A tick.
    Pass,
    /// A point downward.
    TooSmall,
    /// A point upward.
    TooLarge,
    /// A broken ring with a point to either side.
    Undecided,
    /// A broken ring with a bar.
    Held,
}

/// How a view is to be drawn.
pub struct Style<'s> {
    /// Units of the value that is written.
    pub units: DisplayUnits,
    /// The one characteristic to measure now.
    pub due: Option<&'s CharacteristicId>,
    /// What became of each.
    pub marks: &'s dyn Fn(&CharacteristicId) -> Option<Mark>,
    /// Whether the drawing carries its own rules and colours, for a file that stands by itself.
    pub standalone: bool,
}

/// Draws a view of a plan. Dimensions of characteristics that the plan does not have are left out.
#[must_use]
pub fn svg(view: &View, plan: &PartPlan, style: &Style<'_>) -> String {
    let frame = Frame::fit(view);
    let drawn: Vec<Drawn<'_>> = dimension::gather(view, plan, style, &frame);
    let loupe = Loupe::over(view, &drawn, &frame);
    let obstacles = value::obstacles(view, &drawn, &frame);
    let labels = label::place(&drawn, &frame, loupe.as_ref().map(Loupe::area), &obstacles);
    let size = format!("0 0 {} {}", number(frame.width), number(frame.height));
    html! {
        svg xmlns="http://www.w3.org/2000/svg" class="drawn" viewBox=(size) role="img"
            aria-label=(spoken(view, plan, style))
        {
            @if style.standalone { style { (PreEscaped(look::STANDALONE)) (PreEscaped(CSS)) } }
            @if let Some(face) = face::path(view, &frame) { path class="face" d=(face) {} }
            @for group in stroke::groups(view, &frame) {
                path class=(group.class) d=(group.path) {}
            }
            // The marked one last, so that nothing is drawn over it.
            @for one in drawn.iter().filter(|one| !one.due) { (lines(one)) }
            @for one in drawn.iter().filter(|one| one.due) { (lines(one)) }
            // Leaders before the loupe, which lies on top of whatever it covers.
            @for label in &labels {
                @if let Some(leader) = &label.leader {
                    path class=(if label.due { "leader due" } else { "leader" }) d=(leader) {}
                }
            }
            @if let Some(loupe) = &loupe { (loupe.markup(view)) }
            @for label in &labels { (ring(label)) }
        }
    }
    .into_string()
}

/// What a person hears who does not see the drawing.
fn spoken(view: &View, plan: &PartPlan, style: &Style<'_>) -> String {
    let what = format!("{}, stage {}, {}", plan.part, view.stage, view.title);
    let here = |id: &&CharacteristicId| view.dimensions.iter().any(|d| &d.characteristic == *id);
    match style
        .due
        .filter(here)
        .and_then(|id| plan.characteristic(id))
    {
        Some(due) => format!(
            "{what}; marked: number {}, {}, {}",
            due.number,
            due.name,
            show(due.nominal, style.units)
        ),
        None => what,
    }
}

fn lines(one: &Drawn<'_>) -> Markup {
    html! {
        g class=(if one.due { "dim due" } else { "dim" }) {
            path class="line" d=(one.lines) {}
            path class="head" d=(one.heads) {}
        }
    }
}

fn ring(label: &Label) -> Markup {
    let [x, y] = label.at;
    let class = match (label.due, label.mark) {
        (true, _) => "ring due",
        (false, None) => "ring",
        (false, Some(Mark::Pass)) => "ring pass",
        (false, Some(Mark::TooSmall)) => "ring under",
        (false, Some(Mark::TooLarge)) => "ring over",
        (false, Some(Mark::Undecided)) => "ring undecided",
        (false, Some(Mark::Held)) => "ring held",
    };
    html! {
        g class=(class) {
            @if let Some(value) = &label.value { (broken(value, label.at)) }
            circle cx=(number(x)) cy=(number(y)) r=(number(label.radius)) {}
            text x=(number(x)) y=(number(y)) { (label.number) }
            @if let Some(mark) = label.mark {
                path class=(badge_class(mark)) d=(badge(mark, x + 0.8 * label.radius, y - 0.8 * label.radius)) {}
            }
            @if let Some(value) = &label.value {
                @let [x, y] = value.at.map(number);
                @if value.upright {
                    text class="value" x=(x) y=(y) transform={ "rotate(-90 " (x) " " (y) ")" } { (value.text) }
                } @else {
                    text class="value" x=(x) y=(y) { (value.text) }
                }
            }
        }
    }
}

/// Breaks the line under a value, up to its ring where they stand on one line: what is left of the line
/// between them would read as a dash.
fn broken(value: &Value, ring: [f64; 2]) -> Markup {
    let edge = |axis: usize, way: f64| value.at[axis] + way * value.half[axis];
    let (mut from, mut to) = ([edge(0, -1.0), edge(1, -1.0)], [edge(0, 1.0), edge(1, 1.0)]);
    let axis = usize::from(value.upright);
    if (ring[1 - axis] - value.at[1 - axis]).abs() < 0.5 {
        from[axis] = from[axis].min(ring[axis]);
        to[axis] = to[axis].max(ring[axis]);
    }
    let [wide, high] = [to[0] - from[0], to[1] - from[1]].map(number);
    html! {
        rect class="broken" x=(number(from[0])) y=(number(from[1])) width=(wide) height=(high) {}
    }
}

const fn badge_class(mark: Mark) -> &'static str {
    match mark {
        Mark::Pass => "badge pass",
        Mark::TooSmall => "badge under",
        Mark::TooLarge => "badge over",
        Mark::Undecided => "badge undecided",
        Mark::Held => "badge held",
    }
}

/// The badge's shape tells the verdict without its colour.
fn badge(mark: Mark, x: f64, y: f64) -> String {
    let at = |dx: f64, dy: f64| format!("{} {}", number(x + dx), number(y + dy));
    match mark {
        Mark::Pass => format!("M{}L{}L{}", at(-3.6, -0.4), at(-0.9, 2.6), at(4.0, -4.0)),
        Mark::TooSmall => format!("M{}L{}L{}Z", at(-4.0, -3.0), at(4.0, -3.0), at(0.0, 4.0)),
        Mark::TooLarge => format!("M{}L{}L{}Z", at(-4.0, 3.0), at(4.0, 3.0), at(0.0, -4.0)),
        Mark::Undecided => format!(
            "M{}L{}L{}M{}L{}L{}",
            at(-1.4, -3.0),
            at(-4.2, 0.0),
            at(-1.4, 3.0),
            at(1.4, -3.0),
            at(4.2, 0.0),
            at(1.4, 3.0)
        ),
        Mark::Held => format!(
            "M{}L{}M{}L{}",
            at(-1.6, -3.2),
            at(-1.6, 3.2),
            at(1.6, -3.2),
            at(1.6, 3.2)
        ),
    }
}
