//! A port on a pseudo-terminal, and what is heard of it.

#![allow(
    dead_code,
    clippy::unwrap_used,
    reason = "helpers of tests, each of which uses a part; a panic is the report"
)]

use std::fs::File;
use std::os::unix::fs::symlink;
use std::path::PathBuf;
use std::time::Duration;

use intake::serial::{self, LineShape, SerialGauge, SerialPort};
use intake::{Asker, Dialect, Mode, Terminator};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use shared_types::{Decoded, Event, GaugeId, Submission};
use tempfile::TempDir;
use tokio::sync::mpsc;
use tokio_util::sync::CancellationToken;

pub(crate) const SOON: Duration = Duration::from_secs(20);
/// Longer than the silence after which a line is known to begin.
pub(crate) const QUIET: Duration = Duration::from_millis(700);

/// The gauge's end of a pseudo-terminal and the name of ours.
pub(crate) fn pty() -> (File, PathBuf) {
    let master = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).unwrap();
    grantpt(&master).unwrap();
    unlockpt(&master).unwrap();
    let name = ptsname(&master, Vec::new()).unwrap();
    (
        File::from(master),
        PathBuf::from(name.into_string().unwrap()),
    )
}

pub(crate) struct Bench {
    dir: TempDir,
    pub(crate) submissions: mpsc::Receiver<Submission>,
    pub(crate) stop: CancellationToken,
}

impl Bench {
    pub(crate) fn link(&self) -> PathBuf {
        self.dir.path().join("usb-gauge-7")
    }

    /// Plugs a gauge in under its stable name.
    pub(crate) fn plug(&self) -> File {
        let (gauge, name) = pty();
        symlink(name, self.link()).unwrap();
        gauge
    }

    pub(crate) fn unplug(&self, gauge: File) {
        std::fs::remove_file(self.link()).unwrap();
        drop(gauge);
    }

    pub(crate) fn start(room: usize) -> Self {
        Self::start_with(room, |_| {}).0
    }

    /// With the port's settings changed; and what its gauges are asked by.
    pub(crate) fn start_with(room: usize, change: impl FnOnce(&mut SerialPort)) -> (Self, Asker) {
        let dir = TempDir::new().unwrap();
        let (sink, submissions) = mpsc::channel(room);
        let stop = CancellationToken::new();
        let bench = Self {
            dir,
            submissions,
            stop,
        };
        let mut port = SerialPort {
            path: bench.link(),
            baud: 9600,
            line: LineShape::default(),
            terminator: Terminator::CrOrLf,
            gauges: vec![SerialGauge {
                gauge: GaugeId::new("caliper-1").unwrap(),
                dialect: Dialect::default(),
                mode: Mode::default(),
            }],
            request: None,
            answer_max_us: 500_000,
            silence: intake::Silence::default(),
        };
        change(&mut port);
        let mut asker = Asker::default();
        let asks = asker.port(port.gauges.iter().map(|gauge| gauge.gauge.clone()));
        tokio::spawn(serial::run(port, sink, asks, bench.stop.clone()));
        (bench, asker)
    }

    pub(crate) async fn next(&mut self) -> String {
        self.next_of().await.1
    }

    /// The next, and of which gauge.
    pub(crate) async fn next_of(&mut self) -> (String, String) {
        let submission = tokio::time::timeout(SOON, self.submissions.recv()).await;
        let event = submission.expect("a submission").expect("it runs").event;
        let gauge = match &event {
            Event::GaugeSeen { gauge, .. } => gauge.to_string(),
            Event::Observed(o) => o.gauge.to_string(),
            other => panic!("{other:?}"),
        };
        let said = match event {
            Event::GaugeSeen { state, .. } => format!("{state:?}"),
            Event::Observed(o) => match o.decoded {
                Decoded::Reading(reading) => reading.digits,
                Decoded::Garbled(why) => {
                    format!("{why:?} {}", shared_types::printable(&o.raw))
                }
                Decoded::Flood { why, count } => {
                    format!("{why:?} {count} times {}", shared_types::printable(&o.raw))
                }
                Decoded::Suppressed(none) => format!("{:?} {} times", none.why, none.count),
            },
            other => panic!("{other:?}"),
        };
        (gauge, said)
    }

    /// With a gauge plugged in and heard to be quiet.
    pub(crate) async fn with_gauge(room: usize) -> (Self, File) {
        let mut bench = Self::start(room);
        let gauge = bench.plugged_in().await;
        (bench, gauge)
    }

    pub(crate) async fn plugged_in(&mut self) -> File {
        assert_eq!(self.next().await, "Unplugged");
        let gauge = self.plug();
        assert_eq!(self.next().await, "Connected");
        tokio::time::sleep(QUIET).await;
        gauge
    }
}
