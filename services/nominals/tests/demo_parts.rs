//! The parts of the demo build: every family is there, and everything a family measures is drawn.

#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot be set up has failed"
)]

use std::collections::BTreeSet;
use std::path::Path;

use nominals::{BuildRules, PartFile, build};
use shared_types::{CharacteristicId, PartPlan, STAGES};

fn parts() -> Vec<(String, PartPlan)> {
    parts_in("demo-readings/parts")
}

fn parts_in(folder: &str) -> Vec<(String, PartPlan)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .join(folder);
    let rules = BuildRules {
        general: "m".parse().unwrap(),
        allowance: "empirical".parse().unwrap(),
    };
    let files: Vec<PartFile> = std::fs::read_dir(folder)
        .unwrap()
        .map(|file| {
            let path = file.unwrap().path();
            PartFile {
                name: path.display().to_string(),
                text: std::fs::read_to_string(&path).unwrap(),
            }
        })
        .collect();
    let (parts, mistakes) = build(&files, &rules);
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let mut parts: Vec<(String, PartPlan)> = parts
        .into_iter()
        .map(|part| (files[part.file].text.clone(), part.plan))
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
    for what in [
        "hands = \"pair\"",
        "[fit]",
        "[[derived]]",
        "hole.flange]",
        "angle = \"30 deg\"",
    ] {
        assert!(parts.iter().any(|(text, _)| text.contains(what)), "{what}");
    }
    // No text that leaves the crate carries the marks by which sides are named for either hand.
    for (_, plan) in &parts {
        assert!(!format!("{plan:?}").contains(['\u{E000}', '\u{E001}']));
    }
    // One of them goes through every stage there is.
    let stages = |plan: &PartPlan| plan.stages().collect::<Vec<_>>() == STAGES;
    assert!(parts.iter().any(|(_, plan)| stages(plan)));
}

/// A builder copies them, so that each must stand as it is, with every key that it explains.
#[test]
fn the_example_part_files_hold_no_mistake() {
    let parts = parts_in("deploy/parts");
    let stages: Vec<usize> = parts
        .iter()
        .map(|(_, plan)| plan.stages().count())
        .collect();
    assert_eq!(stages, [5, 3, 1, 1]);
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
            // What is stated outright has no geometry, and what is computed from readings no place.
            let nowhere = c.derived.is_some();
            let outright =
                c.id.as_str()
                    .split_once('.')
                    .is_some_and(|(_, id)| text.contains(&format!("id = {id:?}")));
            assert_eq!(
                drawn.contains(&c.id),
                !outright && !nowhere,
                "{} of {}",
                c.id,
                plan.part
            );
        }
    }
}
