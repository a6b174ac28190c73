//! The forms of frames known by name.

use super::digital::{BitOrder, DigitOrder, bcd_7, bcd_13, sync_24};
use super::value::Spoken;
use super::{Heard, Pattern, channels, dms, line};
use shared_types::Garbled;

/// The form of a gauge's frames. Closed: a further form is a further variant, or a pattern.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Form {
    /// One number per line, perhaps with its unit: `+  12.340, MM`.
    Line,
    /// An angle in degrees, minutes and perhaps seconds: `43 10 00`.
    Dms,
    /// Letters of the gauge's type and mode before the number: `APD+043.10`. Lines with other letters
    /// are of another mode and no reading.
    Lettered {
        /// The letters of a reading.
        letters: String,
    },
    /// Channel, status letter, number: `01A+00012.34`.
    Multiplexer {
        /// The status letters of a good value.
        good: String,
    },
    /// Channel, number and unit with a separator: `1;+12.34;mm`.
    Delimited {
        /// What stands between them.
        separator: u8,
    },
    /// Number, unit, the gauge's number, signal strength: `5.637 MM 2 7`.
    Numbered,
    /// A letter for the axis: `X=+00.430`.
    Axis,
    /// 24 bits as text.
    Sync24(BitOrder),
    /// Seven digits of four bits as text.
    Bcd7(DigitOrder),
    /// Thirteen digits of four bits as text.
    Bcd13(DigitOrder),
    /// Described in the configuration.
    Pattern {
        /// The pattern.
        pattern: Pattern,
        /// Status letters of a good value, with spaces between.
        good: String,
    },
}

impl Form {
    /// The name it has in the configuration.
    #[must_use]
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Line => "line",
            Self::Dms => "dms",
            Self::Lettered { .. } => "lettered",
            Self::Multiplexer { .. } => "multiplexer",
            Self::Delimited { .. } => "delimited",
            Self::Numbered => "numbered",
            Self::Axis => "axis",
            Self::Sync24(_) => "sync-24",
            Self::Bcd7(_) => "bcd-7",
            Self::Bcd13(_) => "bcd-13",
            Self::Pattern { .. } => "pattern",
        }
    }

    /// Whether its frames can name a channel, so that several gauges can share a port.
    #[must_use]
    pub fn names_channels(&self) -> bool {
        match self {
            Self::Multiplexer { .. } | Self::Delimited { .. } | Self::Numbered | Self::Axis => true,
            Self::Pattern { pattern, .. } => pattern.names_channels(),
            _ => false,
        }
    }

    /// The forms that need nothing but their name or a usual parameter, for trying on a gauge that is
    /// not known yet.
    #[must_use]
    pub fn usual() -> Vec<Self> {
        vec![
            Self::Line,
            Self::Dms,
            Self::Multiplexer { good: "A".into() },
            Self::Delimited { separator: b';' },
            Self::Numbered,
            Self::Axis,
            Self::Bcd13(DigitOrder::Value),
            Self::Bcd13(DigitOrder::AsSent),
            Self::Bcd13(DigitOrder::Bits),
            Self::Bcd7(DigitOrder::Value),
            Self::Bcd7(DigitOrder::AsSent),
            Self::Bcd7(DigitOrder::Bits),
            Self::Sync24(BitOrder::LowByteFirst),
            Self::Sync24(BitOrder::Number),
            Self::Sync24(BitOrder::Bits),
        ]
    }

    /// The lines of configuration that name it.
    #[must_use]
    pub fn keys(&self) -> String {
        let name = format!("dialect = \"{}\"", self.name());
        let with = |key: &str, value: &str| format!("{name}\n{key} = {value:?}");
        let digits = |order: &DigitOrder| match order {
            DigitOrder::Value => "value",
            DigitOrder::AsSent => "as-sent",
            DigitOrder::Bits => "bits",
        };
        match self {
            Self::Line | Self::Dms | Self::Numbered | Self::Axis => name,
            Self::Lettered { letters } => with("letters", letters),
            Self::Multiplexer { good } => with("good", good),
            Self::Delimited { separator } => with("separator", &char::from(*separator).to_string()),
            Self::Bcd7(order) | Self::Bcd13(order) => with("order", digits(order)),
            Self::Sync24(order) => with(
                "order",
                match order {
                    BitOrder::LowByteFirst => "low-byte-first",
                    BitOrder::Number => "number",
                    BitOrder::Bits => "bits",
                },
            ),
            Self::Pattern { pattern, good } => {
                format!("{}\ngood = {good:?}", with("pattern", pattern.text()))
            }
        }
    }

    pub(super) fn hear<'f>(&self, frame: &'f [u8], mark: u8) -> Heard<'f> {
        match self {
            Self::Line => Heard::plain(line::spoken(frame, mark)),
            Self::Dms => Heard::plain(dms::spoken(frame, mark)),
            Self::Lettered { letters } => Heard::plain(lettered(frame, mark, letters)),
            Self::Multiplexer { good } => channels::multiplexer(frame, mark, good),
            Self::Delimited { separator } => channels::delimited(frame, mark, *separator),
            Self::Numbered => channels::numbered(frame, mark),
            Self::Axis => channels::axis(frame, mark),
            Self::Sync24(order) => Heard::plain(sync_24(frame, *order)),
            Self::Bcd7(order) => Heard::plain(bcd_7(frame, *order)),
            Self::Bcd13(order) => Heard::plain(bcd_13(frame, *order)),
            Self::Pattern { pattern, good } => pattern.hear(frame, good),
        }
    }
}

fn lettered(frame: &[u8], mark: u8, letters: &str) -> Result<Spoken, Garbled> {
    let rest = frame
        .strip_prefix(letters.as_bytes())
        .ok_or(Garbled::Grammar)?;
    line::spoken(rest, mark)
}
