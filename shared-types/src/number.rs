//! Decimal and fractional numbers as a person or a gauge writes them, kept exact.

use crate::QuantityError;

/// Longest text accepted as one quantity: a gauge line is under 32 bytes, a plan's dimension under 40.
pub const NUMBER_BYTES_MAX: usize = 64;

/// Most digits accepted in one part of a number. 15 digits of any accepted unit stay below the
/// range of `i128` after multiplication by the largest unit.
const DIGITS_MAX: usize = 15;

/// An exact number: `numerator / denominator`, sign included, denominator positive.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Number {
    numerator: i128,
    denominator: i128,
}

impl Number {
    /// Parses `12.34`, `-0.05`, `+.5`, `12.`, `3/8`, `11 1/4`, `-1 1/2`; `decimal` is the decimal mark.
    ///
    /// # Errors
    /// [`QuantityError::NotANumber`] for anything else, [`QuantityError::TooManyDigits`] past 15 digits.
    pub fn parse(text: &str, decimal: char) -> Result<Self, QuantityError> {
        if text.len() > NUMBER_BYTES_MAX {
            return Err(QuantityError::TooLong);
        }
        let (negative, body) = match text.chars().next() {
            Some('-' | '\u{2212}') => (true, text.trim_start_matches(['-', '\u{2212}'])),
            Some('+') => (false, &text[1..]),
            _ => (false, text),
        };
        // One sign only: "--5" must not become 5.
        if text
            .chars()
            .take(2)
            .filter(|c| matches!(c, '-' | '+' | '\u{2212}'))
            .count()
            > 1
        {
            return Err(QuantityError::NotANumber);
        }
        let body = body.trim_start_matches(' ');
        let magnitude = if let Some((left, divisor)) = body.split_once('/') {
            fraction(left, divisor)?
        } else {
            decimal_number(body, decimal)?
        };
        Ok(Self {
            numerator: if negative {
                -magnitude.numerator
            } else {
                magnitude.numerator
            },
            ..magnitude
        })
    }

    /// `self × per_unit` as a whole number, or `None` where it is not whole.
    #[must_use]
    pub fn whole(self, per_unit: i128) -> Option<i128> {
        let product = self.numerator.checked_mul(per_unit)?;
        (product % self.denominator == 0).then(|| product / self.denominator)
    }

    /// `self × per_unit`, rounded half to even to a whole number.
    pub(crate) fn rounded(self, per_unit: i128) -> i128 {
        // 15 digits and 15 places at most: far below the range of `i128` with any unit a temperature has.
        crate::length::divide_half_even(self.numerator * per_unit, self.denominator)
    }

    /// Whether the number was written with a minus sign in front of a value other than zero.
    #[must_use]
    pub fn is_negative(self) -> bool {
        self.numerator < 0
    }
}

fn digits(text: &str) -> Result<i128, QuantityError> {
    if text.is_empty() || !text.bytes().all(|b| b.is_ascii_digit()) {
        return Err(QuantityError::NotANumber);
    }
    if text.len() > DIGITS_MAX {
        return Err(QuantityError::TooManyDigits);
    }
    text.parse().map_err(|_| QuantityError::NotANumber)
}

fn decimal_number(body: &str, decimal: char) -> Result<Number, QuantityError> {
    let (whole, places) = match body.split_once(decimal) {
        None => (digits(body)?, ""),
        // ".5" and "12." are written in the shop; a lone "." is not a number.
        Some(("", places)) if !places.is_empty() => (0, places),
        Some((whole, places)) => (digits(whole)?, places),
    };
    if places.is_empty() {
        return Ok(Number {
            numerator: whole,
            denominator: 1,
        });
    }
    let part = digits(places)?;
    let scale = 10_i128.pow(u32::try_from(places.len()).map_err(|_| QuantityError::TooManyDigits)?);
    Ok(Number {
        numerator: whole * scale + part,
        denominator: scale,
    })
}

/// `3/8`, `11 1/4` and the trade's `11-1/4`.
fn fraction(left: &str, divisor: &str) -> Result<Number, QuantityError> {
    let (whole, over) = match left.split_once([' ', '-']) {
        None => (0, digits(left)?),
        Some((whole, over)) => (digits(whole)?, digits(over.trim_start_matches(' '))?),
    };
    let under = digits(divisor)?;
    if under == 0 {
        return Err(QuantityError::NotANumber);
    }
    Ok(Number {
        numerator: whole * under + over,
        denominator: under,
    })
}
