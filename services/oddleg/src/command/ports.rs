//! `oddleg ports`: the serial ports there are, by their stable names.

use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::Duration;

use anyhow::Context as _;
use clap::Args;
use intake::serial::{LineShape, Probe};
use serde::Serialize;

use crate::serial_ports::{self, Holder, Port};

/// Line settings a gauge is listened for with: where they are wrong, what comes is noise, but it comes.
const BAUD: u32 = 9600;

/// What to look at.
#[derive(Debug, Args)]
pub(crate) struct Options {
    /// Listen at each free port for this many seconds; 0 opens none
    #[arg(long = "for", value_name = "SECONDS", default_value_t = 1, value_parser = clap::value_parser!(u64).range(0..=60))]
    seconds: u64,
    /// Where the system keeps stable names
    #[arg(long, value_name = "DIR", default_value = serial_ports::STABLE_NAMES)]
    names: PathBuf,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// A port and what was found out about it.
#[derive(Debug, Serialize)]
struct Seen {
    name: Option<PathBuf>,
    device: PathBuf,
    #[serde(flatten)]
    state: State,
}

#[derive(Debug, Serialize)]
#[serde(tag = "state", rename_all = "kebab-case")]
enum State {
    /// Not opened: it was not asked for.
    Unopened,
    /// Opened and listened to.
    Free {
        /// Bytes that came meanwhile.
        bytes: usize,
    },
    /// Another program has it.
    Busy { by: Vec<Holder> },
    /// It cannot be opened.
    Closed { why: String, advice: &'static str },
}

pub(super) fn run(options: &Options) -> anyhow::Result<ExitCode> {
    let ports = serial_ports::list(&options.names)
        .with_context(|| format!("reading {}", options.names.display()))?;
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .context("preparing to listen")?;
    let wait = Duration::from_secs(options.seconds);
    let seen: Vec<Seen> = runtime.block_on(async {
        // All at once: ten ports are not ten times the wait.
        let looks: Vec<_> = ports
            .into_iter()
            .map(|port| tokio::spawn(look(port, wait)))
            .collect();
        let mut seen = Vec::new();
        for look in looks {
            seen.push(look.await.context("looking at a port")?);
        }
        anyhow::Ok(seen)
    })?;
    let text = if options.json {
        let mut json = serde_json::to_string_pretty(&seen).context("writing JSON")?;
        json.push('\n');
        json
    } else {
        in_words(&seen, &options.names)
    };
    super::say(&text)?;
    Ok(ExitCode::SUCCESS)
}

async fn look(port: Port, wait: Duration) -> Seen {
    // Looked for before it is opened: a second reader would steal the daemon's bytes.
    let by = serial_ports::holders(&port.device);
    let state = if !by.is_empty() {
        State::Busy { by }
    } else if wait.is_zero() {
        State::Unopened
    } else {
        match Probe::open(&port.device, BAUD, LineShape::default()) {
            Ok(probe) => State::Free {
                bytes: bytes(probe, wait).await,
            },
            Err(error) => match serial_ports::advice(&error) {
                // It is held by somebody whose open files we may not see.
                None => State::Busy { by: Vec::new() },
                Some(advice) => State::Closed {
                    why: error.to_string(),
                    advice,
                },
            },
        }
    };
    Seen {
        name: port.name,
        device: port.device,
        state,
    }
}

async fn bytes(mut probe: Probe, wait: Duration) -> usize {
    let mut count = 0;
    let all = async {
        while let Ok(bytes) = probe.hear(wait).await {
            if bytes.is_empty() {
                return;
            }
            count += bytes.len();
        }
    };
    // It streams on, or it was quiet.
    tokio::time::timeout(wait, all).await.unwrap_or(());
    count
}

fn in_words(seen: &[Seen], names: &Path) -> String {
    if seen.is_empty() {
        return format!(
            "no serial port: nothing in {} and no adapter in /dev; plug a gauge in and look again\n",
            names.display()
        );
    }
    let mut text = String::new();
    for port in seen {
        let name = port.name.as_ref().unwrap_or(&port.device);
        let state = match &port.state {
            State::Unopened => "not opened".to_owned(),
            State::Free { bytes: 0 } => {
                "free, silent: press the gauge's button, or it is asked for its value".to_owned()
            }
            State::Free { bytes } => format!("free, speaks: {bytes} bytes came"),
            State::Busy { by } if by.is_empty() => "another program has it open".to_owned(),
            State::Busy { by } => {
                let by: Vec<String> = by
                    .iter()
                    .map(|holder| format!("{} ({})", holder.program, holder.pid))
                    .collect();
                format!("open in {}", by.join(", "))
            }
            State::Closed { why, advice } => format!("cannot be opened: {why}; {advice}"),
        };
        text += &format!("{}\n", name.display());
        text += &match &port.name {
            Some(_) => format!("    now {}; {state}\n", port.device.display()),
            None => format!("    no stable name; {state}\n"),
        };
    }
    text
}
