//! `oddleg layout`: a part at full size, written to a file.

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::{Context as _, bail};
use clap::{Args, ValueEnum};
use drawing::layout::{Layout, Paper, Wanted};
use drawing::washer::PEN_USUAL;
use shared_types::{Hand, Length, Stage};

use crate::config::Build;

#[derive(Debug, Args)]
pub(super) struct Options {
    /// The build directory
    dir: PathBuf,
    /// The part's name
    part: String,
    /// The file to write, ending in .pdf, .svg or .dxf; one that is there already is not written over
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Paper of a PDF
    #[arg(long, value_enum, default_value = "a4")]
    paper: PaperWord,
    /// Only the blank or only the form block; both where left out
    #[arg(long, value_enum)]
    stage: Option<StageWord>,
    /// Which piece of a part that is made in pairs
    #[arg(long, value_enum)]
    hand: Option<HandWord>,
    /// Width of the pen's line, for the washers that draw lines: `0.7 mm`
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pen: Option<Length>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum PaperWord {
    A4,
    Letter,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum StageWord {
    Blank,
    Blocks,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum HandWord {
    Left,
    Right,
}

/// Wider than any pen: a line of a centimetre marks nothing.
const PEN_MAX: Length = Length::from_pm(10_000_000_000).expect("a centimetre is a length");

fn length(text: &str) -> Result<Length, String> {
    let length = Length::parse(text).map_err(|wrong| format!("{wrong}, as in \"0.7 mm\""))?;
    if length < Length::ZERO || length > PEN_MAX {
        return Err(format!("found {length}, expected 0 mm to {PEN_MAX}"));
    }
    Ok(length)
}

pub(super) fn run(options: &Options) -> anyhow::Result<ExitCode> {
    let out = &options.out;
    let ending = out
        .extension()
        .and_then(|ending| ending.to_str())
        .unwrap_or_default();
    if !matches!(ending, "pdf" | "svg" | "dxf") {
        bail!(
            "writing {}: found the ending {ending:?}, expected .pdf, .svg or .dxf",
            out.display()
        );
    }
    let build = Build::read(&options.dir)?;
    let plan = super::part(&build, &options.part)?;
    let wanted = Wanted {
        stage: options.stage.map(|stage| match stage {
            StageWord::Blank => Stage::Blank,
            StageWord::Blocks => Stage::Blocks,
        }),
        hand: options.hand.map(|hand| match hand {
            HandWord::Left => Hand::Left,
            HandWord::Right => Hand::Right,
        }),
        units: build.units,
        pen: options.pen.unwrap_or(PEN_USUAL),
    };
    let layout = Layout::new(plan, &wanted)?;
    let bytes = match ending {
        "pdf" => layout.pdf(match options.paper {
            PaperWord::A4 => Paper::A4,
            PaperWord::Letter => Paper::Letter,
        })?,
        "svg" => layout.svg().into_bytes(),
        _ => layout.dxf().into_bytes(),
    };
    write_new(out, &bytes)?;
    let how = match ending {
        "pdf" => "print at 100 %, measure the bars at the foot of each page before cutting",
        _ => "one unit is one millimetre",
    };
    super::say(&format!("{}: {}; {how}\n", out.display(), plan.title))?;
    Ok(ExitCode::SUCCESS)
}

/// A layout may lie marked on somebody's bench: the file it came from is never written over.
fn write_new(out: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    let written = std::fs::OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(out)
        .and_then(|mut file| file.write_all(bytes));
    match written {
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => bail!(
            "writing {}: there is a file of that name, expected a new one; remove it or choose another",
            out.display()
        ),
        other => other.with_context(|| format!("writing {}", out.display())),
    }
}
