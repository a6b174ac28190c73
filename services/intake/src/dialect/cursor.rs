//! A place in a frame, moved on by what is matched there.

use shared_types::{Garbled, Unit};

use super::value::Digits;

/// The rest of a frame.
#[derive(Clone, Copy)]
pub(crate) struct Cursor<'f>(pub(crate) &'f [u8]);

impl<'f> Cursor<'f> {
    /// Without the spaces around.
    pub(crate) fn trimmed(frame: &'f [u8]) -> Self {
        let mut cursor = Self(frame);
        cursor.spaces();
        while let [rest @ .., b' '] = cursor.0 {
            cursor.0 = rest;
        }
        cursor
    }

    pub(crate) fn next(&self) -> Option<u8> {
        self.0.first().copied()
    }

    pub(crate) const fn is_done(&self) -> bool {
        self.0.is_empty()
    }

    /// The end of the frame, or it does not match.
    pub(crate) fn done(&self) -> Result<(), Garbled> {
        if self.is_done() {
            Ok(())
        } else {
            Err(Garbled::Grammar)
        }
    }

    pub(crate) fn eat(&mut self, byte: u8) -> bool {
        let there = self.next() == Some(byte);
        if there {
            self.0 = &self.0[1..];
        }
        there
    }

    pub(crate) fn need(&mut self, byte: u8) -> Result<(), Garbled> {
        if self.eat(byte) {
            Ok(())
        } else {
            Err(Garbled::Grammar)
        }
    }

    /// Takes what is of the kind, as far as it goes.
    pub(crate) fn run(&mut self, kind: impl Fn(u8) -> bool) -> &'f [u8] {
        let end = self
            .0
            .iter()
            .position(|&byte| !kind(byte))
            .unwrap_or(self.0.len());
        let (run, rest) = self.0.split_at(end);
        self.0 = rest;
        run
    }

    /// Takes so many bytes of the kind, and there must not be fewer.
    pub(crate) fn exactly(
        &mut self,
        count: usize,
        kind: impl Fn(u8) -> bool,
    ) -> Result<&'f [u8], Garbled> {
        let (run, rest) = self.0.split_at_checked(count).ok_or(Garbled::Grammar)?;
        if !run.iter().all(|&byte| kind(byte)) {
            return Err(Garbled::Grammar);
        }
        self.0 = rest;
        Ok(run)
    }

    pub(crate) fn spaces(&mut self) -> bool {
        !self.run(|byte| byte == b' ').is_empty()
    }

    pub(crate) fn digits(&mut self) -> &'f [u8] {
        self.run(|byte| byte.is_ascii_digit())
    }

    /// The degree sign, which gauges send in UTF-8 or as the one byte of Latin-1.
    pub(crate) fn degree(&mut self) -> bool {
        self.eat(0xb0) || {
            let utf8 = self.0.starts_with(&[0xc2, 0xb0]);
            if utf8 {
                self.0 = &self.0[2..];
            }
            utf8
        }
    }

    /// A sign and the spaces after it; true for a minus.
    pub(crate) fn sign(&mut self) -> bool {
        let negative = self.eat(b'-');
        if negative || self.eat(b'+') {
            self.spaces();
        }
        negative
    }

    /// `digits [mark digits] | mark digits`, pushed with a point. A mark without digits is no number
    /// of a gauge: it is how a cut-off line ends.
    pub(crate) fn number(&mut self, mark: u8, into: &mut Digits) -> Result<(), Garbled> {
        let whole = self.digits();
        into.push(whole)?;
        if self.eat(mark) {
            let places = self.digits();
            if places.is_empty() {
                return Err(Garbled::Grammar);
            }
            into.push(b".")?;
            into.push(places)
        } else if whole.is_empty() {
            Err(Garbled::Grammar)
        } else {
            Ok(())
        }
    }

    /// Sign and number.
    pub(crate) fn signed(&mut self, mark: u8) -> Result<Digits, Garbled> {
        let mut digits = Digits::new();
        if self.sign() {
            digits.push(b"-")?;
        }
        self.number(mark, &mut digits)?;
        Ok(digits)
    }
}

/// A unit by the word a gauge writes. A word where the unit stands is a unit we do not know; anything
/// else is no unit at all.
pub(crate) fn unit(word: &[u8]) -> Result<Unit, Garbled> {
    let is = |name: &str| word.eq_ignore_ascii_case(name.as_bytes());
    if is("mm") {
        Ok(Unit::Millimetre)
    } else if is("in") || is("inch") {
        Ok(Unit::Inch)
    } else if is("deg") || word == [0xb0] || word == [0xc2, 0xb0] {
        Ok(Unit::Degree)
    } else if (1..=8).contains(&word.len()) && word.iter().all(u8::is_ascii_alphabetic) {
        Err(Garbled::Unit)
    } else {
        Err(Garbled::Grammar)
    }
}
