//! The real broker, run with the configuration that `deploy/` ships.

use std::net::{TcpListener, TcpStream};
use std::process::{Child, Command, Stdio};

use rumqttc::{AsyncClient, EventLoop, MqttOptions};
use tempfile::TempDir;

use crate::wait;

/// The gauge that a test's bridge speaks for; its user at the broker has the same name.
pub const BRIDGE: &str = "bridge-1";
/// The password of everybody here.
pub const PASSWORD: &str = "invented";

/// A broker of its own for one test; killed when dropped.
#[derive(Debug)]
pub struct Broker {
    dir: TempDir,
    /// Where it listens, on loopback.
    pub port: u16,
    child: Option<Child>,
}

impl Broker {
    /// Starts a broker on a port of its own.
    #[must_use]
    pub fn start() -> Self {
        Self::with(true)
    }

    /// The same, but it writes its store only at its end: at each change, as shipped, it rewrites the whole
    /// store, and a backlog of tens of thousands would measure that instead of oddleg.
    #[must_use]
    pub fn that_seldom_saves() -> Self {
        Self::with(false)
    }

    fn with(saves: bool) -> Self {
        let dir = tempfile::Builder::new()
            .prefix("oddleg-broker-")
            .tempdir()
            .unwrap();
        // Free now; the broker takes it a moment later.
        let port = TcpListener::bind("127.0.0.1:0")
            .unwrap()
            .local_addr()
            .unwrap()
            .port();
        let mut broker = Self {
            dir,
            port,
            child: None,
        };
        broker.configure(saves);
        broker.up();
        broker
    }

    fn configure(&self, saves: bool) {
        let dir = self.dir.path().display();
        let shipped = std::fs::read_to_string(concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/../deploy/mosquitto/oddleg.conf"
        ));
        let mut adapted = shipped.unwrap();
        for (theirs, ours) in [
            (
                "listener 1883\n",
                format!("listener {} 127.0.0.1\n", self.port),
            ),
            (
                "password_file /etc/mosquitto/oddleg.passwd\n",
                format!("password_file {dir}/passwd\n"),
            ),
            (
                "acl_file /etc/mosquitto/oddleg.acl\n",
                format!("acl_file {dir}/acl\n"),
            ),
        ] {
            assert!(
                adapted.contains(theirs),
                "the shipped configuration says {theirs:?}"
            );
            adapted = adapted.replace(theirs, &ours);
        }
        if !saves {
            for (theirs, ours) in [
                ("autosave_on_changes true", "autosave_on_changes false"),
                ("autosave_interval 1\n", "autosave_interval 0\n"),
            ] {
                assert!(
                    adapted.contains(theirs),
                    "the shipped configuration says {theirs:?}"
                );
                adapted = adapted.replace(theirs, ours);
            }
        }
        // What Debian's main file says around it; and the test's own user may read its own files.
        let user = Command::new("id").arg("-un").output().unwrap().stdout;
        let user = String::from_utf8(user).unwrap();
        adapted += &format!(
            "persistence true\npersistence_location {dir}/\nuser {}\n",
            user.trim()
        );
        std::fs::write(self.dir.path().join("conf"), adapted).unwrap();
        let acl = concat!(env!("CARGO_MANIFEST_DIR"), "/../deploy/mosquitto/acl");
        std::fs::copy(acl, self.dir.path().join("acl")).unwrap();
        for (number, user) in ["oddleg", "lamp", BRIDGE].iter().enumerate() {
            let mut command = Command::new("mosquitto_passwd");
            command.arg("-b");
            if number == 0 {
                command.arg("-c");
            }
            let made = command
                .arg(self.dir.path().join("passwd"))
                .args([user, PASSWORD])
                .output();
            assert!(
                made.expect("mosquitto is installed (Debian: mosquitto)")
                    .status
                    .success()
            );
        }
        std::fs::write(self.dir.path().join("password"), PASSWORD).unwrap();
    }

    /// Starts it again.
    pub fn up(&mut self) {
        let log = std::fs::OpenOptions::new()
            .create(true)
            .append(true)
            .open(self.dir.path().join("log"))
            .unwrap();
        let path = format!("{}:/usr/sbin", std::env::var("PATH").unwrap_or_default());
        let child = Command::new("mosquitto")
            .env("PATH", path)
            .arg("-c")
            .arg(self.dir.path().join("conf"))
            .stdout(Stdio::null())
            .stderr(log)
            .spawn()
            .expect("mosquitto is installed (Debian: mosquitto)");
        self.child = Some(child);
        wait::until("the broker", || {
            TcpStream::connect(("127.0.0.1", self.port)).ok()
        });
    }

    /// Stops it in order, as a restart of the service does.
    pub fn down(&mut self) {
        if let Some(mut child) = self.child.take() {
            let pid = rustix::process::Pid::from_child(&child);
            rustix::process::kill_process(pid, rustix::process::Signal::TERM).unwrap();
            child.wait().unwrap();
        }
    }

    /// The lines of oddleg.toml that name it.
    #[must_use]
    pub fn toml(&self) -> String {
        format!(
            "\n[mqtt]\nbroker = \"mqtt://127.0.0.1:{}\"\nuser = \"oddleg\"\npassword_file = \"{}\"\n\n\
             [gauge.{BRIDGE}]\nbench = \"bench-1\"\nkind = \"caliper\"\nvia = \"mqtt\"\nunit = \"mm\"\n",
            self.port,
            self.dir.path().join("password").display()
        )
    }

    /// A client of the broker under the name and password of `user`.
    #[must_use]
    pub fn client(&self, user: &str, id: &str) -> (AsyncClient, EventLoop) {
        let mut options = MqttOptions::new(id, "127.0.0.1", self.port);
        options.set_credentials(user, PASSWORD).set_inflight(500);
        AsyncClient::new(options, 500)
    }
}

impl Drop for Broker {
    fn drop(&mut self) {
        if let Some(mut child) = self.child.take() {
            // Gone already is as good as killed.
            drop(child.kill());
            drop(child.wait());
        }
    }
}
