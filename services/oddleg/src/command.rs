//! The command line.

mod check;
mod layout;
mod listen;
mod nominals;
mod password;
mod ports;
mod record;
mod replay;
mod serve;
mod verify;

use std::io::Write as _;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Context as _;
use clap::{Parser, Subcommand};

use shared_types::PartPlan;

use crate::config::{Build, BuildError};

/// Exit code for a build directory with mistakes in its files, or without a configuration (`EX_USAGE` of
/// sysexits.h).
const EXIT_MISTAKES: u8 = 64;
/// Exit code for a history that does not verify (`EX_DATAERR`).
const EXIT_ALTERED: u8 = 65;
/// Exit code for anything else that failed (`EX_IOERR`).
const EXIT_FAILED: u8 = 74;

/// Takes readings from connected gauges, says pass, too small or too large for each dimension of each
/// piece, and keeps a history that can be checked.
///
/// oddleg compares numbers with the plan. It never says that a part is airworthy: the plans, the local
/// rules and a licensed inspector decide.
#[derive(Debug, Parser)]
#[command(name = "oddleg", version)]
struct Line {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Serve the demo build with its gauges played through real pseudo-terminals, MQTT and HTTP
    Demo(crate::demo::Options),
    /// Run the daemon on a build directory
    Serve {
        /// The build directory: oddleg.toml, parts/*.toml and the history oddleg keeps there
        dir: PathBuf,
        /// Serve the screen here instead of where oddleg.toml says, as 127.0.0.1:8377
        #[arg(long, value_name = "ADDR")]
        listen: Option<SocketAddr>,
    },
    /// Read the whole configuration and every part; all mistakes at once; exit 0 or 64
    Check {
        /// The build directory
        dir: PathBuf,
    },
    /// Print the computed characteristics of a part
    Nominals {
        /// The build directory
        dir: PathBuf,
        /// The part's name
        part: String,
        /// As JSON, with exact integers: lengths in picometres (pm), angles in milliarcseconds (mas)
        #[arg(long)]
        json: bool,
    },
    /// Write the blank and the form block of a part at full size as PDF, SVG or DXF, by the file's ending
    ///
    /// The PDF is cut into pages with marks to tape them together by, and with bars on each to measure the print.
    Layout(layout::Options),
    /// Write the build quality record as CSV or JSON, by the file's ending
    Record {
        /// The build directory
        dir: PathBuf,
        /// The file to write, ending in .csv or .json
        #[arg(long, value_name = "FILE")]
        out: PathBuf,
    },
    /// Make a password for a bridge or a lamp; print it once, and what oddleg.toml keeps of it
    Password {
        /// The name it will connect by; a bridge with one gauge takes the gauge's name
        name: String,
    },
    /// List the serial ports by their stable names: who has them open, and what speaks
    Ports(ports::Options),
    /// Show what a gauge says at a port, find its line settings and dialect, print what to paste
    Listen(listen::Options),
    /// Run a capture through the real spine, on a history of its own
    Replay {
        /// The build directory whose gauges and parts are used; its history is not touched
        dir: PathBuf,
        /// The capture, as `oddleg listen --capture` writes it
        capture: PathBuf,
        /// Keep the history made from it in this directory, which must be new or empty
        #[arg(long, value_name = "DIR")]
        keep: Option<PathBuf>,
    },
    /// Check a history or an exported JSON record; say what was altered and where; exit 0 or 65
    Verify {
        /// The build directory, or a record written with `oddleg record --out FILE.json`
        what: PathBuf,
        /// A checkpoint to hold it against: a file with the text of one, or an exported JSON record
        #[arg(long, value_name = "FILE")]
        against: Vec<PathBuf>,
    },
}

/// Runs the command line of this process.
#[must_use]
pub fn main() -> ExitCode {
    let line = Line::parse();
    // The demo tells its own story on the terminal; the log would talk into it.
    log(if matches!(line.command, Command::Demo(_)) {
        "warn"
    } else {
        "info"
    });
    let done = match line.command {
        Command::Demo(options) => crate::demo::run(&options),
        Command::Serve { dir, listen } => serve::run(&dir, listen),
        Command::Check { dir } => check::run(&dir),
        Command::Nominals { dir, part, json } => nominals::run(&dir, &part, json),
        Command::Layout(options) => layout::run(&options),
        Command::Record { dir, out } => record::run(&dir, &out),
        Command::Password { name } => password::run(&name),
        Command::Ports(options) => ports::run(&options),
        Command::Listen(options) => listen::run(&options),
        Command::Replay { dir, capture, keep } => replay::run(&dir, &capture, keep.as_deref()),
        Command::Verify { what, against } => verify::run(&what, &against),
    };
    match done {
        Ok(code) => code,
        Err(error) => {
            let mistakes = error.downcast_ref::<BuildError>().is_some();
            eprintln!("oddleg: {}", in_one_line(&error));
            ExitCode::from(if mistakes { EXIT_MISTAKES } else { EXIT_FAILED })
        }
    }
}

/// A part of a build by its name.
fn part<'b>(build: &'b Build, name: &str) -> anyhow::Result<&'b PartPlan> {
    let part = build.parts.iter().find(|plan| plan.part.as_str() == name);
    part.map(|plan| &**plan).with_context(|| {
        let known: Vec<&str> = build.parts.iter().map(|plan| plan.part.as_str()).collect();
        format!(
            "there is no part {name:?} in this build, expected one of {}",
            known.join(", ")
        )
    })
}

/// An error and its causes. One that says its cause already is not followed by it a second time.
fn in_one_line(error: &anyhow::Error) -> String {
    error.chain().fold(String::new(), |said, cause| {
        let cause = cause.to_string();
        if said.is_empty() {
            cause
        } else if said.contains(&cause) {
            said
        } else {
            format!("{said}: {cause}")
        }
    })
}

/// Writes to standard output. Whoever reads it may have had enough (`oddleg check DIR | head`): no failure.
fn say(text: &str) -> anyhow::Result<()> {
    match std::io::stdout().write_all(text.as_bytes()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(error).context("writing to standard output")
        }
        _ => Ok(()),
    }
}

fn log(usual: &str) {
    let filter = tracing_subscriber::EnvFilter::try_from_env("ODDLEG_LOG")
        .unwrap_or_else(|_| tracing_subscriber::EnvFilter::new(usual));
    tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(std::io::stderr)
        .with_target(false)
        .init();
}
