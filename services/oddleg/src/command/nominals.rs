//! `oddleg nominals`: what each dimension of a part should be, stage by stage.

use std::fmt::Write as _;
use std::path::Path;
use std::process::ExitCode;

use shared_types::{Limits, PartPlan, Quantity, show};

use crate::config::Build;

pub(super) fn run(dir: &Path, part: &str, json: bool) -> anyhow::Result<ExitCode> {
    let build = Build::read(dir)?;
    let plan = super::part(&build, part)?;
    let text = if json {
        serde_json::to_string_pretty(&as_json(plan))? + "\n"
    } else {
        table(&build, plan)?
    };
    super::say(&text)?;
    Ok(ExitCode::SUCCESS)
}

fn table(build: &Build, plan: &PartPlan) -> Result<String, std::fmt::Error> {
    let mut out = String::new();
    let text = |quantity: Quantity| {
        let first = show(quantity, build.units);
        match quantity {
            Quantity::Length(_) => format!("{first} ({})", show(quantity, build.units.other())),
            Quantity::Angle(_) => first.to_string(),
        }
    };
    writeln!(out, "{}  {}", plan.part, plan.title)?;
    for stage in plan.stages() {
        writeln!(out, "\n{stage}")?;
        for c in plan.at(stage) {
            writeln!(out, "{:>4}  {}  [{}]", c.number, c.name, c.id)?;
            writeln!(
                out,
                "      nominal {}, limits {}, {}",
                text(c.nominal),
                limits(&c.limits, &text),
                c.tolerance
            )?;
            writeln!(out, "      {}", c.rule)?;
            writeln!(out, "      {}", c.how)?;
        }
    }
    for warning in &plan.warnings {
        writeln!(out, "\nnote: {} ({})", warning.what, warning.source)?;
    }
    Ok(out)
}

fn limits(limits: &Limits, text: &dyn Fn(Quantity) -> String) -> String {
    match (limits.lower(), limits.upper()) {
        (Some(lower), Some(upper)) => format!("{} to {}", text(lower), text(upper)),
        (Some(lower), None) => format!("at least {}", text(lower)),
        (None, Some(upper)) => format!("at most {}", text(upper)),
        (None, None) => unreachable!("limits have at least one"),
    }
}

fn as_json(plan: &PartPlan) -> serde_json::Value {
    let characteristics: Vec<_> = plan
        .characteristics
        .iter()
        .map(|c| {
            let mut value = serde_json::json!(c);
            value["nominal_text"] = c.nominal.to_string().into();
            value["lower_text"] = c.limits.lower().map(|l| l.to_string()).into();
            value["upper_text"] = c.limits.upper().map(|u| u.to_string()).into();
            value
        })
        .collect();
    serde_json::json!({
        "part": plan.part,
        "title": plan.title,
        "quantity": plan.quantity,
        "sheet": plan.sheet,
        "digest": plan.digest,
        "characteristics": characteristics,
        "warnings": plan.warnings,
    })
}
