//! One port: to which of its gauges a frame belongs. Pure.

#[cfg(test)]
mod tests;

use shared_types::{Garbled, GaugeId, NoReading, Via};

use crate::frame::Frame;
use crate::voice::{Recorded, SerialGauge, Voice};

/// The gauges of one port.
pub(crate) struct Desk {
    voices: Vec<Voice>,
    /// What a request looks like when the gauge sends it back.
    echo: Option<Vec<u8>>,
}

impl Desk {
    /// `request` is what the port's gauges are asked with, where they are.
    pub(crate) fn new(gauges: Vec<SerialGauge>, request: Option<&[u8]>, at_us: i64) -> Self {
        let echo = request.map(|text| text.trim_ascii_end().to_vec());
        Self {
            voices: gauges
                .into_iter()
                .map(|gauge| Voice::new(gauge, Via::Serial, at_us))
                .collect(),
            echo: echo.filter(|text| !text.is_empty()),
        }
    }

    pub(crate) fn gauges(&self) -> impl Iterator<Item = &GaugeId> {
        self.voices.iter().map(|voice| &voice.gauge.gauge)
    }

    pub(crate) fn frame(&mut self, at_us: i64, frame: Frame<'_>, out: &mut Recorded) {
        let waited_for = self.waited_for();
        // What names no channel is of the gauge that was asked, or else put down to the first.
        let nobody = waited_for.unwrap_or(0);
        let raw = match frame {
            Frame::Whole(raw) => raw,
            Frame::Oversize(raw) => {
                return self.voices[nobody].unreadable(at_us, raw, Garbled::Oversize, out);
            }
            Frame::Cut(raw) => {
                return self.voices[nobody].unreadable(at_us, raw, Garbled::Cut, out);
            }
        };
        if self.echo.as_deref() == Some(raw) {
            return self.voices[nobody].pass(at_us, raw, NoReading::Echo, None, out);
        }
        let heard = self.voices[0].gauge.dialect.hear(raw);
        let speaker = match heard.channel {
            Some(channel) if self.voices.len() > 1 => self.voices.iter().position(|voice| {
                let ours = voice.gauge.dialect.channel.as_deref();
                ours.is_some_and(|ours| ours.as_bytes() == channel)
            }),
            _ => Some(nobody),
        };
        match speaker {
            None => self.voices[0].unreadable(at_us, raw, Garbled::Channel, out),
            Some(speaker) => {
                let voice = &mut self.voices[speaker];
                let said = voice.gauge.dialect.understand(heard, None);
                voice.frame(at_us, raw, said, out);
            }
        }
    }

    /// Somebody wants a reading of `gauge`, and waits until `answer_by_us`.
    pub(crate) fn ask(&mut self, gauge: &GaugeId, answer_by_us: i64) {
        let asked = self.voices.iter_mut().find(|v| &v.gauge.gauge == gauge);
        if let Some(voice) = asked {
            voice.taker.ask();
            voice.answer_by_us = answer_by_us;
        }
    }

    /// When the next answer is overdue.
    pub(crate) fn answer_by_us(&self) -> Option<i64> {
        let asked = self.voices.iter().filter(|voice| voice.taker.is_asked());
        asked.map(|voice| voice.answer_by_us).min()
    }

    pub(crate) fn overdue(&mut self, at_us: i64, out: &mut Recorded) {
        for voice in &mut self.voices {
            voice.overdue(at_us, out);
        }
    }

    pub(crate) fn quiet(&mut self, at_us: i64, out: &mut Recorded) {
        for voice in &mut self.voices {
            voice.quiet(at_us, out);
        }
    }

    pub(crate) fn gone(&mut self, at_us: i64, out: &mut Recorded) {
        for voice in &mut self.voices {
            voice.gone(at_us, out);
        }
    }

    fn waited_for(&self) -> Option<usize> {
        self.voices.iter().position(|voice| voice.taker.is_asked())
    }
}
