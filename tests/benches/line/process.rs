//! What is measured: a process, its processor time and memory, and the newest row it has committed.

use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use oddleg_tests::broker::Broker;
use oddleg_tests::daemon::Daemon;
use oddleg_tests::wait;
use oddleg_tests::workshop::Workshop;
use rusqlite::{Connection, OpenFlags};
use serde_json::json;

/// The floor or oddleg, running.
pub(crate) enum Subject {
    Floor(Child),
    Oddleg(Daemon),
}

impl Subject {
    /// Starts it and waits until readings reach it.
    pub(crate) fn start(ours: bool, broker: &Broker, workshop: &Workshop) -> Self {
        let subject = Self::spawn(ours, broker, workshop);
        match &subject {
            Self::Floor(_) => {
                wait::until("the floor", || {
                    workshop.path().join("ready").exists().then_some(())
                });
            }
            Self::Oddleg(daemon) => {
                daemon.person.post(
                    "/api/bench",
                    &json!({"bench": "bench-1", "piece": "P1/1", "stage": "blank"}),
                );
                wait::until("the broker's session", || {
                    daemon
                        .person
                        .text("/?bench=bench-1")
                        .contains("broker: connected")
                        .then_some(())
                });
            }
        }
        subject
    }

    /// Starts it.
    pub(crate) fn spawn(ours: bool, broker: &Broker, workshop: &Workshop) -> Self {
        if ours {
            return Self::Oddleg(Daemon::start(
                &oddleg_tests::program::oddleg(),
                workshop.path(),
            ));
        }
        let child = Command::new(std::env::current_exe().unwrap())
            .arg("floor")
            .arg(broker.port.to_string())
            .arg(workshop.path())
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        Self::Floor(child)
    }

    fn pid(&self) -> u32 {
        match self {
            Self::Floor(child) => child.id(),
            Self::Oddleg(daemon) => daemon.pid(),
        }
    }

    /// Processor time used so far, seconds.
    pub(crate) fn cpu_s(&self) -> f64 {
        cpu_s(self.pid())
    }

    /// Most memory it ever had resident, MiB.
    pub(crate) fn peak_mib(&self) -> f64 {
        peak_mib(self.pid())
    }
}

impl Drop for Subject {
    fn drop(&mut self) {
        if let Self::Floor(child) = self {
            drop(child.kill());
            drop(child.wait());
        }
    }
}

/// Processor time a process has used so far, seconds.
pub(crate) fn cpu_s(pid: u32) -> f64 {
    let stat = std::fs::read_to_string(format!("/proc/{pid}/stat")).unwrap();
    let fields: Vec<&str> = stat
        .rsplit(')')
        .next()
        .unwrap()
        .split_whitespace()
        .collect();
    let ticks: f64 = [11, 12]
        .iter()
        .map(|i| fields[*i].parse::<f64>().unwrap())
        .sum();
    ticks / rustix::param::clock_ticks_per_second() as f64
}

/// Most memory a process ever had resident, MiB.
pub(crate) fn peak_mib(pid: u32) -> f64 {
    let status = std::fs::read_to_string(format!("/proc/{pid}/status")).unwrap();
    let line = status.lines().find(|l| l.starts_with("VmHWM")).unwrap();
    line.split_whitespace()
        .nth(1)
        .unwrap()
        .parse::<f64>()
        .unwrap()
        / 1024.0
}

/// Looks at the database from outside, the same way for both.
pub(crate) struct Watch {
    database: Connection,
}

impl Watch {
    pub(crate) fn on(dir: &Path) -> Self {
        let database =
            Connection::open_with_flags(dir.join("history.db"), OpenFlags::SQLITE_OPEN_READ_ONLY)
                .unwrap();
        database.busy_timeout(Duration::from_secs(5)).unwrap();
        Self { database }
    }

    /// The newest committed row.
    pub(crate) fn newest(&self) -> u64 {
        let mut query = self
            .database
            .prepare_cached("SELECT coalesce(max(seq), 0) FROM entry")
            .unwrap();
        query
            .query_row([], |row| row.get::<_, i64>(0))
            .unwrap()
            .try_into()
            .unwrap()
    }

    pub(crate) fn until(&self, done: impl Fn(u64) -> bool) {
        while !done(self.newest()) {
            std::thread::sleep(Duration::from_micros(50));
        }
    }
}
