//! Part files: found, read, computed, and named by a digest of what went into them.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;
use std::sync::Arc;

use nominals::BuildRules;
use sha2::{Digest, Sha256};
use shared_types::{Mistake, PartPlan};

pub(super) fn read(
    dir: &Path,
    rules: &BuildRules,
    mistakes: &mut Vec<Mistake>,
) -> Vec<Arc<PartPlan>> {
    let folder = dir.join("parts");
    let names = names(&folder).unwrap_or_else(|error| {
        mistakes.push(unreadable("parts", &error, "a directory with part files"));
        Vec::new()
    });
    let mut seen: BTreeMap<String, String> = BTreeMap::new();
    let mut plans = Vec::new();
    for name in names {
        let file = format!("parts/{name}");
        let text = match std::fs::read_to_string(folder.join(&name)) {
            Ok(text) => text,
            Err(error) => {
                mistakes.push(unreadable(&file, &error, "a text file"));
                continue;
            }
        };
        match nominals::part(&file, &text, rules) {
            Err(wrong) => mistakes.extend(wrong),
            Ok(mut plan) => {
                if let Some(first) = seen.insert(plan.part.to_string(), file.clone()) {
                    let what = format!(
                        "part: {} is defined in {first} too, expected one file a part",
                        plan.part
                    );
                    mistakes.push(Mistake {
                        file,
                        line: line_of_part(&text),
                        what,
                    });
                    continue;
                }
                plan.digest = digest(&text, rules);
                plans.push(Arc::new(plan));
            }
        }
    }
    plans
}

fn names(folder: &Path) -> std::io::Result<Vec<String>> {
    let mut names = Vec::new();
    for file in std::fs::read_dir(folder)? {
        let name = file?.file_name();
        if let Some(name) = name.to_str().filter(|name| name.ends_with(".toml")) {
            names.push(name.to_owned());
        }
    }
    names.sort();
    Ok(names)
}

/// What cannot be read is a mistake among the others, so that theirs are told too.
fn unreadable(file: &str, error: &std::io::Error, expected: &str) -> Mistake {
    Mistake {
        file: file.to_owned(),
        line: 1,
        what: format!("cannot be read: {error}; expected {expected}"),
    }
}

/// Where the part says its name.
fn line_of_part(text: &str) -> usize {
    let key = |line: &str| {
        line.split('=')
            .next()
            .is_some_and(|key| key.trim() == "part")
    };
    text.lines().position(key).map_or(1, |index| index + 1)
}

/// SHA-256 over the part file and the rules it was computed by: either one changing is a new revision.
fn digest(text: &str, rules: &BuildRules) -> String {
    let mut hasher = Sha256::new();
    hasher.update(format!("{}\n{}\n", rules.general, rules.allowance));
    hasher.update(text);
    hasher
        .finalize()
        .iter()
        .fold(String::new(), |mut hex, byte| {
            write!(hex, "{byte:02x}").expect("a String takes all that is written");
            hex
        })
}
