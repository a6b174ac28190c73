//! What is heard, written down for `oddleg replay`.

use std::io::Write as _;
use std::path::PathBuf;

use anyhow::Context as _;
use intake::serial::LineShape;
use shared_types::GaugeId;
use tokio::time::Instant;

use super::Options;
use crate::capture;

/// Writes down what comes, where that is wanted.
pub(super) struct Recorder {
    file: Option<(std::fs::File, PathBuf)>,
    gauge: GaugeId,
    before: Option<Instant>,
}

impl Recorder {
    pub(super) fn new(options: &Options) -> anyhow::Result<Self> {
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

    pub(super) fn settings(&mut self, baud: u32, line: LineShape) -> anyhow::Result<()> {
        self.write(&format!("# {baud} {line}\n"))
    }

    pub(super) fn heard(&mut self, bytes: &[u8], now: Instant) -> anyhow::Result<()> {
        let waited = self.before.replace(now).map(|before| now - before);
        let mut text = String::new();
        if let Some(waited) = waited {
            text += &capture::wait(u64::try_from(waited.as_millis()).unwrap_or(u64::MAX));
        }
        text += &capture::send(self.gauge.as_str(), bytes);
        self.write(&text)
    }

    pub(super) fn end(&mut self) -> anyhow::Result<()> {
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
