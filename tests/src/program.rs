//! The program under test, built once in the profile of the tests.

use std::ffi::OsStr;
use std::path::PathBuf;
use std::process::Command;
use std::sync::OnceLock;

/// The real thing.
pub fn oddleg() -> PathBuf {
    static BUILT: OnceLock<PathBuf> = OnceLock::new();
    BUILT.get_or_init(|| build("oddleg", None)).clone()
}

/// What a run of the program said.
#[derive(Clone, Debug)]
pub struct Run {
    /// Its exit code.
    pub code: Option<i32>,
    /// What it printed.
    pub said: String,
    /// What it complained of.
    pub complained: String,
}

/// Runs the program to its end.
pub fn run<A: AsRef<OsStr>>(args: impl IntoIterator<Item = A>) -> Run {
    let output = Command::new(oddleg()).args(args).output().unwrap();
    Run {
        code: output.status.code(),
        said: String::from_utf8(output.stdout).unwrap(),
        complained: String::from_utf8(output.stderr).unwrap(),
    }
}

/// The twin that acknowledges before it commits: it must lose readings, or the test beside it proves nothing.
pub fn twin() -> PathBuf {
    static BUILT: OnceLock<PathBuf> = OnceLock::new();
    BUILT
        .get_or_init(|| build("oddleg-twin", Some("acknowledge-before-commit")))
        .clone()
}

fn build(bin: &str, feature: Option<&str>) -> PathBuf {
    // target/<profile>/deps/<this test>
    let this = std::env::current_exe().unwrap();
    let profile = this.ancestors().nth(2).unwrap();
    let mut cargo = Command::new(env!("CARGO"));
    cargo.args(["build", "--quiet", "--package", "oddleg", "--bin", bin]);
    cargo.arg("--target-dir").arg(profile.parent().unwrap());
    if profile.ends_with("release") {
        cargo.arg("--release");
    }
    if let Some(feature) = feature {
        cargo.args(["--features", feature]);
    }
    let status = cargo
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .status()
        .unwrap();
    assert!(status.success(), "building {bin}");
    profile.join(bin)
}
