//! `oddleg listen`: what does this gauge say, by which line settings, in which dialect?

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::Duration;

use anyhow::{Context as _, bail};
use clap::Args;
use intake::serial::{LineShape, Probe};
use intake::{Explanation, Frame, Framer, Terminator, explain};
use shared_types::{GaugeId, Unit, printable};
use tokio::time::Instant;

use crate::capture;
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
    /// The unit of a line that names none: mm or in
    #[arg(long, default_value = "mm", value_parser = unit)]
    unit: Unit,
    /// Listen this many seconds in all
    #[arg(long = "for", value_name = "SECONDS", default_value_t = 30, value_parser = clap::value_parser!(u64).range(1..=86_400))]
    seconds: u64,
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
        _ => Err("expected mm or in".to_owned()),
    }
}

pub(super) fn run(options: &Options) -> anyhow::Result<ExitCode> {
    let settings = settings(options);
    let mut recorder = Recorder::new(options)?;
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .context("preparing to listen")?;
    let found = runtime.block_on(search(options, &settings, &mut recorder))?;
    recorder.end()?;
    let Some((baud, line, said)) = found else {
        bail!(
            "listening at {}: nothing came that a dialect explains, expected lines of a gauge; press its button, look at its \
             data sheet for --baud and --line, or describe its lines with dialect = \"pattern\"",
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
struct Said {
    frames: Vec<Vec<u8>>,
    /// Between the first and the last of them.
    took: Duration,
    count: u64,
}

impl Said {
    fn explanations(&self, unit: Unit) -> Vec<Explanation> {
        explain(self.frames.iter().map(Vec::as_slice), unit)
    }
}

/// Tries the settings in turn until one is explained, then listens on by that one.
async fn search(
    options: &Options,
    settings: &[(u32, LineShape)],
    recorder: &mut Recorder,
) -> anyhow::Result<Option<(u32, LineShape, Said)>> {
    let end = Instant::now() + Duration::from_secs(options.seconds);
    for (baud, line) in settings.iter().cycle() {
        if Instant::now() >= end {
            break;
        }
        let probe = open(&options.port, *baud, *line)?;
        super::say(&format!(
            "{baud} {line}: listening; press the gauge's button\n"
        ))?;
        recorder.settings(*baud, *line)?;
        let only = settings.len() == 1;
        let said = listen(probe, options, end, only, recorder).await?;
        if !said.explanations(options.unit).is_empty() {
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
async fn listen(
    mut probe: Probe,
    options: &Options,
    end: Instant,
    only: bool,
    recorder: &mut Recorder,
) -> anyhow::Result<Said> {
    let mut framer = Framer::new(Terminator::default());
    let mut said = Said {
        frames: Vec::new(),
        took: Duration::ZERO,
        count: 0,
    };
    let (begun, mut first) = (Instant::now(), None);
    loop {
        let explained = !said.explanations(options.unit).is_empty();
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
            said.count += 1;
            said.took = now - *first.get_or_insert(now);
            if said.frames.len() < FRAMES_MAX {
                said.frames.push(raw.to_vec());
            }
            let shown = match said.explanations(options.unit).first() {
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

/// What to paste.
fn advice(options: &Options, baud: u32, line: LineShape, said: &Said) -> String {
    let explanations = said.explanations(options.unit);
    let mut text = String::new();
    for (number, explanation) in explanations.iter().enumerate() {
        let reads = format!(
            "the last line is {} by dialect {}",
            explanation.reading.value,
            explanation.dialect.form.name()
        );
        if number > 0 {
            // Writing to a String cannot fail.
            writeln!(text, "# or, if that is what the gauge showed: {reads}")
                .expect("a String takes all that is written");
            for line in explanation.lines.lines() {
                writeln!(text, "# {line}").expect("a String takes all that is written");
            }
            continue;
        }
        let (kind, unit) = if explanation.is_of_angles() {
            ("angle-gauge", "deg")
        } else if options.unit == Unit::Inch {
            ("caliper", "in")
        } else {
            ("caliper", "mm")
        };
        let decimal = explanation.dialect.decimal;
        let mut lines = format!(
            "\n# {} {line}, {} lines; {reads}. For oddleg.toml:\n[gauge.{}]\nbench = \"bench-1\"\nkind = \"{kind}\"\nvia = \
             \"serial\"\nport = {:?}\nbaud = {baud}\nline = \"{line}\"\nunit = \"{unit}\"\n{}\n",
            baud,
            said.count,
            options.gauge,
            options.port.display().to_string(),
            explanation.lines,
        );
        if decimal == ',' {
            lines += "decimal = \",\"\n";
        }
        let seconds = said.took.as_secs();
        if seconds >= 2 && said.count / seconds >= STREAM_HZ_MIN {
            lines += "mode = \"stream\"\n";
        }
        text += &lines;
    }
    text
}

/// Writes down what comes, where that is wanted.
struct Recorder {
    file: Option<(std::fs::File, PathBuf)>,
    gauge: GaugeId,
    before: Option<Instant>,
}

impl Recorder {
    fn new(options: &Options) -> anyhow::Result<Self> {
        let file = match &options.capture {
            None => None,
            Some(path) => {
                // Never over an older recording.
                let file = std::fs::File::create_new(path)
                    .with_context(|| format!("making {}", path.display()))?;
                Some((file, path.clone()))
            }
        };
        let mut recorder = Self {
            file,
            gauge: options.gauge.clone(),
            before: None,
        };
        recorder.write(&format!(
            "# Recorded by oddleg listen {}.\n\nplug  {}\n",
            options.port.display(),
            options.gauge
        ))?;
        Ok(recorder)
    }

    fn settings(&mut self, baud: u32, line: LineShape) -> anyhow::Result<()> {
        self.write(&format!("# {baud} {line}\n"))
    }

    fn heard(&mut self, bytes: &[u8], now: Instant) -> anyhow::Result<()> {
        let waited = self.before.replace(now).map(|before| now - before);
        let mut text = String::new();
        if let Some(waited) = waited {
            text += &capture::wait(u64::try_from(waited.as_millis()).unwrap_or(u64::MAX));
        }
        text += &capture::send(self.gauge.as_str(), bytes);
        self.write(&text)
    }

    fn end(&mut self) -> anyhow::Result<()> {
        self.write(&format!("unplug  {}\n", self.gauge))?;
        if let Some((file, path)) = &mut self.file {
            file.sync_all()
                .with_context(|| format!("writing {}", path.display()))?;
        }
        Ok(())
    }

    fn write(&mut self, text: &str) -> anyhow::Result<()> {
        match &mut self.file {
            None => Ok(()),
            Some((file, path)) => file
                .write_all(text.as_bytes())
                .with_context(|| format!("writing {}", path.display())),
        }
    }
}
