//! `oddleg listen`: what does this gauge say, by which line settings, in which dialect?

mod advice;
mod recorder;

use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::Duration;

use anyhow::{Context as _, bail};
use clap::Args;
use intake::serial::{LineShape, Probe};
use intake::{Dialect, Explanation, Frame, Framer, Terminator, explain};
use shared_types::{GaugeId, Unit, printable};
use tokio::time::Instant;

use self::advice::advice;
use self::recorder::Recorder;
use crate::config::Build;
use crate::serial_ports;

/// The line settings gauges and their adapters are usually set to, the likelier first.
const USUAL: [(u32, &str); 9] = [
    (9600, "8N1"),
    (4800, "7E2"),
    (115_200, "8N1"),
    (2400, "8N1"),
    (4800, "8N1"),
    (19_200, "8N1"),
    (38_400, "8N1"),
    (57_600, "8N1"),
    (9600, "7E1"),
];
/// How long each is tried: a streaming gauge speaks three times a second at least, a person presses a button
/// within this.
const TRY: Duration = Duration::from_secs(3);
/// Frames kept in order to be explained; a recording keeps them all.
const FRAMES_MAX: usize = 1000;
/// Lines that no dialect explains are shown up to here; after as many again the next setting is tried.
const NOISE_MAX: u64 = 10;
/// How often a gauge is asked: within each try a few times, and slower than whatever streams.
const ASK_EVERY: Duration = Duration::from_secs(1);
/// So many in a second come from no button.
const STREAM_HZ_MIN: u64 = 2;

/// What to listen to.
#[derive(Debug, Args)]
pub(crate) struct Options {
    /// The port, best by its stable name (see `oddleg ports`)
    port: PathBuf,
    /// Bits per second; the usual line settings are tried where neither this nor --line is given
    #[arg(long)]
    baud: Option<u32>,
    /// Data bits, parity and stop bits, as 8N1
    #[arg(long)]
    line: Option<LineShape>,
    /// The unit of a line that names none: mm, in or deg
    #[arg(long, default_value = "mm", value_parser = unit)]
    unit: Unit,
    /// Listen this many seconds in all
    #[arg(long = "for", value_name = "SECONDS", default_value_t = 30, value_parser = clap::value_parser!(u64).range(1..=86_400))]
    seconds: u64,
    /// Try the patterns, letters and marks of this build's gauges too
    #[arg(long = "config", value_name = "DIR")]
    build: Option<PathBuf>,
    /// Ask with this text once a second: some gauges send only what they are asked for
    #[arg(long, value_name = "TEXT")]
    ask: Option<String>,
    /// What ends the text: cr, lf, cr-lf or none
    #[arg(long, value_name = "END", default_value = "cr", value_parser = ["cr", "lf", "cr-lf", "none"])]
    ask_end: String,
    /// What to call the gauge
    #[arg(long, value_name = "NAME", default_value = "gauge-1")]
    gauge: GaugeId,
    /// Record everything that comes, with its times, for `oddleg replay`
    #[arg(long, value_name = "FILE")]
    capture: Option<PathBuf>,
}

fn unit(name: &str) -> Result<Unit, String> {
    match name {
        "mm" => Ok(Unit::Millimetre),
        "in" => Ok(Unit::Inch),
        "deg" => Ok(Unit::Degree),
        _ => Err("expected mm, in or deg".to_owned()),
    }
}

impl Options {
    /// What is sent to ask, with its end.
    fn request(&self) -> Option<String> {
        let end = match self.ask_end.as_str() {
            "none" => "",
            "lf" => "\n",
            "cr-lf" => "\r\n",
            _ => "\r",
        };
        self.ask.as_ref().map(|text| format!("{text}{end}"))
    }
}

pub(super) fn run(options: &Options) -> anyhow::Result<ExitCode> {
    let settings = settings(options);
    let known = match &options.build {
        Some(dir) => {
            let gauges = Build::read(dir)?.gauges.into_iter();
            gauges.map(|gauge| gauge.dialect).collect()
        }
        None => Vec::new(),
    };
    let mut recorder = Recorder::new(options)?;
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .context("preparing to listen")?;
    let found = runtime.block_on(search(options, &known, &settings, &mut recorder))?;
    recorder.end()?;
    let Some((baud, line, said)) = found else {
        bail!(
            "listening at {}: nothing came that a dialect explains, expected lines of a gauge; press its button, look at its \
             data sheet for --baud, --line and what to --ask, or describe its lines with dialect = \"pattern\" and name that \
             build with --config",
            options.port.display()
        );
    };
    super::say(&advice(options, baud, line, &said))?;
    Ok(ExitCode::SUCCESS)
}

fn settings(options: &Options) -> Vec<(u32, LineShape)> {
    let usual = |text: &str| {
        text.parse::<LineShape>()
            .expect("the usual settings are settings")
    };
    match (options.baud, options.line) {
        (None, None) => USUAL
            .iter()
            .map(|(baud, line)| (*baud, usual(line)))
            .collect(),
        (baud, line) => vec![(baud.unwrap_or(9600), line.unwrap_or_default())],
    }
}

