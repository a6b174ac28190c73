//! Names of things. Each is checked once, where it is made.

use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

/// Longest name in bytes: it fits an MQTT topic level, a file name and one line of a screen.
const ID_BYTES_MAX: usize = 64;

/// Why a text is not a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum IdError {
    /// Empty or too long.
    #[error("expected 1 to 64 characters")]
    Length,
    /// Another character than those allowed.
    #[error("expected only letters, digits, '.', '-' and '_', beginning with a letter or digit")]
    Character,
    /// Not `PART/NUMBER`, nor that with a hand.
    #[error(
        "expected a part and a piece number such as \"B2/3\", of a pair \"B2/3L\" or \"B2/3R\""
    )]
    Piece,
}

fn checked(text: &str) -> Result<Arc<str>, IdError> {
    if text.is_empty() || text.len() > ID_BYTES_MAX {
        return Err(IdError::Length);
    }
    let plain = |b: u8| b.is_ascii_alphanumeric() || matches!(b, b'.' | b'-' | b'_');
    if !text.bytes().all(plain) || !text.as_bytes()[0].is_ascii_alphanumeric() {
        return Err(IdError::Character);
    }
    Ok(Arc::from(text))
}

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub struct $name(Arc<str>);

        impl $name {
            /// The name, checked: letters, digits, `.`, `-`, `_`; at most 64.
            ///
            /// # Errors
            /// See [`IdError`].
            pub fn new(text: &str) -> Result<Self, IdError> {
                checked(text).map(Self)
            }

            /// The name as text.
            #[must_use]
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl FromStr for $name {
            type Err = IdError;
            fn from_str(text: &str) -> Result<Self, IdError> {
                Self::new(text)
            }
        }

        impl TryFrom<String> for $name {
            type Error = IdError;
            fn try_from(text: String) -> Result<Self, IdError> {
                Self::new(&text)
            }
        }

        impl From<$name> for String {
            fn from(id: $name) -> Self {
                id.0.as_ref().to_owned()
            }
        }
    };
}

id! {
    /// A part: a design, as `B2`.
    PartId
}
id! {
    /// A connected instrument, as `caliper-1`; also the level of its MQTT topic.
    GaugeId
}
id! {
    /// A place where one piece lies and one or more gauges are used.
    BenchId
}
id! {
    /// A thermometer that speaks by itself, as `shelf`; also the level of its MQTT topic.
    SensorId
}
id! {
    /// One dimension at one stage of a part, as `formed.height.left`; stable over revisions.
    CharacteristicId
}

/// Which of a mirrored pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Hand {
    /// As the plan draws it.
    Left,
    /// Its mirror image.
    Right,
}

impl Hand {
    /// The letter at the end of a piece's name.
    #[must_use]
    pub const fn letter(self) -> char {
        match self {
            Self::Left => 'L',
            Self::Right => 'R',
        }
    }

    /// The hand's word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

/// One physical example of a part: `B2/3`, or of a part made in pairs `B2/3L` and `B2/3R`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct PieceId {
    part: PartId,
    number: u32,
    hand: Option<Hand>,
}

impl PieceId {
    /// Piece `number` of `part`; numbers begin at 1. It is of no pair; see [`PieceId::handed`].
    ///
    /// # Errors
    /// [`IdError::Piece`] for number 0.
    pub fn new(part: PartId, number: u32) -> Result<Self, IdError> {
        if number == 0 {
            Err(IdError::Piece)
        } else {
            Ok(Self {
                part,
                number,
                hand: None,
            })
        }
    }

    /// The same number's piece of that hand.
    #[must_use]
    pub fn handed(self, hand: Hand) -> Self {
        Self {
            hand: Some(hand),
            ..self
        }
    }

    /// Which of a pair it is; `None` for a part that is not made in pairs.
    #[must_use]
    pub const fn hand(&self) -> Option<Hand> {
        self.hand
    }

    /// As a person says it: `B2/3 left`.
    #[must_use]
    pub fn spoken(&self) -> String {
        let (part, number) = (&self.part, self.number);
        match self.hand {
            Some(hand) => format!("{part}/{number} {}", hand.word()),
            None => format!("{part}/{number}"),
        }
    }

    /// The part it is an example of.
    #[must_use]
    pub fn part(&self) -> &PartId {
        &self.part
    }

    /// Its number, from 1.
    #[must_use]
    pub const fn number(&self) -> u32 {
        self.number
    }
}

impl fmt::Display for PieceId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.part, self.number)?;
        self.hand
            .map_or(Ok(()), |hand| write!(f, "{}", hand.letter()))
    }
}

impl FromStr for PieceId {
    type Err = IdError;
    fn from_str(text: &str) -> Result<Self, IdError> {
        let (part, number) = text.split_once('/').ok_or(IdError::Piece)?;
        // "B2/03" and "B2/+3" would be second spellings of one piece.
        if number.starts_with(['0', '+']) {
            return Err(IdError::Piece);
        }
        let (number, hand) = match number.strip_suffix(['L', 'R']) {
            Some(plain) if number.ends_with('L') => (plain, Some(Hand::Left)),
            Some(plain) => (plain, Some(Hand::Right)),
            None => (number, None),
        };
        let piece = Self::new(
            PartId::new(part)?,
            number.parse().map_err(|_| IdError::Piece)?,
        )?;
        Ok(hand.map_or(piece.clone(), |hand| piece.handed(hand)))
    }
}

impl TryFrom<String> for PieceId {
    type Error = IdError;
    fn try_from(text: String) -> Result<Self, IdError> {
        text.parse()
    }
}

impl From<PieceId> for String {
    fn from(piece: PieceId) -> Self {
        piece.to_string()
    }
}

/// The position of an entry in the history, from 1, without gaps.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Seq(pub u64);

impl fmt::Display for Seq {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}
