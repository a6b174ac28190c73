//! What is made: the demo build's parts, and random ones with dimensions that are easily taken for one another.

use std::sync::Arc;

use nominals::{BuildRules, PartFile, build};
use shared_types::*;

use super::chance::Chance;
use crate::bench::{characteristic, plan};

/// The parts of the demo build as `nominals` computes them.
pub(crate) fn of_the_demo() -> Vec<Arc<PartPlan>> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo-readings/parts");
    let mut files: Vec<PartFile> = std::fs::read_dir(folder)
        .expect("the demo's parts")
        .map(|file| file.expect("a part file").path())
        .map(|path| PartFile {
            name: path.display().to_string(),
            text: std::fs::read_to_string(&path).expect("a part file"),
        })
        .collect();
    files.sort_by(|a, b| a.name.cmp(&b.name));
    // As in the demo's oddleg.toml.
    let rules = BuildRules {
        general: "m".parse().unwrap(),
        allowance: "empirical".parse().unwrap(),
    };
    let (parts, mistakes) = build(&files, &rules);
    assert!(mistakes.is_empty(), "{mistakes:?}");
    parts.into_iter().map(|part| Arc::new(part.plan)).collect()
}

/// Six parts of 3 to 14 dimensions. Two in five lengths are as long as one before, one in five nearly so; angles
/// are mostly square, else often the supplement or the complement of one before.
pub(crate) fn random(chance: &mut Chance) -> Vec<Arc<PartPlan>> {
    (1..=6)
        .map(|number| {
            let mut all: Vec<Characteristic> = Vec::new();
            for number in 1..=chance.between(3, 14) {
                let number = u16::try_from(number).unwrap();
                all.push(one(chance, number, &all));
            }
            Arc::new(plan(&format!("R{number}"), all))
        })
        .collect()
}

fn one(chance: &mut Chance, number: u16, before: &[Characteristic]) -> Characteristic {
    let angle = chance.one_in(3);
    let unit = if angle { "deg" } else { "mm" };
    let alike: Vec<i64> = before
        .iter()
        .filter(|c| angle == matches!(c.nominal, Quantity::Angle(_)))
        .map(|c| c.nominal.raw() / if angle { 36_000 } else { 10_000_000 })
        .collect();
    let one_before = chance.one_of(&alike).copied();
    // In hundredths.
    let (nominal, half) = if angle {
        let nominal = match (chance.below(10), one_before) {
            (0..6, _) => 9_000,
            (6..8, Some(before)) => 18_000 - before,
            (8, Some(before)) if before < 9_000 => 9_000 - before,
            _ => chance.between(6, 30) * 500,
        };
        (nominal, 100)
    } else {
        let nominal = match (chance.below(10), one_before) {
            (0..4, Some(before)) => before,
            (4..6, Some(before)) => (before + chance.between(-200, 200)).max(300),
            (6..8, _) => chance.between(300, 3_000),
            _ => chance.between(3_000, 60_000),
        };
        (nominal, chance.between(10, 80))
    };
    let text = |hundredths: i64| format!("{}.{:02} {unit}", hundredths / 100, hundredths % 100);
    let [nominal, lower, upper] = [nominal, nominal - half, nominal + half].map(text);
    characteristic(
        number,
        &format!("d{number}"),
        Stage::Formed,
        [&nominal, &lower, &upper],
    )
}
