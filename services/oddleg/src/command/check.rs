//! `oddleg check`: everything read, nothing opened.

use std::path::Path;
use std::process::ExitCode;

use crate::config::Build;

pub(super) fn run(dir: &Path) -> anyhow::Result<ExitCode> {
    let build = Build::read(dir)?;
    println!(
        "{}: {} parts, {} benches, {} gauges, no mistakes",
        build.name,
        build.parts.len(),
        build.benches.len(),
        build.gauges.len()
    );
    for plan in &build.parts {
        for warning in &plan.warnings {
            println!("{}: note: {} ({})", plan.part, warning.what, warning.source);
        }
    }
    Ok(ExitCode::SUCCESS)
}
