//! A value on the stack: what a frame says costs no memory until it is a reading.

use shared_types::{Garbled, Quantity, QuantityError, Reading, Unit};

/// Longest number kept: sign, 15 digits, point and 15 places, or the longest angle with places of
/// seconds, and some room. Whatever is longer has more digits than a value may have.
const DIGITS_BYTES_MAX: usize = 48;

/// Digits as a gauge wrote them, with a decimal point, or an angle in its usual spelling.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) struct Digits {
    bytes: [u8; DIGITS_BYTES_MAX],
    len: usize,
}

impl Digits {
    pub(crate) const fn new() -> Self {
        Self {
            bytes: [0; DIGITS_BYTES_MAX],
            len: 0,
        }
    }

    pub(crate) fn push(&mut self, text: &[u8]) -> Result<(), Garbled> {
        let end = self.len + text.len();
        let room = self.bytes.get_mut(self.len..end).ok_or(Garbled::Range)?;
        room.copy_from_slice(text);
        self.len = end;
        Ok(())
    }

    /// `count` of the `places`-th decimal place: 1234 with 2 places is 12.34.
    pub(crate) fn counted(negative: bool, count: u32, places: usize) -> Self {
        let mut reversed = [b'0'; 16];
        let (mut rest, mut at, mut written) = (count, 0, 0);
        // One digit before the point, however small the number.
        while rest > 0 || written <= places {
            if written == places && places > 0 {
                reversed[at] = b'.';
                at += 1;
            }
            reversed[at] = digit(rest);
            rest /= 10;
            at += 1;
            written += 1;
        }
        let mut digits = Self::new();
        if negative {
            digits.bytes[0] = b'-';
            digits.len = 1;
        }
        for &byte in reversed[..at].iter().rev() {
            digits.bytes[digits.len] = byte;
            digits.len += 1;
        }
        digits
    }

    pub(crate) fn as_str(&self) -> &str {
        std::str::from_utf8(&self.bytes[..self.len]).expect("only digits and signs are pushed")
    }
}

impl std::fmt::Debug for Digits {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.as_str().fmt(f)
    }
}

fn digit(rest: u32) -> u8 {
    b'0' + u8::try_from(rest % 10).expect("a remainder of ten is a digit")
}

/// A number or an angle as written, before anyone asks whether the gauge may say it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Spoken {
    /// Sign and digits with a decimal point, and the unit where the frame names one.
    Number { digits: Digits, unit: Option<Unit> },
    /// Degrees, minutes and perhaps seconds, respelled as `43°10'00"`.
    Dms(Digits),
}

/// A value with its digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Value {
    digits: Digits,
    unit: Unit,
    quantity: Quantity,
}

impl Value {
    pub(crate) fn number(digits: Digits, unit: Unit) -> Result<Self, Garbled> {
        let quantity = Quantity::from_digits(digits.as_str(), unit, '.').map_err(garbled)?;
        Ok(Self {
            digits,
            unit,
            quantity,
        })
    }

    /// Its digits are decimal degrees where those have an end, so that the same digits can be read
    /// again; otherwise they stay as written.
    pub(crate) fn dms(text: &str) -> Result<Self, QuantityError> {
        let quantity = Quantity::parse(text)?;
        let Quantity::Angle(angle) = quantity else {
            return Err(QuantityError::WrongKind);
        };
        let mut digits = Digits::new();
        let negative = text.starts_with(['-', '\u{2212}']);
        // 1° = 3 600 000 mas = 9 × 400 000: decimal degrees have an end exactly where 9 divides the
        // milliarcseconds, and then at most seven places: mas / 3.6e6 = (mas / 9) × 25 / 1e7.
        let pushed = if angle.mas() % 9 == 0 {
            let scaled = (angle.mas() / 9 * 25).unsigned_abs();
            decimal_degrees(&mut digits, negative, scaled)
        } else {
            digits.push(text.as_bytes())
        };
        pushed.map_err(|_| QuantityError::TooLong)?;
        Ok(Self {
            digits,
            unit: Unit::Degree,
            quantity,
        })
    }

    /// The exact value.
    #[must_use]
    pub const fn quantity(&self) -> Quantity {
        self.quantity
    }

    /// The unit it was sent in.
    #[must_use]
    pub const fn unit(&self) -> Unit {
        self.unit
    }

    /// The value as a reading to keep.
    #[must_use]
    pub fn reading(&self) -> Reading {
        Reading {
            digits: self.digits.as_str().to_owned(),
            unit: self.unit,
            value: self.quantity,
        }
    }
}

/// `scaled` ten-millionths of a degree, without the zeros at the end.
fn decimal_degrees(digits: &mut Digits, negative: bool, scaled: u64) -> Result<(), Garbled> {
    if negative {
        digits.push(b"-")?;
    }
    let whole = u32::try_from(scaled / 10_000_000).map_err(|_| Garbled::Range)?;
    let places = u32::try_from(scaled % 10_000_000).map_err(|_| Garbled::Range)?;
    digits.push(Digits::counted(false, whole, 0).as_str().as_bytes())?;
    if places > 0 {
        let all = Digits::counted(false, places, 7);
        let all = all.as_str().trim_start_matches('0').trim_end_matches('0');
        digits.push(all.as_bytes())?;
    }
    Ok(())
}

/// Why a number that is spelled right is still no value.
pub(crate) fn garbled(error: QuantityError) -> Garbled {
    match error {
        QuantityError::Empty | QuantityError::NotANumber => Garbled::Grammar,
        QuantityError::NoUnit | QuantityError::UnknownUnit | QuantityError::WrongKind => {
            Garbled::Unit
        }
        QuantityError::TooLong
        | QuantityError::TooManyDigits
        | QuantityError::NotExact
        | QuantityError::OutOfRange => Garbled::Range,
    }
}
