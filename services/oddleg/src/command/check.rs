//! `oddleg check`: everything read, nothing opened.

use std::fmt::Write as _;
use std::path::Path;
use std::process::ExitCode;

use crate::config::Build;

pub(super) fn run(dir: &Path) -> anyhow::Result<ExitCode> {
    let build = Build::read(dir)?;
    let mut text = String::new();
    writeln!(
        text,
        "{}: {} parts, {} benches, {} gauges, no mistakes",
        build.name,
        build.parts.len(),
        build.benches.len(),
        build.gauges.len()
    )?;
    for plan in &build.parts {
        for warning in &plan.warnings {
            writeln!(
                text,
                "{}: note: {} ({})",
                plan.part, warning.what, warning.source
            )?;
        }
    }
    super::say(&text)?;
    Ok(ExitCode::SUCCESS)
}
