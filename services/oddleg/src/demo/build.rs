//! The demo build, embedded.

use std::path::Path;

use anyhow::Context as _;

/// The capture's name, for mistakes in it.
pub(super) const CAPTURE_FILE: &str = "saltmarsh.capture";
/// The capture that is played.
pub(super) const CAPTURE: &str = include_str!("../../../../demo-readings/saltmarsh.capture");

const FILES: [(&str, &str); 13] = [
    (
        "oddleg.toml",
        include_str!("../../../../demo-readings/oddleg.toml"),
    ),
    (
        "parts/B1.toml",
        include_str!("../../../../demo-readings/parts/B1.toml"),
    ),
    (
        "parts/B2.toml",
        include_str!("../../../../demo-readings/parts/B2.toml"),
    ),
    (
        "parts/B3.toml",
        include_str!("../../../../demo-readings/parts/B3.toml"),
    ),
    (
        "parts/B4.toml",
        include_str!("../../../../demo-readings/parts/B4.toml"),
    ),
    (
        "parts/C1.toml",
        include_str!("../../../../demo-readings/parts/C1.toml"),
    ),
    (
        "parts/G1.toml",
        include_str!("../../../../demo-readings/parts/G1.toml"),
    ),
    (
        "parts/H1.toml",
        include_str!("../../../../demo-readings/parts/H1.toml"),
    ),
    (
        "parts/K1.toml",
        include_str!("../../../../demo-readings/parts/K1.toml"),
    ),
    (
        "parts/K2.toml",
        include_str!("../../../../demo-readings/parts/K2.toml"),
    ),
    (
        "parts/K3.toml",
        include_str!("../../../../demo-readings/parts/K3.toml"),
    ),
    (
        "parts/R1.toml",
        include_str!("../../../../demo-readings/parts/R1.toml"),
    ),
    (
        "parts/S3.toml",
        include_str!("../../../../demo-readings/parts/S3.toml"),
    ),
];

/// Writes the build into an empty directory.
pub(super) fn lay_out(dir: &Path) -> anyhow::Result<()> {
    for folder in ["parts", "gauges"] {
        let folder = dir.join(folder);
        std::fs::create_dir(&folder).with_context(|| format!("making {}", folder.display()))?;
    }
    for (name, text) in FILES {
        let file = dir.join(name);
        std::fs::write(&file, text).with_context(|| format!("writing {}", file.display()))?;
    }
    Ok(())
}
