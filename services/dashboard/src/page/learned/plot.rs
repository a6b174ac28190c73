//! A control chart as SVG. Every place on it is a whole number worked out from whole grains, and a point that breaks a rule
//! has another shape and the rule's number, not only another colour.

use maud::{Markup, html};
use shared_types::{DisplayUnits, Limits, Quantity, Verdict, show};

use super::{computed, decimal};
use crate::learned::control::{Drawn, Mark};
use crate::learned::series::{Point, Series};

/// Most points drawn, the newest: more would need a wall. Limits and rules are taken from all of them.
pub(super) const DRAWN_MAX: usize = 150;

const HEIGHT: i64 = 280;
const TOP: i64 = 30;
const BOTTOM: i64 = 246;
/// Room for the figures of the limits, on both sides.
const SIDE: i64 = 108;
/// From one point to the next, at least; narrower charts are spread out.
const STEP_MIN: i64 = 26;
const INSIDE_MIN: i64 = 460;
/// Between the figures of two lines.
const LINE: i64 = 15;
/// The plan's limits are drawn where they lie within this many heights of what else there is.
const PLAN_REACH: i128 = 3;

/// `plan`: the limits of the plan, where single readings are charted.
pub(super) fn plot(series: &Series, drawn: &Drawn, plan: Option<&Limits>, label: &str) -> Markup {
    let skipped = drawn.marks.len().saturating_sub(DRAWN_MAX);
    let marks = &drawn.marks[skipped..];
    let scale = Scale::new(drawn, marks, plan);
    let across = Across::new(marks.len());
    let units = series.units;
    let stations: Vec<(i64, &Mark)> = (0..).map(|at| across.x(at)).zip(marks).collect();
    let left = figures_left(drawn, marks, &scale, units);
    let right = plan.map_or_else(Vec::new, |plan| figures_right(plan, &scale, units));
    html! {
        div.wide tabindex="0" role="region" aria-label=(label) {
            svg.plot width=(across.width) height=(HEIGHT) viewBox={ "0 0 " (across.width) " " (HEIGHT) } role="img" aria-label=(label) {
                @for (y, text) in &left { text x=(SIDE - 10) y=(y) text-anchor="end" { (text) } }
                @for (y, text) in &right { text x=(across.width - SIDE + 10) y=(y) { (text) } }
                @if let Some(plan) = plan {
                    @for limit in [plan.lower(), plan.upper()].into_iter().flatten().filter(|limit| scale.holds(*limit)) {
                        path.plan d={ "M" (SIDE) " " (scale.y(limit)) "H" (across.width - SIDE) } {}
                    }
                }
                @if let Some(centre) = drawn.centre { path.centre d={ "M" (SIDE) " " (scale.y(centre)) "H" (across.width - SIDE) } {} }
                @for side in [Side::Lower, Side::Upper] { path.control d=(side.path(&stations, &scale)) {} }
                path.line d=(way(&stations, &scale)) {}
                @for (x, mark) in &stations { (point(*x, mark, &series.points[mark.of], &scale, plan.is_some(), units)) }
            }
        }
        @if skipped > 0 { p.soft { "Drawn are the newest " (DRAWN_MAX) "; limits and rules are taken from all." } }
    }
}

fn point(
    x: i64,
    mark: &Mark,
    of: &Point,
    scale: &Scale,
    judged: bool,
    units: DisplayUnits,
) -> Markup {
    let y = scale.y(mark.value);
    let breaks = mark.beyond || !mark.rules.is_empty();
    let rules: Vec<String> = mark.rules.iter().map(ToString::to_string).collect();
    let verdict = if judged { of.verdict } else { Verdict::Pass };
    html! {
        g.off[breaks] {
            title { (mark.of + 1) ": " (of.piece) ", " (computed(mark.value, units)) @if mark.beyond { ", beyond its limits" } @if !rules.is_empty() { ", rule " (rules.join(", ")) } @if verdict != Verdict::Pass { ", " (verdict) } }
            @if breaks {
                rect.ring x=(x - 9) y=(y - 9) width="18" height="18" {}
                text.rule-number x=(x) y=(y - 13) text-anchor="middle" { @if rules.is_empty() { "!" } @else { (rules.join(",")) } }
            }
            @match verdict {
                Verdict::Pass => { circle.point cx=(x) cy=(y) r="4" {} }
                Verdict::TooLarge => { path.point.over d={ "M" (x) " " (y - 6) "L" (x + 6) " " (y + 5) "H" (x - 6) "Z" } {} }
                Verdict::TooSmall => { path.point.under d={ "M" (x) " " (y + 6) "L" (x + 6) " " (y - 5) "H" (x - 6) "Z" } {} }
                Verdict::Undecided => { path.point.undecided d={ "M" (x) " " (y - 6) "L" (x + 6) " " (y) "L" (x) " " (y + 6) "L" (x - 6) " " (y) "Z" } {} }
            }
            text.nth x=(x) y=(HEIGHT - 10) text-anchor="middle" { (mark.of + 1) }
        }
    }
}

