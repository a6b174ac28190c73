//! A checkpoint: what the whole history was at one size, in three lines and a signature.

use std::fmt;
use std::str::FromStr;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;

use crate::{Hash, VerifierKey};

/// Longest origin in bytes: with the em dash and the signature the line stays easy to copy by hand.
const ORIGIN_BYTES_MAX: usize = 128;
/// Longest note in bytes: three short lines and some signatures, far below anything else pasted.
const NOTE_BYTES_MAX: usize = 4096;
/// Begins a signature line.
const SIGNATURE_MARK: &str = "\u{2014} ";

/// The root of the first `size` entries of the history named `origin`.
///
/// As text it is a C2SP tlog-checkpoint in a C2SP signed note: the three lines, then, where it is
/// signed, an empty line and one line with an Ed25519 signature.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checkpoint {
    /// Which history.
    pub origin: String,
    /// Entries covered: 1 to `size`.
    pub size: u64,
    /// Their Merkle root.
    pub root: Hash,
    /// The signature; `None` where the key was missing.
    pub signature: Option<NoteSignature>,
}

/// One signature line of a note.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoteSignature {
    /// The first four bytes of the key's hash: which key it claims to be by.
    pub key_hash: [u8; 4],
    /// The Ed25519 signature of the three lines.
    pub signature: [u8; 64],
}

/// Why a text is not a checkpoint.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoteError {
    /// Too long.
    #[error("longer than 4096 bytes, expected a checkpoint of three lines and a signature")]
    TooLong,
    /// Not three lines.
    #[error("expected three lines: origin, size and root, each ended by a line feed")]
    Lines,
    /// The origin.
    #[error(
        "expected an origin of 1 to 128 bytes without spaces and without '+' in the first line"
    )]
    Origin,
    /// The size.
    #[error("expected the number of entries, in decimal, in the second line")]
    Size,
    /// The root.
    #[error("expected 32 bytes in base64 in the third line")]
    Root,
    /// A signature line.
    #[error(
        "expected after an empty line only signatures: an em dash, a name and 68 bytes in base64"
    )]
    Signature,
}

impl Checkpoint {
    /// The three lines: what is signed.
    #[must_use]
    pub fn body(&self) -> String {
        let root = STANDARD.encode(self.root);
        format!("{}\n{}\n{root}\n", self.origin, self.size)
    }

    /// Whether it is signed by that key.
    #[must_use]
    pub fn is_signed_by(&self, key: &VerifierKey) -> bool {
        self.signature
            .is_some_and(|signature| key.verifies(self.body().as_bytes(), &signature))
    }

    /// The root as lower-case hexadecimal, as a person compares it.
    #[must_use]
    pub fn root_hex(&self) -> String {
        self.root.iter().map(|byte| format!("{byte:02x}")).collect()
    }
}

/// Whether a text can name a history: it is a key name of the signed-note format too.
pub(crate) fn is_origin(text: &str) -> bool {
    !text.is_empty()
        && text.len() <= ORIGIN_BYTES_MAX
        && !text
            .chars()
            .any(|c| c.is_whitespace() || c.is_control() || c == '+')
}

/// The note. Parsing it gives the same checkpoint.
impl fmt::Display for Checkpoint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.body())?;
        if let Some(signature) = &self.signature {
            let bytes = [&signature.key_hash[..], &signature.signature[..]].concat();
            let text = STANDARD.encode(bytes);
            writeln!(f, "\n{SIGNATURE_MARK}{} {text}", self.origin)?;
        }
        Ok(())
    }
}

impl FromStr for Checkpoint {
    type Err = NoteError;

