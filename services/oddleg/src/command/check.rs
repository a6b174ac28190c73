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
        "{}: {}, {}, {}, no mistakes",
        build.name,
        counted(build.parts.len(), "part", "parts"),
        counted(build.benches.len(), "bench", "benches"),
        counted(build.gauges.len(), "gauge", "gauges")
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

fn counted(count: usize, one: &str, more: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { more })
}
