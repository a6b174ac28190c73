//! Part files: found, read, computed, and named by a digest of what went into them.

use std::fmt::Write as _;
use std::path::Path;
use std::sync::Arc;

use nominals::{BuildRules, PartFile, Taken};
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
    let mut files = Vec::new();
    for name in names {
        let file = format!("parts/{name}");
        match std::fs::read_to_string(folder.join(&name)) {
            Ok(text) => files.push(PartFile { name: file, text }),
            Err(error) => mistakes.push(unreadable(&file, &error, "a text file")),
        }
    }
    let (parts, wrong) = nominals::build(&files, rules);
    mistakes.extend(wrong);
    let plans = parts.into_iter().map(|part| {
        let digest = digest(&files[part.file].text, rules, &part.taken);
        Arc::new(PartPlan {
            digest,
            ..part.plan
        })
    });
    plans.collect()
}

fn names(folder: &Path) -> std::io::Result<Vec<String>> {
    let mut names = Vec::new();
    for file in std::fs::read_dir(folder)? {
        let name = file?.file_name();
        // Names that begin with a dot are what editors and other systems leave beside a file, not parts.
        let part = |name: &&str| name.ends_with(".toml") && !name.starts_with('.');
        if let Some(name) = name.to_str().filter(part) {
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

/// SHA-256 over the part file, the rules it was computed by and what it took from a mating part: any of them
/// changing is a new revision.
fn digest(text: &str, rules: &BuildRules, taken: &[Taken]) -> String {
    let mut hasher = Sha256::new();
    hasher.update(format!("{}\n{}\n", rules.general, rules.allowance));
    hasher.update(text);
    for one in taken {
        // A text cannot hold the byte 0, so that nothing taken looks like a part file's own words.
        let (part, id, nominal) = (&one.part, &one.characteristic, one.nominal);
        hasher.update(format!("\0{part} {id} {}", nominal.raw()));
    }
    hasher
        .finalize()
        .iter()
        .fold(String::new(), |mut hex, byte| {
            write!(hex, "{byte:02x}").expect("a String takes all that is written");
            hex
        })
}