/// What was said by one of the line settings.
struct Said<'k> {
    unit: Unit,
    /// What the configuration names beside the usual dialects.
    known: &'k [Dialect],
    frames: Vec<Vec<u8>>,
    /// Between the first and the last of them.
    took: Duration,
    count: u64,
}

impl Said<'_> {
    fn explanations(&self) -> Vec<Explanation> {
        explain(self.frames.iter().map(Vec::as_slice), self.unit, self.known)
    }
}

/// Tries the settings in turn until one is explained, then listens on by that one.
async fn search<'k>(
    options: &Options,
    known: &'k [Dialect],
    settings: &[(u32, LineShape)],
    recorder: &mut Recorder,
) -> anyhow::Result<Option<(u32, LineShape, Said<'k>)>> {
    let end = Instant::now() + Duration::from_secs(options.seconds);
    for (baud, line) in settings.iter().cycle() {
        if Instant::now() >= end {
            break;
        }
        let probe = open(&options.port, *baud, *line)?;
        super::say(&match &options.ask {
            Some(text) => format!("{baud} {line}: asking {text:?} and listening\n"),
            None => format!("{baud} {line}: listening; press the gauge's button\n"),
        })?;
        recorder.settings(*baud, *line)?;
        let only = settings.len() == 1;
        let said = listen(probe, options, known, end, only, recorder).await?;
        if !said.explanations().is_empty() {
            return Ok(Some((*baud, *line, said)));
        }
        if only {
            break;
        }
    }
    Ok(None)
}

fn open(port: &Path, baud: u32, line: LineShape) -> anyhow::Result<Probe> {
    match Probe::open(port, baud, line) {
        Ok(probe) => Ok(probe),
        Err(error) => {
            let device = std::fs::canonicalize(port).unwrap_or_else(|_| port.to_path_buf());
            match serial_ports::advice(&error) {
                Some(advice) => bail!("opening {}: {error}; {advice}", port.display()),
                None => {
                    let by: Vec<String> = serial_ports::holders(&device)
                        .iter()
                        .map(|holder| format!("{} ({})", holder.program, holder.pid))
                        .collect();
                    bail!(
                        "opening {}: another program has it ({}), expected it free; stop that one first",
                        port.display(),
                        by.join(", ")
                    )
                }
            }
        }
    }
}

/// Listens by one setting: for a short while, or to the `end` once something is explained.
async fn listen<'k>(
    mut probe: Probe,
    options: &Options,
    known: &'k [Dialect],
    end: Instant,
    only: bool,
    recorder: &mut Recorder,
) -> anyhow::Result<Said<'k>> {
    let mut framer = Framer::new(Terminator::default());
    let request = options.request();
    let echo = request.as_deref().map(|text| text.trim_end().as_bytes());
    let mut ask_at = Instant::now();
    let mut said = Said {
        unit: options.unit,
        known,
        frames: Vec::new(),
        took: Duration::ZERO,
        count: 0,
    };
    let (begun, mut first) = (Instant::now(), None);
    loop {
        let explained = !said.explanations().is_empty();
        let until = if explained || only {
            end
        } else {
            end.min(begun + TRY)
        };
        let left = until.saturating_duration_since(Instant::now());
        let is_noise = !explained && !only && said.count >= 2 * NOISE_MAX;
        if left.is_zero() || is_noise {
            return Ok(said);
        }
        if let Some(request) = &request
            && Instant::now() >= ask_at
        {
            probe.ask(request.as_bytes()).await;
            ask_at = Instant::now() + ASK_EVERY;
        }
        let Ok(bytes) = probe.hear(left.min(Duration::from_millis(500))).await else {
            super::say("the port is gone\n")?;
            return Ok(said);
        };
        if bytes.is_empty() {
            framer.quiet();
            continue;
        }
        let now = Instant::now();
        recorder.heard(&bytes, now)?;
        let mut bytes = bytes.as_slice();
        while let Some(frame) = framer.next(&mut bytes) {
            let raw = match frame {
                Frame::Whole(raw) => raw,
                Frame::Cut(raw) | Frame::Oversize(raw) => {
                    super::say(&format!("  {:<40}  not whole\n", printable(raw)))?;
                    continue;
                }
            };
            if echo == Some(raw) {
                super::say(&format!(
                    "  {:<40}  the request, sent back\n",
                    printable(raw)
                ))?;
                continue;
            }
            said.count += 1;
            said.took = now - *first.get_or_insert(now);
            if said.frames.len() < FRAMES_MAX {
                said.frames.push(raw.to_vec());
            }
            let shown = match said.explanations().first() {
                Some(explanation) => match explanation.dialect.value(raw) {
                    Ok(value) => format!(
                        "{} ({})",
                        value.reading().value,
                        explanation.dialect.form.name()
                    ),
                    Err(why) => why.to_string(),
                },
                None if said.count > NOISE_MAX => continue,
                None => "no dialect explains all of it".to_owned(),
            };
            super::say(&format!("  {:<40}  {shown}\n", printable(raw)))?;
        }
    }
}
