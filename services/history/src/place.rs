//! The directory a history lives in: its files, its lock, and whether it is on a local disk.

use std::fs::{File, OpenOptions, TryLockError};
use std::path::{Path, PathBuf};

use crate::HistoryError;

pub(crate) fn database(dir: &Path) -> PathBuf {
    dir.join("history.db")
}

pub(crate) fn key(dir: &Path) -> PathBuf {
    dir.join("history.key")
}

/// Takes the build for this process alone. The lock is on a file of its own: one on the database
/// would be dropped whenever any handle to the database is closed.
pub(crate) fn lock(dir: &Path) -> Result<File, HistoryError> {
    let path = dir.join("oddleg.lock");
    let failed = |source| HistoryError::Io {
        doing: "locking",
        path: path.clone(),
        source,
    };
    let file = OpenOptions::new()
        .write(true)
        .create(true)
        .truncate(false)
        .open(&path)
        .map_err(failed)?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(HistoryError::Locked {
            dir: dir.to_owned(),
        }),
        Err(TryLockError::Error(source)) => Err(failed(source)),
    }
}

/// Refuses a directory whose file system is served by another machine or by a program.
#[cfg(target_os = "linux")]
pub(crate) fn require_local(dir: &Path) -> Result<(), HistoryError> {
    let found = rustix::fs::statfs(dir).map_err(|error| HistoryError::Io {
        doing: "looking at the file system of",
        path: dir.to_owned(),
        source: error.into(),
    })?;
    #[allow(
        clippy::useless_conversion,
        reason = "the type is narrower on 32-bit machines"
    )]
    let magic = i64::from(found.f_type);
    match network_kind(magic) {
        Some(kind) => Err(HistoryError::NetworkFileSystem {
            dir: dir.to_owned(),
            kind,
        }),
        None => Ok(()),
    }
}

/// The kind is only known on Linux.
#[cfg(not(target_os = "linux"))]
pub(crate) fn require_local(_: &Path) -> Result<(), HistoryError> {
    Ok(())
}

/// The name of a file system that is not a local disk, by its number in statfs(2). The numbers are
/// those of the manual page, from memory.
#[cfg(target_os = "linux")]
fn network_kind(magic: i64) -> Option<&'static str> {
    // A 32-bit machine sees numbers above 2^31 as negative.
    Some(match magic & 0xffff_ffff {
        0x6969 => "NFS",
        0x517b | 0xff53_4d42 | 0xfe53_4d42 => "SMB/CIFS",
        0x0102_1997 => "9p",
        0x6573_5546 => "FUSE",
        0x00c3_6400 => "Ceph",
        0x5346_414f | 0x6b41_4653 => "AFS",
        0x7375_7245 => "Coda",
        0x564c => "NCP",
        0x0bd0_0bd0 => "Lustre",
        0x4750_4653 => "GPFS",
        0x786f_4256 => "shared-folder",
        _ => return None,
    })
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;

    #[test]
    fn network_file_systems_are_told_from_disks() {
        assert_eq!(network_kind(0x6969), Some("NFS"));
        assert_eq!(network_kind(0xff53_4d42), Some("SMB/CIFS"));
        assert_eq!(
            network_kind(i64::from(0xff53_4d42_u32.cast_signed())),
            Some("SMB/CIFS")
        );
        assert_eq!(network_kind(0x6573_5546), Some("FUSE"));
        // ext4, btrfs, xfs, tmpfs, f2fs: statfs(2), from memory.
        for disk in [0xef53, 0x9123_683e, 0x5846_5342, 0x0102_1994, 0xf2f5_2010] {
            assert_eq!(network_kind(disk), None, "{disk:x}");
        }
    }
}
