//! The shape of a character on a serial line, as `8N1`.

use std::fmt;
use std::str::FromStr;

pub use tokio_serial::{DataBits, Parity, StopBits};

use crate::IntakeError;

/// Data bits, parity and stop bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LineShape {
    /// Data bits.
    pub data_bits: DataBits,
    /// Parity.
    pub parity: Parity,
    /// Stop bits.
    pub stop_bits: StopBits,
}

impl Default for LineShape {
    /// `8N1`, what nearly every gauge and every USB adapter speaks.
    fn default() -> Self {
        Self {
            data_bits: DataBits::Eight,
            parity: Parity::None,
            stop_bits: StopBits::One,
        }
    }
}

impl FromStr for LineShape {
    type Err = IntakeError;

    fn from_str(text: &str) -> Result<Self, IntakeError> {
        let wrong = || IntakeError::LineShape {
            found: text.to_owned(),
        };
        let &[data, parity, stop] = text.as_bytes() else {
            return Err(wrong());
        };
        Ok(Self {
            data_bits: match data {
                b'5' => DataBits::Five,
                b'6' => DataBits::Six,
                b'7' => DataBits::Seven,
                b'8' => DataBits::Eight,
                _ => return Err(wrong()),
            },
            parity: match parity.to_ascii_uppercase() {
                b'N' => Parity::None,
                b'E' => Parity::Even,
                b'O' => Parity::Odd,
                _ => return Err(wrong()),
            },
            stop_bits: match stop {
                b'1' => StopBits::One,
                b'2' => StopBits::Two,
                _ => return Err(wrong()),
            },
        })
    }
}

impl fmt::Display for LineShape {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parity = match self.parity {
            Parity::None => 'N',
            Parity::Even => 'E',
            Parity::Odd => 'O',
        };
        let (data, stop) = (u8::from(self.data_bits), u8::from(self.stop_bits));
        write!(f, "{data}{parity}{stop}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_shape_is_written_as_on_a_gauges_data_sheet() {
        for text in ["8N1", "7E2", "7O1"] {
            assert_eq!(text.parse::<LineShape>().unwrap().to_string(), text);
        }
        assert_eq!("8N1".parse::<LineShape>().unwrap(), LineShape::default());
        for text in ["", "8N", "9N1", "8X1", "8N3", "8N11"] {
            let error = text.parse::<LineShape>().unwrap_err().to_string();
            assert!(error.contains(&format!("{text:?}")), "{error}");
        }
    }
}
