//! Run rules: patterns on a chart that a process in control hardly ever makes.

use crate::charts::Chart;

/// A named set of run rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RuleSet {
    /// Western Electric, *Statistical Quality Control Handbook* (1956).
    WesternElectric,
    /// L. S. Nelson, *Journal of Quality Technology* 16 (1984).
    Nelson,
    /// ISO 7870-2:2013; runs of seven, from memory. Its fourth, a plainly non-random pattern, is for the eye.
    Iso7870,
}

/// One rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rule {
    /// Its number in its set.
    pub number: u8,
    /// What it looks for.
    pub text: &'static str,
    /// How many points it looks at.
    pub window: usize,
    pattern: Pattern,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Pattern {
    /// This many of the window beyond so many σ on one side.
    Beyond(usize, u8),
    /// All on one side.
    OneSide,
    /// Each above the one before it, or each below.
    Trend,
    /// Up and down by turns.
    Turns,
    /// All within 1σ.
    Hugging,
    /// All beyond 1σ, on either side.
    Avoiding,
}

/// A rule that was broken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offence {
    /// The rule.
    pub rule: &'static Rule,
    /// The point at which it was seen, counted from 0.
    pub at: usize,
    /// The points that make the pattern.
    pub points: Vec<usize>,
}

const fn rule(number: u8, window: usize, pattern: Pattern, text: &'static str) -> Rule {
    Rule {
        number,
        text,
        window,
        pattern,
    }
}

const WESTERN_ELECTRIC: [Rule; 4] = [
    rule(1, 1, Pattern::Beyond(1, 3), "one point beyond 3σ"),
    rule(
        2,
        3,
        Pattern::Beyond(2, 2),
        "two of three points beyond 2σ on one side",
    ),
    rule(
        3,
        5,
        Pattern::Beyond(4, 1),
        "four of five points beyond 1σ on one side",
    ),
    rule(
        4,
        8,
        Pattern::OneSide,
        "eight points on one side of the centre line",
    ),
];

const NELSON: [Rule; 8] = [
    rule(1, 1, Pattern::Beyond(1, 3), "one point beyond 3σ"),
    rule(
        2,
        9,
        Pattern::OneSide,
        "nine points on one side of the centre line",
    ),
    rule(
        3,
        6,
        Pattern::Trend,
        "six points steadily rising or falling",
    ),
    rule(
        4,
        14,
        Pattern::Turns,
        "fourteen points up and down by turns",
    ),
    rule(
        5,
        3,
        Pattern::Beyond(2, 2),
        "two of three points beyond 2σ on one side",
    ),
    rule(
        6,
        5,
        Pattern::Beyond(4, 1),
        "four of five points beyond 1σ on one side",
    ),
    rule(7, 15, Pattern::Hugging, "fifteen points within 1σ"),
    rule(
        8,
        8,
        Pattern::Avoiding,
        "eight points beyond 1σ on either side",
    ),
];

const ISO_7870: [Rule; 3] = [
    rule(1, 1, Pattern::Beyond(1, 3), "one point beyond 3σ"),
    rule(
        2,
        7,
        Pattern::OneSide,
        "seven points on one side of the centre line",
    ),
    rule(
        3,
        7,
        Pattern::Trend,
        "seven points steadily rising or falling",
    ),
];

impl RuleSet {
    /// Its rules.
    #[must_use]
    pub const fn rules(self) -> &'static [Rule] {
        match self {
            Self::WesternElectric => &WESTERN_ELECTRIC,
            Self::Nelson => &NELSON,
            Self::Iso7870 => &ISO_7870,
        }
    }

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::WesternElectric => "Western Electric 1956",
            Self::Nelson => "Nelson 1984",
            Self::Iso7870 => "ISO 7870-2:2013",
        }
    }
}

/// All offences against a set on a chart, in order of the points where they are seen, then of the rules. A
/// point on the centre line is on neither side, and two equal points neither rise nor fall.
#[must_use]
pub fn offences(set: RuleSet, chart: &Chart) -> Vec<Offence> {
    let mut found = Vec::new();
    for at in 0..chart.points.len() {
        for rule in set.rules() {
            let Some(start) = (at + 1).checked_sub(rule.window) else {
                continue;
            };
            if let Some(points) = seen(rule, chart, start, at) {
                found.push(Offence { rule, at, points });
            }
        }
    }
    found
}

fn seen(rule: &Rule, chart: &Chart, start: usize, at: usize) -> Option<Vec<usize>> {
    let points = &chart.points[start..=at];
    let off = |point: f64| point - chart.centre;
    let all = |holds: &dyn Fn(f64) -> bool| points.iter().all(|point| holds(off(*point)));
    let steps = || points.windows(2).map(|pair| pair[1] - pair[0]);
    let whole = match rule.pattern {
        Pattern::Beyond(needed, widths) => {
            return beyond(needed, f64::from(widths) * chart.sigma, chart, start, at);
        }
        Pattern::OneSide => all(&|d| d > 0.0) || all(&|d| d < 0.0),
        Pattern::Trend => steps().all(|step| step > 0.0) || steps().all(|step| step < 0.0),
        Pattern::Turns => points
            .windows(3)
            .all(|three| (three[1] - three[0]) * (three[2] - three[1]) < 0.0),
        Pattern::Hugging => all(&|d| d.abs() < chart.sigma),
        Pattern::Avoiding => all(&|d| d.abs() > chart.sigma),
    };
    whole.then(|| (start..=at).collect())
}

/// So many of the window beyond `width` on the side of the newest point, which must be one of them: an
/// offence is seen where it is completed.
fn beyond(needed: usize, width: f64, chart: &Chart, start: usize, at: usize) -> Option<Vec<usize>> {
    let side = (chart.points[at] - chart.centre).signum();
    let out = |point: usize| (chart.points[point] - chart.centre) * side > width;
    let points: Vec<_> = (start..=at).filter(|point| out(*point)).collect();
    (out(at) && points.len() >= needed).then_some(points)
}
