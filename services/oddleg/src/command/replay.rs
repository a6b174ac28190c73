//! `oddleg replay`: a capture through the real spine, as if it happened now. The build's own history is not
//! touched.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::{Context as _, bail};

use crate::config::Build;
use crate::replay::Replay;
use crate::{capture, clock};

pub(super) fn run(dir: &Path, file: &Path, keep: Option<&Path>) -> anyhow::Result<ExitCode> {
    let mut build = Build::read(dir)?;
    let text =
        std::fs::read_to_string(file).with_context(|| format!("reading {}", file.display()))?;
    let steps = capture::parse(&file.display().to_string(), &text)?;
    // Removed when it goes out of scope, whatever happened in between.
    let (_own, kept) = directory(keep)?;
    build.dir.clone_from(&kept);
    let mut replay = Replay::begin(&build, clock::now_us())?;
    for step in &steps {
        let lines = replay
            .act(&step.act)
            .with_context(|| format!("{}:{}", file.display(), step.line))?;
        super::say(&lines)?;
    }
    let (entries, checkpoint) = replay.end()?;
    super::say(&format!("{entries} entries\n{checkpoint}"))?;
    if let Some(keep) = keep {
        super::say(&format!("the history is in {}\n", keep.display()))?;
    }
    Ok(ExitCode::SUCCESS)
}

/// Where the replayed history is written.
fn directory(keep: Option<&Path>) -> anyhow::Result<(Option<tempfile::TempDir>, PathBuf)> {
    let Some(dir) = keep else {
        let own = tempfile::Builder::new()
            .prefix("oddleg-replay-")
            .tempdir()
            .context("making a directory for the replay")?;
        let path = own.path().to_path_buf();
        return Ok((Some(own), path));
    };
    std::fs::create_dir_all(dir).with_context(|| format!("making {}", dir.display()))?;
    let mut inside =
        std::fs::read_dir(dir).with_context(|| format!("reading {}", dir.display()))?;
    if inside.next().is_some() {
        bail!(
            "{} is not empty; a replay never touches a build of yours, name a new directory",
            dir.display()
        );
    }
    Ok((None, dir.to_path_buf()))
}
