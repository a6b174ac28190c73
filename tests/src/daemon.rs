//! The daemon as a process of its own.

use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};

use crate::person::Person;
use crate::{Plugged, wait};

/// A running daemon; killed when dropped.
#[derive(Debug)]
pub struct Daemon {
    child: Child,
    /// Somebody at its screen.
    pub person: Person,
}

impl Daemon {
    /// Starts `program serve DIR` and waits until the screen answers.
    #[must_use]
    pub fn start(program: &Path, dir: &Path) -> Self {
        Self::start_at(program, dir, "127.0.0.1:0")
    }

    /// The same at an address, as after a restart that a browser waits for.
    #[must_use]
    pub fn start_at(program: &Path, dir: &Path, listen: &str) -> Self {
        let mut child = Command::new(program)
            .arg("serve")
            .arg(dir)
            .args(["--listen", listen])
            .stdout(Stdio::piped())
            .stderr(
                std::fs::OpenOptions::new()
                    .create(true)
                    .append(true)
                    .open(dir.join("daemon.log"))
                    .unwrap(),
            )
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let said = lines.next().and_then(Result::ok).unwrap_or_else(|| {
            let log = std::fs::read_to_string(dir.join("daemon.log")).unwrap_or_default();
            panic!("the daemon did not start:\n{log}")
        });
        let address = said
            .split_whitespace()
            .find(|word| word.starts_with("http://"))
            .unwrap();
        let person = Person::at(address.trim_end_matches('/'));
        Self { child, person }
    }

    /// Plugs a gauge in under its stable name, and waits until the daemon listens to it.
    #[must_use]
    pub fn plug(&self, gauge: &str, port: &Path) -> Plugged {
        let mut plugged = Plugged::new(port).unwrap();
        wait::until("the port", || {
            (self.person.gauge_state(gauge) == "connected").then_some(())
        });
        // The end of a line: what follows begins one, which a listener that joins in cannot know.
        plugged.send(b"\r").unwrap();
        plugged
    }

    /// Sends a line and waits until it is in the history; gives the entry's number.
    pub fn hears(&self, gauge: &mut Plugged, line: &[u8]) -> u64 {
        let before = self.person.newest();
        gauge.send(line).unwrap();
        wait::until("the line to be committed", || {
            Some(self.person.newest()).filter(|seq| *seq > before)
        })
    }

    /// Waits until the broker keeps a session for it: what is published before that is nobody's.
    pub fn wait_for_broker(&self) {
        wait::until("the broker's session", || {
            self.person
                .text("/")
                .contains("broker: connected")
                .then_some(())
        });
    }

    /// The process's number.
    #[must_use]
    pub fn pid(&self) -> u32 {
        self.child.id()
    }

    /// Ends it without any warning, as a power cut does to a process.
    pub fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    /// Asks it to stop and waits; gives its exit code.
    pub fn stop(mut self) -> Option<i32> {
        let pid = rustix::process::Pid::from_child(&self.child);
        rustix::process::kill_process(pid, rustix::process::Signal::TERM).unwrap();
        self.child.wait().unwrap().code()
    }

    /// Waits until it ends by itself; gives its exit code.
    pub fn ended(mut self) -> Option<i32> {
        self.child.wait().unwrap().code()
    }
}

impl Drop for Daemon {
    fn drop(&mut self) {
        // Gone already is as good as killed.
        drop(self.child.kill());
        drop(self.child.wait());
    }
}
