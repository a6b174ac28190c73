//! `oddleg verify`: a history or an exported record, held against itself and against checkpoints kept elsewhere.

use std::path::Path;
use std::process::ExitCode;

use anyhow::{Context as _, bail};
use history::{Checkpoint, VerifyError};
use serde::Deserialize;
use shared_types::Seq;

use super::EXIT_ALTERED;

/// What of an exported record is needed to verify it.
#[derive(Deserialize)]
struct Exported {
    format: String,
    checkpoint: String,
    entries: Vec<Stored>,
}

#[derive(Deserialize)]
struct Stored {
    seq: Seq,
    body: String,
}

/// A checkpoint kept elsewhere, and the entries exported with it where it came in a record.
struct Kept {
    checkpoint: Checkpoint,
    entries: Vec<Stored>,
}

pub(super) fn run(what: &Path, against: &[std::path::PathBuf]) -> anyhow::Result<ExitCode> {
    let kept: Vec<Kept> = against
        .iter()
        .map(|file| read(file))
        .collect::<Result<_, _>>()?;
    if what.is_dir() {
        history(what, kept)
    } else {
        record(what, &kept)
    }
}

fn history(dir: &Path, kept: Vec<Kept>) -> anyhow::Result<ExitCode> {
    let checkpoints: Vec<Checkpoint> = kept.iter().map(|k| k.checkpoint.clone()).collect();
    let verified = match history::verify(dir, &checkpoints) {
        Ok(verified) => Ok(verified),
        Err(VerifyError::Unread(error)) => return Err(error).context("verifying the history"),
        Err(VerifyError::Altered(faults)) => Err(faults),
    };
    // Entries exported earlier name the very ones that differ, where a checkpoint can only bracket them.
    let mut unlike = Vec::new();
    for kept in kept {
        let bodies = kept
            .entries
            .into_iter()
            .map(|stored| (stored.seq, stored.body));
        match history::compare(dir, bodies) {
            Ok(_) => {}
            Err(VerifyError::Unread(error)) => return Err(error).context("comparing the history"),
            Err(VerifyError::Altered(faults)) => unlike.push(faults),
        }
    }
    match (verified, unlike.is_empty()) {
        (Ok(verified), true) => {
            println!(
                "{}: {} entries are as they were written",
                dir.display(),
                verified.checkpoint.size
            );
            println!("{}", verified.checkpoint);
            println!(
                "checkpoints that agree: {} kept in it ({} unsigned), {} given",
                verified.kept, verified.unsigned, verified.given
            );
            if verified.given == 0 {
                println!(
                    "no checkpoint kept elsewhere was given: a history rewritten as a whole, or with its \
                     end cut off, cannot be told from a true one without (--against)"
                );
            }
            Ok(ExitCode::SUCCESS)
        }
        (verified, _) => {
            eprintln!("oddleg: {} is not as it was written:", dir.display());
            if let Err(faults) = verified {
                eprintln!("{faults}");
            }
            for faults in unlike {
                eprintln!("compared with the record given:\n{faults}");
            }
            Ok(ExitCode::from(EXIT_ALTERED))
        }
    }
}

fn record(file: &Path, kept: &[Kept]) -> anyhow::Result<ExitCode> {
    let record = read(file)?;
    if record.entries.is_empty() {
        bail!(
            "{}: found a checkpoint alone, expected a build directory or an exported JSON record",
            file.display()
        );
    }
    let mut faults = Vec::new();
    for (number, stored) in record.entries.iter().enumerate() {
        if stored.seq.0 != number as u64 + 1 {
            faults.push(format!(
                "entry {} stands where entry {} belongs",
                stored.seq,
                number + 1
            ));
            break;
        }
    }
    let bodies = || record.entries.iter().map(|stored| stored.body.as_str());
    if let Err(fault) = history::verify_bodies(bodies(), &record.checkpoint) {
        faults.push(fault.to_string());
    }
    for kept in kept {
        let size = usize::try_from(kept.checkpoint.size).unwrap_or(usize::MAX);
        if kept.checkpoint.origin != record.checkpoint.origin {
            faults.push(format!(
                "the checkpoint given is of {}, this record of {}",
                kept.checkpoint.origin, record.checkpoint.origin
            ));
        } else if let Err(fault) = history::verify_bodies(bodies().take(size), &kept.checkpoint) {
            faults.push(format!("against the checkpoint given: {fault}"));
        }
        let unlike = kept
            .entries
            .iter()
            .zip(&record.entries)
            .find(|(a, b)| a.body != b.body);
        if let Some((stored, _)) = unlike {
            faults.push(format!(
                "entry {} differs from the record given",
                stored.seq
            ));
        }
    }
    if faults.is_empty() {
        println!(
            "{}: {} entries are as they were exported",
            file.display(),
            record.entries.len()
        );
        println!("{}", record.checkpoint);
        return Ok(ExitCode::SUCCESS);
    }
    eprintln!(
        "oddleg: {} is not as it was exported:\n{}",
        file.display(),
        faults.join("\n")
    );
    Ok(ExitCode::from(EXIT_ALTERED))
}

/// A file with the text of a checkpoint, or an exported JSON record.
fn read(file: &Path) -> anyhow::Result<Kept> {
    let text =
        std::fs::read_to_string(file).with_context(|| format!("reading {}", file.display()))?;
    if !text.trim_start().starts_with('{') {
        let checkpoint: Checkpoint = text
            .parse()
            .map_err(|wrong| anyhow::anyhow!("{}: {wrong}", file.display()))?;
        return Ok(Kept {
            checkpoint,
            entries: Vec::new(),
        });
    }
    let exported: Exported = serde_json::from_str(&text)
        .with_context(|| format!("reading {} as an exported record", file.display()))?;
    if exported.format != build_record::FORMAT {
        bail!(
            "{}: found the format {:?}, expected {:?}",
            file.display(),
            exported.format,
            build_record::FORMAT
        );
    }
    let checkpoint = exported
        .checkpoint
        .parse()
        .map_err(|wrong| anyhow::anyhow!("{}: its checkpoint: {wrong}", file.display()))?;
    Ok(Kept {
        checkpoint,
        entries: exported.entries,
    })
}
