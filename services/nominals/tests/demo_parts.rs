//! The parts of the demo build: every family is there, and everything a family measures is drawn.

#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot be set up has failed"
)]

use std::collections::BTreeSet;
use std::path::Path;

use nominals::{BuildRules, part};
use shared_types::{CharacteristicId, PartPlan};

fn parts() -> Vec<(String, PartPlan)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo-readings/parts");
    let rules = BuildRules {
        general: "m".parse().unwrap(),
        allowance: "empirical".parse().unwrap(),
    };
    let files = std::fs::read_dir(folder).unwrap();
    let mut parts: Vec<(String, PartPlan)> = files
        .map(|file| {
            let path = file.unwrap().path();
            let text = std::fs::read_to_string(&path).unwrap();
            let plan = part(&path.display().to_string(), &text, &rules);
            (text, plan.unwrap_or_else(|mistakes| panic!("{mistakes:?}")))
        })
        .collect();
    parts.sort_by(|a, b| a.1.part.cmp(&b.1.part));
    parts
}

#[test]
fn the_demo_holds_a_part_of_every_family() {
    let parts = parts();
    for family in ["[panel]", "[plate]", "[section]", "[[characteristic]]"] {
        assert!(
            parts.iter().any(|(text, _)| text.contains(family)),
            "{family}"
        );
    }
}

#[test]
fn what_a_family_measures_is_drawn_at_its_stage_and_nothing_else() {
    for (text, plan) in parts() {
        let drawn: BTreeSet<&CharacteristicId> = plan
            .views
            .iter()
            .flat_map(|view| view.dimensions.iter().map(move |d| (view.stage, d)))
            .map(|(stage, dimension)| {
                let characteristic = plan.characteristic(&dimension.characteristic);
                assert_eq!(
                    characteristic.map(|c| c.stage),
                    Some(stage),
                    "{dimension:?}"
                );
                &dimension.characteristic
            })
            .collect();
        for c in &plan.characteristics {
            // What is stated outright has no geometry.
            let outright =
                c.id.as_str()
                    .split_once('.')
                    .is_some_and(|(_, id)| text.contains(&format!("id = {id:?}")));
            assert_eq!(
                drawn.contains(&c.id),
                !outright,
                "{} of {}",
                c.id,
                plan.part
            );
        }
    }
}
