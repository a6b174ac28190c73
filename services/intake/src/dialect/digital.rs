//! Frames of the clock-and-data interfaces of calipers, forwarded by a bridge as text: three of them.
//!
//! 24 bits, least significant first: 0–19 magnitude, 20 sign, 21–22 zero, 23 inch; millimetres in
//! hundredths, inches in 1/2000. 13 digits: four F, sign 0 or 8, six digits, decimal places, unit.
//! 7 digits: six from the lowest up, then the flags negative, half count, metric and one unused;
//! inches in thousandths and halves of them. That a metric frame of the last kind counts hundredths
//! of a millimetre is common practice, no source.

use shared_types::{Garbled, Unit};

use super::cursor::Cursor;
use super::value::{Digits, Spoken};

/// How a bridge writes the digits of a frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DigitOrder {
    /// One hexadecimal digit for each, its own value: `FFFF021076540`.
    Value,
    /// One hexadecimal digit for each, its four bits as they came, so that the least significant
    /// one stands highest: 1 is `8`.
    AsSent,
    /// Four binary digits for each, as they came.
    Bits,
}

/// How a bridge writes 24 bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BitOrder {
    /// Three hexadecimal bytes, the low one first: `d20400`.
    LowByteFirst,
    /// One hexadecimal number: `0004d2`.
    Number,
    /// 24 binary digits as they came, perhaps with the start bit before them.
    Bits,
}

pub(super) fn sync_24(frame: &[u8], order: BitOrder) -> Result<Spoken, Garbled> {
    let bits = match order {
        BitOrder::LowByteFirst => {
            let [a, b, c, d, e, f] = nibbles(frame, hex)?;
            u32::from_le_bytes([a << 4 | b, c << 4 | d, e << 4 | f, 0])
        }
        BitOrder::Number => {
            let all: [u8; 6] = nibbles(frame, hex)?;
            all.iter().fold(0, |bits, &n| bits << 4 | u32::from(n))
        }
        BitOrder::Bits => {
            let mut at = Cursor::trimmed(frame);
            let digits = at.0.iter().filter(|&&byte| byte != b' ').count();
            if digits == 25 {
                at.need(b'1')?;
            }
            let sent: [u8; 6] = nibbles(at.0, low_first)?;
            sent.iter()
                .rev()
                .fold(0, |bits, &n| bits << 4 | u32::from(n))
        }
    };
    let (count, negative) = (bits & 0xf_ffff, bits >> 20 & 1 == 1);
    if bits >> 21 & 3 != 0 {
        return Err(Garbled::Grammar);
    }
    Ok(if bits >> 23 == 1 {
        // 1/2000 in is 5/10000.
        counted(negative, count * 5, 4, Unit::Inch)
    } else {
        counted(negative, count, 2, Unit::Millimetre)
    })
}

pub(super) fn bcd_13(frame: &[u8], order: DigitOrder) -> Result<Spoken, Garbled> {
    let all: [u8; 13] = ordered(frame, order)?;
    let [0xf, 0xf, 0xf, 0xf, sign @ (0 | 8), six @ .., places, unit] = all else {
        return Err(Garbled::Grammar);
    };
    let count = decimal(six.iter())?;
    let unit = match unit {
        0 => Unit::Millimetre,
        // One manual has 8 for the inch.
        1 | 8 => Unit::Inch,
        _ => return Err(Garbled::Unit),
    };
    if places > 5 {
        return Err(Garbled::Grammar);
    }
    Ok(counted(sign == 8, count, usize::from(places), unit))
}

pub(super) fn bcd_7(frame: &[u8], order: DigitOrder) -> Result<Spoken, Garbled> {
    let all: [u8; 7] = ordered(frame, order)?;
    let [six @ .., flags] = all;
    let count = decimal(six.iter().rev())?;
    let [negative, half, metric, unused] = [1, 2, 4, 8].map(|bit| flags & bit != 0);
    match (metric, half, unused) {
        (false, _, false) => Ok(counted(
            negative,
            count * 10 + if half { 5 } else { 0 },
            4,
            Unit::Inch,
        )),
        (true, false, false) => Ok(counted(negative, count, 2, Unit::Millimetre)),
        _ => Err(Garbled::Grammar),
    }
}

fn counted(negative: bool, count: u32, places: usize, unit: Unit) -> Spoken {
    Spoken::Number {
        digits: Digits::counted(negative, count, places),
        unit: Some(unit),
    }
}

fn decimal<'n>(nibbles: impl Iterator<Item = &'n u8>) -> Result<u32, Garbled> {
    let mut count = 0;
    for &nibble in nibbles {
        if nibble > 9 {
            return Err(Garbled::Grammar);
        }
        count = count * 10 + u32::from(nibble);
    }
    Ok(count)
}

fn ordered<const N: usize>(frame: &[u8], order: DigitOrder) -> Result<[u8; N], Garbled> {
    match order {
        DigitOrder::Value => nibbles(frame, hex),
        DigitOrder::AsSent => {
            let sent: [u8; N] = nibbles(frame, hex)?;
            Ok(sent.map(|nibble| nibble.reverse_bits() >> 4))
        }
        DigitOrder::Bits => nibbles(frame, low_first),
    }
}

/// Exactly `N` digits; a bridge may put spaces between them.
fn nibbles<const N: usize>(
    frame: &[u8],
    one: impl Fn(&mut Cursor<'_>) -> Result<u8, Garbled>,
) -> Result<[u8; N], Garbled> {
    let mut at = Cursor::trimmed(frame);
    let mut all = [0; N];
    for nibble in &mut all {
        at.spaces();
        *nibble = one(&mut at)?;
    }
    at.done()?;
    Ok(all)
}

fn hex(at: &mut Cursor<'_>) -> Result<u8, Garbled> {
    let digit = at.exactly(1, |byte| byte.is_ascii_hexdigit())?[0];
    Ok(match digit {
        b'0'..=b'9' => digit - b'0',
        b'a'..=b'f' => digit - b'a' + 10,
        _ => digit - b'A' + 10,
    })
}

/// Four binary digits, the least significant first.
fn low_first(at: &mut Cursor<'_>) -> Result<u8, Garbled> {
    let bits = at.exactly(4, |byte| matches!(byte, b'0' | b'1'))?;
    Ok(bits.iter().rev().fold(0, |n, &bit| n << 1 | (bit - b'0')))
}
