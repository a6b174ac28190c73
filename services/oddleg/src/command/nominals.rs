//! `oddleg nominals`: what each dimension of a part should be, stage by stage.

use std::fmt::Write as _;
use std::path::Path;
use std::process::ExitCode;

use shared_types::{Characteristic, FitSource, Hand, Limits, PartPlan, Quantity, show};

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
            "in pairs: as the left piece; the right one is its mirror image"
        )?;
    }
    if let Some(fit) = &plan.fit {
        let source = match fit.source {
            FitSource::Plan => "as planned",
            FitSource::Measured => "as measured, once the mating piece is named",
        };
        let clearance = text(Quantity::Length(fit.clearance));
        writeln!(
            out,
            "goes into {}, {source}, with {clearance} clear on each side",
            fit.into
        )?;
    }
    if plan.mirrored.is_some() {
        writeln!(
            out,
            "in pairs: as the left piece; the right one is its mirror image"
        )?;
    }
    if let Some(fit) = &plan.fit {
        let source = match fit.source {
            FitSource::Plan => "as planned",
            FitSource::Measured => "as measured, once the mating piece is named",
        };
        let clearance = text(Quantity::Length(fit.clearance));
        writeln!(
            out,
            "goes into {}, {source}, with {clearance} clear on each side",
            fit.into
        )?;
    }
    for stage in plan.stages() {
        writeln!(out, "\n{stage}")?;
        for c in plan.at(stage) {
            writeln!(out, "{:>4}  {}  [{}]", c.number, c.name, c.id)?;
            if let Some(right) = plan
                .words(&c.id, Some(Hand::Right))
                .filter(|right| right.name != c.name)
            {
                writeln!(out, "      on the right piece: {}", right.name)?;
            }
            if let Some(right) = plan
                .words(&c.id, Some(Hand::Right))
                .filter(|right| right.name != c.name)
            {
                writeln!(out, "      on the right piece: {}", right.name)?;
            }
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

/// The plan as it stands in the history, numbers exact, with a text for people beside each.
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

#[cfg(test)]
#[expect(
    clippy::unwrap_used,
    reason = "a test that cannot be set up has failed"
)]
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
        let right = &bracket["mirrored"]["formed.height.left"];
        assert_eq!(right["name"], "height of the right flange");
    }
}
