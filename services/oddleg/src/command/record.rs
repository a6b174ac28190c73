//! `oddleg record`: the build quality record, read from the history and written to a file.

use std::path::Path;
use std::process::ExitCode;

use anyhow::{Context as _, bail};
use build_record::{Row, Source};
use history::Reader;
use shared_types::Seq;

pub(super) fn run(dir: &Path, out: &Path) -> anyhow::Result<ExitCode> {
    let ending = out
        .extension()
        .and_then(|ending| ending.to_str())
        .unwrap_or_default();
    if !matches!(ending, "csv" | "json") {
        bail!(
            "writing {}: found the ending {ending:?}, expected .csv or .json",
            out.display()
        );
    }
    let reader = Reader::open(dir)?;
    let checkpoint = reader.checkpoint()?;
    let size =
        usize::try_from(checkpoint.size).context("more entries than this machine can count")?;
    let bodies = reader.stored(1..=checkpoint.size)?;
    let entries = reader.after(Seq(0), size)?;
    let rows: Vec<Row> = entries
        .into_iter()
        .zip(bodies)
        .map(|(entry, stored)| Row {
            entry,
            body: stored.body,
        })
        .collect();
    let checkpoint = checkpoint.to_string();
    let source = Source {
        rows: &rows,
        checkpoint: &checkpoint,
    };
    let bytes = if ending == "csv" {
        build_record::csv(&source)
    } else {
        build_record::json(&source).into_bytes()
    };
    std::fs::write(out, bytes).with_context(|| format!("writing {}", out.display()))?;
    println!("{}: {} entries\n{checkpoint}", out.display(), rows.len());
    Ok(ExitCode::SUCCESS)
}
