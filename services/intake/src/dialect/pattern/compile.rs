//! A pattern's text made into elements, and refused where a line could be split in two ways.

use super::{Element, Field, Pattern, PatternError};
use crate::dialect::byteset::ByteSet;

/// Longest pattern: a gauge's line is under 32 bytes, its fields have names of seven letters.
const PATTERN_BYTES_MAX: usize = 200;
/// Widest field: a line's length.
const WIDTH_MAX: usize = 64;

impl Pattern {
    /// Compiles a pattern for lines with this decimal mark.
    ///
    /// # Errors
    /// What is wrong with it; above all that a line could be split in two ways.
    pub fn new(text: &str, decimal: char) -> Result<Self, PatternError> {
        if text.len() > PATTERN_BYTES_MAX {
            return Err(PatternError::Long {
                found: text.len(),
                max: PATTERN_BYTES_MAX,
            });
        }
        let pattern = Self {
            text: text.to_owned(),
            elements: elements(text)?,
            mark: if decimal == ',' { b',' } else { b'.' },
        };
        pattern.once()?;
        pattern.has_value()?;
        pattern.one_split()?;
        Ok(pattern)
    }

    /// Whether its lines name a channel.
    pub(in crate::dialect) fn names_channels(&self) -> bool {
        self.fields().any(|field| field == Field::Channel)
    }

    fn fields(&self) -> impl Iterator<Item = Field> {
        self.elements.iter().filter_map(|element| match element {
            Element::Field(field, _) => Some(*field),
            _ => None,
        })
    }

    fn once(&self) -> Result<(), PatternError> {
        for (name, field) in Field::ALL {
            let many = matches!(field, Field::Skip | Field::Spaces);
            if !many && self.fields().filter(|other| *other == field).count() > 1 {
                return Err(PatternError::Twice(name));
            }
        }
        Ok(())
    }

    fn has_value(&self) -> Result<(), PatternError> {
        let parts: Vec<Field> = self
            .fields()
            .filter(|field| {
                matches!(
                    field,
                    Field::Value | Field::Unit | Field::Degrees | Field::Minutes | Field::Seconds
                )
            })
            .collect();
        match parts.as_slice() {
            [Field::Value] | [Field::Value, Field::Unit] | [Field::Unit, Field::Value] => Ok(()),
            [Field::Degrees, Field::Minutes] | [Field::Degrees, Field::Minutes, Field::Seconds] => {
                Ok(())
            }
            [] | [Field::Unit] => Err(PatternError::NoValue),
            _ => Err(PatternError::Angle),
        }
    }

    /// A field without a width ends where its kind of bytes ends: what follows must not be able to
    /// begin with such a byte.
    fn one_split(&self) -> Result<(), PatternError> {
        for (index, element) in self.elements.iter().enumerate() {
            let Element::Field(field, None) = element else {
                continue;
            };
            let after = &self.elements[index + 1..];
            let inner = field.inner(self.mark);
            for next in after {
                if let Some(shared) = inner.shared(&next.first(self.mark)) {
                    return Err(PatternError::Ambiguous {
                        field: element.to_string(),
                        name: field.name(),
                        next: next.to_string(),
                        shared: char::from(shared),
                    });
                }
                if !next.may_be_empty() {
                    break;
                }
            }
        }
        Ok(())
    }
}

impl Field {
    fn name(self) -> &'static str {
        Self::ALL
            .iter()
            .find(|(_, field)| *field == self)
            .map_or("", |(name, _)| name)
    }
}

impl Element {
    /// Bytes it may begin with.
    fn first(&self, mark: u8) -> ByteSet {
        match self {
            Self::Exactly(byte) => ByteSet::one(*byte),
            Self::Degree => ByteSet::of(|byte| matches!(byte, 0xb0 | 0xc2)),
            Self::Field(field, None) => field.first(mark),
            Self::Field(field, Some(_)) => field.wide(),
        }
    }

    const fn may_be_empty(&self) -> bool {
        matches!(self, Self::Field(Field::Spaces, None))
    }
}

impl std::fmt::Display for Element {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Exactly(byte) => write!(f, "{:?}", char::from(*byte)),
            Self::Degree => f.write_str("°"),
            Self::Field(field, None) => write!(f, "{{{}}}", field.name()),
            Self::Field(field, Some(width)) => write!(f, "{{{}:{width}}}", field.name()),
        }
    }
}

fn elements(text: &str) -> Result<Vec<Element>, PatternError> {
    let mut elements = Vec::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let after = &rest[c.len_utf8()..];
        rest = match c {
            '{' if after.starts_with('{') => {
                elements.push(Element::Exactly(b'{'));
                &after[1..]
            }
            '}' if after.starts_with('}') => {
                elements.push(Element::Exactly(b'}'));
                &after[1..]
            }
            '{' => {
                let (inside, after) = after.split_once('}').ok_or(PatternError::Brace)?;
                elements.push(field(inside)?);
                after
            }
            '}' => return Err(PatternError::Brace),
            '°' => {
                elements.push(Element::Degree);
                after
            }
            ' '..='~' => {
                let byte = u8::try_from(c).map_err(|_| PatternError::Character(c))?;
                elements.push(Element::Exactly(byte));
                after
            }
            _ => return Err(PatternError::Character(c)),
        };
    }
    Ok(elements)
}

fn field(inside: &str) -> Result<Element, PatternError> {
    let unknown = || PatternError::Unknown(inside.to_owned());
    let (name, width) = match inside.split_once(':') {
        None => (inside, None),
        Some((name, width)) => {
            let plain = width.bytes().all(|byte| byte.is_ascii_digit());
            let width: usize = width.parse().map_err(|_| unknown())?;
            if !plain || !(1..=WIDTH_MAX).contains(&width) {
                return Err(unknown());
            }
            (name, Some(width))
        }
    };
    let (_, field) = Field::ALL
        .iter()
        .find(|(known, _)| *known == name)
        .ok_or_else(unknown)?;
    Ok(Element::Field(*field, width))
}
