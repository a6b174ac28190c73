//! `oddleg nominals`: what each dimension of a part should be, stage by stage.

use std::fmt::Write as _;
use std::path::Path;
use std::process::ExitCode;

use shared_types::{Characteristic, Derived, FitSource, Hand, Limits, PartPlan, Quantity, show};

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
    if plan.mirrored.is_some() {
        writeln!(
            out,
            "made in pairs, {}: {part}/1L is a left piece and {part}/1R its mirror image",
            plan.quantity,
            part = plan.part
        )?;
    }
    if let Some(fit) = &plan.fit {
        writeln!(
            out,
            "goes into {} with {} on each side; nominals follow {}",
            fit.into,
            text(Quantity::Length(fit.clearance)),
            match fit.source {
                FitSource::Plan => "its plan",
                FitSource::Measured =>
                    "its plan, and once a piece of it is named that piece as measured",
            }
        )?;
    }
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
            if let Some(derived) = &c.derived {
                writeln!(out, "      {}", computed(derived))?;
            }
            if let (Some(follows), Some(fit)) = (&c.follows, &plan.fit) {
                writeln!(
                    out,
                    "      moves one for one with {} of the {} it is made for, planned {}",
                    follows.characteristic,
                    fit.into,
                    text(follows.planned)
                )?;
            }
            let right = plan.words(&c.id, Some(Hand::Right));
            if let Some(right) = right.filter(|right| right.name != c.name) {
                writeln!(
                    out,
                    "      on the right piece: {}; {}",
                    right.name, right.how
                )?;
            }
        }
    }
    for warning in &plan.warnings {
        writeln!(out, "\nnote: {} ({})", warning.what, warning.source)?;
    }
    Ok(out)
}

fn computed(derived: &Derived) -> String {
    match derived {
        Derived::Difference {
            of: [a, b],
            absolute: true,
        } => {
            format!("computed, never measured: the difference of {a} and {b}, without sign")
        }
        Derived::Difference {
            of: [a, b],
            absolute: false,
        } => {
            format!("computed, never measured: {a} less {b}")
        }
        Derived::Mean { of, readings } => {
            format!(
                "computed, never measured: the mean of {readings} readings of {of}, in one sitting on the bench"
            )
        }
    }
}

fn limits(limits: &Limits, text: &dyn Fn(Quantity) -> String) -> String {
    match (limits.lower(), limits.upper()) {
        (Some(lower), Some(upper)) => format!("{} to {}", text(lower), text(upper)),
        (Some(lower), None) => format!("at least {}", text(lower)),
        (None, Some(upper)) => format!("at most {}", text(upper)),
        (None, None) => unreachable!("limits have at least one"),
    }
}

/// The plan as it stands in the history, numbers exact, with a text for people beside each.
fn as_json(plan: &PartPlan) -> serde_json::Value {
    let mut value = serde_json::json!(plan);
    // What is drawn is for `oddleg layout`; of a pair only the words differ otherwise.
    if let Some(whole) = value.as_object_mut() {
        whole.remove("views");
        let right = plan.mirrored.as_ref().map(|mirrored| &mirrored.words);
        let ids = plan.characteristics.iter().map(|c| c.id.as_str());
        whole.insert(
            "mirrored".to_owned(),
            right.map_or(serde_json::Value::Null, |words| {
                let named = ids
                    .zip(words)
                    .map(|(id, words)| (id.to_owned(), serde_json::json!(words)));
                serde_json::Value::Object(named.collect())
            }),
        );
        whole.insert(
            "pieces".to_owned(),
            plan.pieces().map(|piece| piece.to_string()).collect(),
        );
        whole.insert(
            "characteristics".to_owned(),
            plan.characteristics.iter().map(characteristic).collect(),
        );
    }
    value
}

fn characteristic(c: &Characteristic) -> serde_json::Value {
    let mut value = serde_json::json!(c);
    value["nominal_text"] = c.nominal.to_string().into();
    value["lower_text"] = c.limits.lower().map(|l| l.to_string()).into();
    value["upper_text"] = c.limits.upper().map(|u| u.to_string()).into();
    value["tolerance_text"] = c.tolerance.to_string().into();
    // Always there, so that whoever reads this need not know which may be left out.
    value["derived"] = serde_json::json!(c.derived);
    value["follows"] = serde_json::json!(c.follows);
    if let Some(follows) = &c.follows {
        value["follows"]["planned_text"] = follows.planned.to_string().into();
    }
    value
}
