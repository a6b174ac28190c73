//! A gauge at the far end of a real pseudo-terminal, under a stable name that comes and goes with it.

use std::ffi::OsStr;
use std::io::Write as _;
use std::os::fd::{AsFd, BorrowedFd};
use std::os::unix::ffi::OsStrExt as _;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};

use anyhow::Context as _;
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};

/// A plugged gauge. Dropping it pulls the plug: the name goes, and whoever reads the port sees it end.
#[derive(Debug)]
pub struct Plugged {
    far_end: std::fs::File,
    name: PathBuf,
}

impl Plugged {
    /// Plugs a gauge in under `name`.
    ///
    /// # Errors
    /// The system has no pseudo-terminal left, or the name is taken.
    pub fn new(name: &Path) -> anyhow::Result<Self> {
        let far_end = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC)
            .context("opening a pseudo-terminal")?;
        grantpt(&far_end).context("granting the pseudo-terminal")?;
        unlockpt(&far_end).context("unlocking the pseudo-terminal")?;
        let port = ptsname(&far_end, Vec::new()).context("naming the pseudo-terminal")?;
        symlink(OsStr::from_bytes(port.as_bytes()), name)
            .with_context(|| format!("giving the port its stable name {}", name.display()))?;
        Ok(Self {
            far_end: far_end.into(),
            name: name.to_path_buf(),
        })
    }

    /// Sends bytes as they are.
    ///
    /// # Errors
    /// The pseudo-terminal is gone.
    pub fn send(&mut self, bytes: &[u8]) -> anyhow::Result<()> {
        self.far_end
            .write_all(bytes)
            .context("sending through the pseudo-terminal")
    }
}

impl AsFd for Plugged {
    fn as_fd(&self) -> BorrowedFd<'_> {
        self.far_end.as_fd()
    }
}

impl Drop for Plugged {
    fn drop(&mut self) {
        // Gone already is as good as removed.
        drop(std::fs::remove_file(&self.name));
    }
}