fn way(stations: &[(i64, &Mark)], scale: &Scale) -> String {
    let places = stations
        .iter()
        .map(|(x, mark)| format!("{x} {}", scale.y(mark.value)));
    let places: Vec<String> = places.collect();
    if places.is_empty() {
        return String::new();
    }
    format!("M{}", places.join("L"))
}

#[derive(Clone, Copy)]
enum Side {
    Lower,
    Upper,
}

impl Side {
    const fn of(self, mark: &Mark) -> Option<Quantity> {
        match (self, mark.limits) {
            (_, None) => None,
            (Self::Lower, Some((lower, _))) => Some(lower),
            (Self::Upper, Some((_, upper))) => Some(upper),
        }
    }

    /// A line of steps: the limits of weighted averages widen at their beginning.
    fn path(self, stations: &[(i64, &Mark)], scale: &Scale) -> String {
        let mut path = String::new();
        let half = stations
            .windows(2)
            .next()
            .map_or(STEP_MIN, |two| two[1].0 - two[0].0)
            / 2;
        for (x, mark) in stations {
            if let Some(limit) = self.of(mark) {
                let begin = if path.is_empty() { 'M' } else { 'L' };
                path.push_str(&format!(
                    "{begin}{} {}H{}",
                    x - half,
                    scale.y(limit),
                    x + half
                ));
            }
        }
        path
    }
}

fn figures_left(
    drawn: &Drawn,
    marks: &[Mark],
    scale: &Scale,
    units: DisplayUnits,
) -> Vec<(i64, String)> {
    // Of limits that widen, where they have settled.
    let last = marks.last();
    let lines = [
        ("upper", last.and_then(|mark| Side::Upper.of(mark))),
        ("centre", drawn.centre),
        ("lower", last.and_then(|mark| Side::Lower.of(mark))),
    ];
    // Without their unit, which stands below the chart.
    let number = |at| show(at, decimal(units)).number;
    let texts = lines.into_iter().filter_map(|(word, at)| {
        let at = at?;
        Some((scale.y(at) + 5, format!("{word} {}", number(at))))
    });
    apart(texts.collect())
}

fn figures_right(plan: &Limits, scale: &Scale, units: DisplayUnits) -> Vec<(i64, String)> {
    let lines = [plan.upper(), plan.lower()];
    let drawn = lines.into_iter().flatten();
    let texts = drawn.filter(|limit| scale.holds(*limit)).map(|limit| {
        let text = format!("plan {}", show(limit, units).number);
        (scale.y(limit) + 5, text)
    });
    apart(texts.collect())
}

/// Figures of lines that lie close together, set below one another.
fn apart(mut texts: Vec<(i64, String)>) -> Vec<(i64, String)> {
    texts.sort_by_key(|(y, _)| *y);
    let mut free = i64::MIN;
    for (y, _) in &mut texts {
        *y = (*y).max(free);
        free = *y + LINE;
    }
    texts
}

/// From left to right.
struct Across {
    width: i64,
    step: i64,
}

impl Across {
    fn new(points: usize) -> Self {
        let points = i64::try_from(points.max(1)).expect("at most DRAWN_MAX points");
        let step = (INSIDE_MIN / points).clamp(STEP_MIN, 60);
        Self {
            width: 2 * SIDE + step * points,
            step,
        }
    }

    const fn x(&self, at: i64) -> i64 {
        SIDE + self.step * at + self.step / 2
    }
}

/// From value to height.
struct Scale {
    low: i128,
    high: i128,
}

impl Scale {
    fn new(drawn: &Drawn, marks: &[Mark], plan: Option<&Limits>) -> Self {
        let raw = |quantity: Quantity| i128::from(quantity.raw());
        let limits = marks
            .iter()
            .filter_map(|mark| mark.limits)
            .flat_map(|(lower, upper)| [lower, upper]);
        let all = marks.iter().map(|mark| mark.value);
        let all: Vec<i128> = all.chain(limits).chain(drawn.centre).map(raw).collect();
        let mut low = all.iter().copied().min().unwrap_or_default();
        let mut high = all.iter().copied().max().unwrap_or_default();
        let reach = PLAN_REACH * (high - low);
        for limit in plan
            .into_iter()
            .flat_map(|plan| [plan.lower(), plan.upper()])
        {
            // One reading alone has no height to measure by.
            if let Some(limit) = limit.map(raw)
                && (reach == 0 || low - limit <= reach && limit - high <= reach)
            {
                (low, high) = (low.min(limit), high.max(limit));
            }
        }
        // At least one grain high.
        Self {
            low,
            high: high.max(low + 1),
        }
    }

    fn holds(&self, at: Quantity) -> bool {
        (self.low..=self.high).contains(&i128::from(at.raw()))
    }

    fn y(&self, at: Quantity) -> i64 {
        let up = i128::from(at.raw()) - self.low;
        let whole = up * i128::from(BOTTOM - TOP) / (self.high - self.low);
        BOTTOM - i64::try_from(whole).expect("a place within the drawing")
    }
}
