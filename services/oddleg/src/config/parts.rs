//! Part files: found, read, computed, and named by a digest of what went into them.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;
use std::sync::Arc;

use nominals::BuildRules;
use sha2::{Digest, Sha256};
use shared_types::{Mistake, PartPlan};

use super::BuildError;

pub(super) fn read(
    dir: &Path,
    rules: &BuildRules,
    mistakes: &mut Vec<Mistake>,
) -> Result<Vec<Arc<PartPlan>>, BuildError> {
    let folder = dir.join("parts");
    let mut names = Vec::new();
    let unreadable = |source| BuildError::Unreadable {
        path: folder.display().to_string(),
        source,
    };
    for file in std::fs::read_dir(&folder).map_err(unreadable)? {
        let name = file.map_err(unreadable)?.file_name();
        if let Some(name) = name.to_str().filter(|name| name.ends_with(".toml")) {
            names.push(name.to_owned());
        }
    }
    names.sort();
    let mut seen: BTreeMap<String, String> = BTreeMap::new();
    let mut plans = Vec::new();
    for name in names {
        let file = format!("parts/{name}");
        let text = read_text(&folder.join(&name))?;
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
                        line: 1,
                        what,
                    });
                    continue;
                }
                plan.digest = digest(&text, rules);
                plans.push(Arc::new(plan));
            }
        }
    }
    Ok(plans)
}

pub(super) fn read_text(path: &Path) -> Result<String, BuildError> {
    std::fs::read_to_string(path).map_err(|source| BuildError::Unreadable {
        path: path.display().to_string(),
        source,
    })
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