    fn from_str(text: &str) -> Result<Self, NoteError> {
        if text.len() > NOTE_BYTES_MAX {
            return Err(NoteError::TooLong);
        }
        let (body, signatures) = match text.split_once("\n\n") {
            Some((body, signatures)) => (body, Some(signatures)),
            None => (text.strip_suffix('\n').ok_or(NoteError::Lines)?, None),
        };
        let mut lines = body.split('\n');
        let (Some(origin), Some(size), Some(root), None) =
            (lines.next(), lines.next(), lines.next(), lines.next())
        else {
            return Err(NoteError::Lines);
        };
        if !is_origin(origin) {
            return Err(NoteError::Origin);
        }
        let signature = signatures.map_or(Ok(None), |lines| own_signature(lines, origin))?;
        Ok(Self {
            origin: origin.to_owned(),
            size: decimal(size).ok_or(NoteError::Size)?,
            root: decoded(root).ok_or(NoteError::Root)?,
            signature,
        })
    }
}

/// A size has one spelling only: "+7" and "07" would be second ones.
fn decimal(text: &str) -> Option<u64> {
    let number: u64 = text.parse().ok()?;
    (number.to_string() == text).then_some(number)
}

fn decoded<const N: usize>(text: &str) -> Option<[u8; N]> {
    STANDARD.decode(text).ok()?.try_into().ok()
}

/// The first signature under the history's own name. A note may carry others' (witnesses'), which say
/// nothing here.
fn own_signature(lines: &str, origin: &str) -> Result<Option<NoteSignature>, NoteError> {
    let lines = lines.strip_suffix('\n').ok_or(NoteError::Signature)?;
    let mut own = None;
    for line in lines.split('\n') {
        let (name, text) = line
            .strip_prefix(SIGNATURE_MARK)
            .and_then(|line| line.split_once(' '))
            .ok_or(NoteError::Signature)?;
        if name == origin && own.is_none() {
            let bytes: [u8; 68] = decoded(text).ok_or(NoteError::Signature)?;
            let (key_hash, signature) = bytes.split_at(4);
            own = Some(NoteSignature {
                key_hash: key_hash.try_into().expect("the first 4 of 68 bytes"),
                signature: signature.try_into().expect("the other 64 of 68 bytes"),
            });
        }
    }
    Ok(own)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_note_reads_back_as_it_was_written(size: u64, root: [u8; 32], signed: bool, key_hash: [u8; 4], filling: u8) {
            let signature = signed.then_some(NoteSignature { key_hash, signature: [filling; 64] });
            let checkpoint = Checkpoint { origin: "oddleg/saltmarsh".into(), size, root, signature };
            prop_assert_eq!(checkpoint.to_string().parse(), Ok(checkpoint));
        }

        #[test]
        fn no_text_makes_the_parser_panic(text in "\\PC*|([a-z]+\n[0-9]+\n[A-Za-z0-9+/=]*\n+(\u{2014} [a-z]+ [A-Za-z0-9=]*\n)*)") {
            let parsed = text.parse::<Checkpoint>();
            prop_assert!(parsed.is_err() || !text.is_empty());
        }
    }

    #[test]
    fn what_is_not_a_note_is_refused_by_what_is_wrong_with_it() {
        let root = STANDARD.encode([7; 32]);
        let check = |text: String, expect: NoteError| {
            assert_eq!(text.parse::<Checkpoint>(), Err(expect), "{text:?}");
        };
        check(format!("o\n1\n{root}"), NoteError::Lines);
        check(format!("o\n1\n{root}\nmore\n"), NoteError::Lines);
        check(format!("o o\n1\n{root}\n"), NoteError::Origin);
        check(format!("\n1\n{root}\n"), NoteError::Origin);
        check(format!("o\n+1\n{root}\n"), NoteError::Size);
        check(format!("o\n01\n{root}\n"), NoteError::Size);
        check(format!("o\n1\n{}\n", &root[4..]), NoteError::Root);
        check(format!("o\n1\n{root}\n\n"), NoteError::Signature);
        check(format!("o\n1\n{root}\n\n- o AAAA\n"), NoteError::Signature);
        check(
            format!("o\n1\n{root}\n\n\u{2014} o AAAA\n"),
            NoteError::Signature,
        );
        check("x".repeat(5000), NoteError::TooLong);
    }
}
