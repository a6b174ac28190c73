//! The serial ports of this computer: their stable names, and who has them open. Read directly, without a
//! device library: two directories say it all.

use std::collections::BTreeSet;
use std::io;
use std::path::{Path, PathBuf};

use serde::Serialize;

/// Where the system gives each adapter a name that stays.
pub(crate) const STABLE_NAMES: &str = "/dev/serial/by-id";
/// Adapters in /dev that get a stable name where the system gives any.
const ADAPTERS: [&str; 2] = ["ttyUSB", "ttyACM"];
/// Most open files looked at of one process: more than any has that reads a gauge.
const FILES_MAX: usize = 4096;

/// A serial port.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Port {
    /// Its stable name; none for an adapter the system gives none.
    pub(crate) name: Option<PathBuf>,
    /// The device behind it at this moment.
    pub(crate) device: PathBuf,
}

/// Who has a port open.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(crate) struct Holder {
    /// The process.
    pub(crate) pid: u32,
    /// Its program.
    pub(crate) program: String,
}

/// The ports, by name. A directory of names that is not there has none: the system makes it with the first.
pub(crate) fn list(names: &Path) -> io::Result<Vec<Port>> {
    let mut ports = Vec::new();
    for name in entries(names)? {
        // A name that leads nowhere is that of a gauge unplugged a moment ago.
        if let Ok(device) = std::fs::canonicalize(&name) {
            ports.push(Port {
                name: Some(name),
                device,
            });
        }
    }
    if names == Path::new(STABLE_NAMES) {
        let named: BTreeSet<PathBuf> = ports.iter().map(|port| port.device.clone()).collect();
        for device in entries(Path::new("/dev"))? {
            let file = device.file_name().map(|name| name.to_string_lossy());
            let is_adapter =
                file.is_some_and(|file| ADAPTERS.iter().any(|adapter| file.starts_with(adapter)));
            if is_adapter && !named.contains(&device) {
                ports.push(Port { name: None, device });
            }
        }
    }
    Ok(ports)
}

fn entries(dir: &Path) -> io::Result<Vec<PathBuf>> {
    let read = match std::fs::read_dir(dir) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        read => read?,
    };
    let mut paths = read
        .map(|entry| entry.map(|entry| entry.path()))
        .collect::<Result<Vec<_>, _>>()?;
    paths.sort();
    Ok(paths)
}

/// Who has the device open, as far as we may see: our own processes, or everybody's as root.
pub(crate) fn holders(device: &Path) -> Vec<Holder> {
    let Ok(processes) = entries(Path::new("/proc")) else {
        return Vec::new();
    };
    let mut holders = Vec::new();
    for process in processes {
        let name = process.file_name().map(|name| name.to_string_lossy());
        let Some(pid) = name.and_then(|name| name.parse().ok()) else {
            continue;
        };
        let Ok(files) = std::fs::read_dir(process.join("fd")) else {
            continue;
        };
        let is_open = files
            .flatten()
            .take(FILES_MAX)
            .any(|file| std::fs::read_link(file.path()).is_ok_and(|target| target == device));
        if is_open {
            let program = std::fs::read_to_string(process.join("comm")).unwrap_or_default();
            let program = program.trim_end().to_owned();
            holders.push(Holder { pid, program });
        }
    }
    holders
}

/// What to do about a port that cannot be opened; `None` where another program has it.
pub(crate) fn advice(error: &io::Error) -> Option<&'static str> {
    match error.kind() {
        io::ErrorKind::PermissionDenied => Some(
            "expected this user in the group dialout (sudo usermod -aG dialout NAME, then log in again), or the rule in deploy/99-oddleg.rules",
        ),
        io::ErrorKind::NotFound => {
            Some("expected the gauge plugged in; `oddleg ports` lists what is")
        }
        io::ErrorKind::ResourceBusy => None,
        _ => Some("expected a serial port; `oddleg ports` lists them"),
    }
}
