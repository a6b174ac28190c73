//! `oddleg nominals`: what each dimension of a part should be, stage by stage.

use std::fmt::Write as _;
use std::path::Path;
use std::process::ExitCode;

use shared_types::{Derived, FitSource, Hand, Limits, PartPlan, Quantity, show};

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

fn as_json(plan: &PartPlan) -> serde_json::Value {
    let characteristics: Vec<_> = plan
        .characteristics
        .iter()
        .map(|c| {
            let mut value = serde_json::json!(c);
            let right = plan.words(&c.id, Some(Hand::Right));
            if let Some(right) = right.filter(|_| plan.mirrored.is_some()) {
                value["right"] = serde_json::json!({
                    "name": right.name,
                    "how": right.how,
                    "if_small": right.if_small,
                    "if_large": right.if_large,
                });
            }
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
        })
        .collect();
    serde_json::json!({
        "part": plan.part,
        "title": plan.title,
        "quantity": plan.quantity,
        "pairs": plan.mirrored.is_some(),
        "pieces": plan.pieces().map(|piece| piece.to_string()).collect::<Vec<_>>(),
        "fit": plan.fit,
        "sheet": plan.sheet,
        "digest": plan.digest,
        "characteristics": characteristics,
        "bends": plan.bends,
        "warnings": plan.warnings,
    })
}

#[cfg(test)]
mod tests {
    use nominals::{BuildRules, PartFile, build};

    use super::*;

    fn json(part: &str) -> serde_json::Value {
        let rules = BuildRules {
            general: "m".parse().unwrap(),
            allowance: "empirical".parse().unwrap(),
        };
        let file = |name: &str, text: &str| PartFile {
            name: name.to_owned(),
            text: text.to_owned(),
        };
        let files = [
            file(
                "B3",
                include_str!("../../../../demo-readings/parts/B3.toml"),
            ),
            file(
                "C1",
                include_str!("../../../../demo-readings/parts/C1.toml"),
            ),
            file(
                "R1",
                include_str!("../../../../demo-readings/parts/R1.toml"),
            ),
            file(
                "S3",
                include_str!("../../../../demo-readings/parts/S3.toml"),
            ),
        ];
        let (parts, mistakes) = build(&files, &rules);
        assert!(mistakes.is_empty(), "{mistakes:?}");
        let found = parts.iter().find(|found| found.plan.part.as_str() == part);
        as_json(&found.unwrap().plan)
    }

    fn find<'v>(value: &'v serde_json::Value, id: &str) -> &'v serde_json::Value {
        let all = value["characteristics"].as_array().unwrap();
        all.iter().find(|c| c["id"] == id).unwrap()
    }

    #[test]
    fn every_nominal_is_printed_exact_and_as_text_with_what_it_follows_from() {
        let bulkhead = json("B3");
        assert_eq!(bulkhead["fit"]["source"], "measured");
        let width = find(&bulkhead, "formed.across.width.root");
        assert_eq!(width["nominal_text"], "249 mm");
        assert_eq!(width["lower_text"], "248.5 mm");
        assert_eq!(width["tolerance_text"], "ISO 2768-1 m");
        assert_eq!(width["follows"]["characteristic"], "formed.opening.width");
        assert_eq!(width["follows"]["planned_text"], "250 mm");
        assert!(
            width["nominal"].to_string().contains("249000000000"),
            "{width}"
        );
        assert!(width["rule"].as_str().unwrap().contains("S3"));
        let gap = find(&bulkhead, "fit-up.gap.left.1");
        assert_eq!(gap["name"], "gap at the left edge, at the keel");
        assert!(gap["follows"].is_null() && gap["derived"].is_null());
        assert!(!bulkhead["warnings"].as_array().unwrap().is_empty());

        let taper = json("R1");
        let taper = find(&taper, "formed.taper.width");
        assert_eq!(taper["derived"]["difference"]["absolute"], false);

        let bracket = json("C1");
        assert_eq!(
            bracket["pieces"],
            serde_json::json!(["C1/1L", "C1/1R", "C1/2L", "C1/2R"])
        );
        let left = find(&bracket, "formed.height.left");
        assert_eq!(left["name"], "height of the left flange");
        assert_eq!(left["right"]["name"], "height of the right flange");
    }
}
