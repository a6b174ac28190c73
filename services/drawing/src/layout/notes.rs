//! The page before the drawings: what to lay out in which order, each bend, which washer draws which line.

use shared_types::{Angle, Bend, BendWay, DisplayUnits, Length, PartPlan, Quantity, Stage, show};

use super::measured::degrees;
use crate::washer::advice;

/// A line of the page.
pub(super) enum Line {
    Heading(String),
    /// Broken where it is wider than the page.
    Text(String),
    /// Number, name, value, the value in the other units, what helps.
    Row([String; 5]),
}

pub(super) fn lines(plan: &PartPlan, units: DisplayUnits, pen: Length) -> Vec<Line> {
    let mut lines = vec![
        Line::Heading(format!("{}  {}", plan.part, plan.title)),
        Line::Text(HOW.to_owned()),
    ];
    if plan.at(Stage::Blank).next().is_some() {
        lines.push(Line::Heading("Lay out the blank".to_owned()));
        lines.push(Line::Text(MARKING.to_owned()));
        for c in plan.at(Stage::Blank) {
            let help = match c.nominal {
                Quantity::Length(wanted) if plan.bends.iter().any(|bend| bend.line == c.id) => {
                    advice(wanted, pen, units)
                }
                _ => String::new(),
            };
            lines.push(row(c.number, &c.name, c.nominal, units, help));
        }
    }
    bends(&mut lines, plan, units, pen);
    let heights = plan.at(Stage::Trimmed).filter_map(|c| match c.nominal {
        Quantity::Length(wanted) if c.id.as_str().starts_with("trimmed.height") => {
            Some((c, wanted))
        }
        _ => None,
    });
    let trims: Vec<Line> = heights
        .map(|(c, wanted)| {
            row(
                c.number,
                &c.name,
                c.nominal,
                units,
                advice(wanted, pen, units),
            )
        })
        .collect();
    if !trims.is_empty() {
        lines.push(Line::Heading("Trim the flanges".to_owned()));
        lines.push(Line::Text(
            "Square to the web: web down on the bench, the washer standing on its rim on the bench against the flange."
                .to_owned(),
        ));
        lines.extend(trims);
    }
    if plan.at(Stage::Blocks).next().is_some() {
        lines.push(Line::Heading("Make the form block".to_owned()));
        lines.extend(
            plan.at(Stage::Blocks)
                .map(|c| row(c.number, &c.name, c.nominal, units, String::new())),
        );
    }
    lines.push(Line::Heading("Washers".to_owned()));
    lines.push(Line::Text(format!(
        "A washer rolled along an edge with the pen at the near side of its hole draws a line at half the difference of \
         its two diameters, and half the pen's width ({}) more. Sizes are nominal, ISO 7089 and ASME B18.21.1 type A: \
         measure the line it draws before you trust it.",
        show(Quantity::Length(pen), units)
    )));
    if !plan.warnings.is_empty() {
        lines.push(Line::Heading("Before you cut".to_owned()));
        for warning in &plan.warnings {
            lines.push(Line::Text(format!("{} ({})", warning.what, warning.source)));
        }
    }
    lines.push(Line::Heading("What this is not".to_owned()));
    lines.push(Line::Text(CAUTION.to_owned()));
    lines
}

const HOW: &str = "Print at 100 %, actual size. Measure the bars at the foot of each page. Lap neighbouring pages until \
                   the ringed crosses lie on one another, then tape: each seam has two. A1 is above on the left. Paper \
                   moves with damp: check the overall dimensions below on the taped sheet, and on the metal, before \
                   cutting.";

const MARKING: &str = "From the edges, with a felt pen or soft pencil. A scriber only where the line will be cut away: a \
                       scratch in a bend starts a crack (common practice).";

const CAUTION: &str = "Computed from the plan. It does not say that a part is airworthy, and it is no acceptance: the \
                       plans, the local rules and a licensed inspector decide. Wear gloves and glasses; deburr every \
                       edge and hole before bending.";

fn bends(lines: &mut Vec<Line>, plan: &PartPlan, units: DisplayUnits, pen: Length) {
    if plan.bends.is_empty() {
        return;
    }
    lines.push(Line::Heading("Bends".to_owned()));
    let value = |length: Length| show(Quantity::Length(length), units).to_string();
    // Bends that are alike are told once.
    let mut alike: Vec<(Vec<&str>, String)> = Vec::new();
    for bend in &plan.bends {
        let Some(c) = plan.characteristic(&bend.line) else {
            continue;
        };
        let Quantity::Length(first) = c.nominal else {
            continue;
        };
        let mut text = format!(
            "{}; inside radius {}, bend allowance {}",
            turned(bend),
            value(bend.radius),
            value(bend.allowance)
        );
        let second = Length::from_pm(first.pm() + bend.allowance.pm());
        let lines = [
            (second, "from the edge to the second tangent line"),
            (bend.trim, "comes off the free edge after forming"),
        ];
        for (length, what) in lines {
            if let Some(length) = length {
                let help = advice(length, pen, units);
                text += &format!("; {} {what} ({help})", value(length));
            }
        }
        match alike.iter_mut().find(|(_, other)| *other == text) {
            Some((names, _)) => names.push(&c.name),
            None => alike.push((vec![&c.name], text)),
        }
    }
    lines.extend(
        alike
            .into_iter()
            .map(|(names, text)| Line::Text(format!("{}: {text}.", names.join("; ")))),
    );
    lines.push(Line::Text(
        "Sight line: one radius inside the tangent line that goes under the nose of the brake (FAA-H-8083-31 chapter 4, \
         from memory), drawn for the larger part of the blank being clamped; bring the nose over it, seen from above. \
         None is drawn where there is a form block."
            .to_owned(),
    ));
}

/// Both ways of saying an angle: the trade mixes them up.
fn turned(bend: &Bend) -> String {
    let way = match bend.way {
        BendWay::Up => "up",
        BendWay::Down => "down",
    };
    let between = Angle::from_mas(180 * 3_600_000 - bend.angle.mas()).unwrap_or_default();
    format!(
        "bend {way} through {} from flat, which leaves {} between the two sides",
        degrees(bend.angle),
        degrees(between)
    )
}

fn row(number: u16, name: &str, value: Quantity, units: DisplayUnits, help: String) -> Line {
    let other = match value {
        Quantity::Length(_) => show(value, units.other()).to_string(),
        Quantity::Angle(_) => String::new(),
    };
    Line::Row([
        number.to_string(),
        name.to_owned(),
        show(value, units).to_string(),
        other,
        help,
    ])
}
