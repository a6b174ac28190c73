//! One key of a table and the value a person may write there.

use std::fmt::Display;
use std::ops::RangeInclusive;
use std::str::FromStr;

use shared_types::{Angle, Length, QuantityError};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::nearest::nearest;
use super::table::echo;
use super::{At, Table};

/// An item of a list that holds places, and tables where there is more to say of one.
#[derive(Debug)]
pub enum PlaceOrTable<'f> {
    /// `["12 mm", "40 mm"]`.
    Place([Length; 2]),
    /// `{ at = ["12 mm", "40 mm"], … }`.
    Table(Table<'f>),
}

/// A key asked for. Each taker gives the value, or nothing: because it is absent where it may be, or
/// because the mistake has been told.
#[derive(Clone, Copy, Debug)]
#[must_use = "a key that is never taken is never checked"]
pub struct Key<'t, 'f> {
    table: &'t Table<'f>,
    name: &'t str,
    required: bool,
}

impl<'t, 'f> Key<'t, 'f> {
    pub(super) fn new(table: &'t Table<'f>, name: &'t str, required: bool) -> Self {
        Self {
            table,
            name,
            required,
        }
    }

    /// A text that is not blank.
    #[must_use]
    pub fn text(self) -> Option<String> {
        self.take("a text in quotes", |value| match value {
            DeValue::String(text) if text.trim().is_empty() => {
                Err("found an empty text, expected something".to_owned())
            }
            DeValue::String(text) => Ok(text.to_string()),
            other => Err(unlike(other, "a text in quotes")),
        })
    }

    /// A text that its own type checks.
    #[must_use]
    pub fn parsed<T: FromStr<Err: Display>>(self, expected: &str) -> Option<T> {
        self.take(expected, |value| match value {
            DeValue::String(text) => text.parse().map_err(|wrong: T::Err| refused(text, &wrong)),
            other => Err(unlike(other, expected)),
        })
    }

    /// A length with its unit.
    #[must_use]
    pub fn length(self) -> Option<Length> {
        let expected = "a length with its unit such as \"12.7 mm\"";
        self.take(expected, |value| match value {
            DeValue::String(text) => length(text),
            other => Err(unlike(
                other,
                "a length with its unit in quotes such as \"12.7 mm\"",
            )),
        })
    }

    /// An angle with its unit.
    #[must_use]
    pub fn angle(self) -> Option<Angle> {
        let expected = "an angle with its unit such as \"90 deg\"";
        self.take(expected, |value| match value {
            DeValue::String(text) => Angle::parse(text).map_err(|wrong| match wrong {
                QuantityError::WrongKind => {
                    format!("found the length {:?}, expected {expected}", echo(text))
                }
                wrong => unlike_kind(
                    text,
                    wrong,
                    "deg, as in \"90 deg\"",
                    "\"90 deg\" or \"1°30'\"",
                ),
            }),
            other => Err(unlike(
                other,
                "an angle with its unit in quotes such as \"90 deg\"",
            )),
        })
    }

    /// A whole number within `range`.
    #[must_use]
    pub fn integer(self, range: RangeInclusive<i64>) -> Option<i64> {
        let expected = format!("a whole number from {} to {}", range.start(), range.end());
        self.take(&expected, |value| match value {
            DeValue::Integer(digits) => i64::from_str_radix(digits.as_str(), digits.radix())
                .ok()
                .filter(|number| range.contains(number))
                .ok_or_else(|| unlike(value, &expected)),
            other => Err(unlike(other, &expected)),
        })
    }

    /// `true` or `false`.
    #[must_use]
    pub fn boolean(self) -> Option<bool> {
        self.take("true or false", |value| match value {
            DeValue::Boolean(word) => Ok(*word),
            other => Err(unlike(other, "true or false")),
        })
    }

    /// One of a list of words, each with what it means.
    #[must_use]
    pub fn word<T: Copy>(self, words: &[(&str, T)]) -> Option<T> {
        self.take(&one_of(words), |value| word(value, words))
    }

    /// A list of such words, each with its place.
    #[must_use]
    pub fn words<T: Copy>(self, words: &[(&str, T)]) -> Option<Vec<(T, At)>> {
        self.list(&format!("a list of {}", one_of(words)), |value| {
            word(value, words)
        })
    }

    /// A list of texts, each with its place.
    #[must_use]
    pub fn texts(self) -> Option<Vec<(String, At)>> {
        self.list("a list of texts", |value| match value {
            DeValue::String(text) => Ok(text.to_string()),
            other => Err(unlike(other, "a text in quotes")),
        })
    }

    /// A list of places, `[["0 mm", "0 mm"], ["24 in", "0 in"]]`, each with where it stands.
    #[must_use]
    pub fn places(self) -> Option<Vec<([Length; 2], At)>> {
        let expected = "a list of places such as [[\"0 mm\", \"0 mm\"], [\"24 in\", \"0 in\"]]";
        self.list(expected, place)
    }

    /// A list whose items are places or tables, each with where it stands.
    #[must_use]
    pub fn places_or_tables(self, expected: &str) -> Option<Vec<(PlaceOrTable<'f>, At)>> {
        let (_, value) = self.found(expected)?;
        let DeValue::Array(items) = value.get_ref() else {
            self.table
                .wrong(self.name, unlike(value.get_ref(), expected));
            return None;
        };
        let mut read_items = Vec::new();
        for item in items {
            let at = At(item.span().start);
            let read = match item.get_ref() {
                DeValue::Table(entries) => Ok(PlaceOrTable::Table(
                    self.table.below(self.name, at, entries),
                )),
                other => place(other).map(PlaceOrTable::Place),
            };
            match read {
                Ok(value) => read_items.push((value, at)),
                Err(what) => self.table.wrong_item(self.name, at, what),
            }
        }
        (read_items.len() == items.len()).then_some(read_items)
    }

    /// One place, `["12 mm", "40 mm"]`.
    #[must_use]
    pub fn place(self) -> Option<[Length; 2]> {
        self.take("a place such as [\"12 mm\", \"40 mm\"]", place)
    }

    /// A list of whole numbers within `range`, each with its place.
    #[must_use]
    pub fn integers(self, range: RangeInclusive<i64>) -> Option<Vec<(i64, At)>> {
        let one = format!("a whole number from {} to {}", range.start(), range.end());
        self.list(
            "a list of whole numbers such as [1, 3]",
            |value| match value {
                DeValue::Integer(digits) => i64::from_str_radix(digits.as_str(), digits.radix())
                    .ok()
                    .filter(|number| range.contains(number))
                    .ok_or_else(|| unlike(value, &one)),
                other => Err(unlike(other, &one)),
            },
        )
    }

    /// A list of edges, by word or by number, each with its place.
    #[must_use]
    pub fn edge_names(self) -> Option<Vec<(String, At)>> {
        let expected = "a list of edges such as [\"left\", \"right\"] or [1, 3]";
        self.list(expected, |value| match value {
            DeValue::String(text) => Ok(text.to_string()),
            DeValue::Integer(digits) => Ok(digits.as_str().to_owned()),
            other => Err(unlike(other, "an edge's word in quotes or its number")),
        })
    }

    /// A list of lengths, each with its place.
    #[must_use]
    pub fn lengths(self) -> Option<Vec<(Length, At)>> {
        self.list(
            "a list of lengths such as [\"1 in\", \"2 in\"]",
            |value| match value {
                DeValue::String(text) => length(text),
                other => Err(unlike(
                    other,
                    "a length with its unit in quotes such as \"12.7 mm\"",
                )),
            },
        )
    }

    /// A table below this one: `[name]`.
    #[must_use]
    pub fn table(self) -> Option<Table<'f>> {
        let (_, value) = self.found(&format!("a table [{}]", self.path()))?;
        self.below(value)
    }

    /// A list of tables: `[[name]]`; none at all where the key is absent and may be.
    #[must_use]
    pub fn tables(self) -> Vec<Table<'f>> {
        let expected = format!("one or more tables [[{}]]", self.path());
        match self.found(&expected) {
            None => Vec::new(),
            Some((_, value)) => match value.get_ref() {
                DeValue::Array(items) => items.iter().filter_map(|item| self.below(item)).collect(),
                other => {
                    self.table.wrong(self.name, unlike(other, &expected));
                    Vec::new()
                }
            },
        }
    }

    /// Tables by name: `[name.one]`, `[name.two]`, in the order of the text.
    #[must_use]
    pub fn named_tables(self) -> Vec<(&'f str, Table<'f>)> {
        let Some(parent) = self.table() else {
            return Vec::new();
        };
        let names = parent.names().into_iter();
        names
            .filter_map(|name| Some((name, parent.need(name).table()?)))
            .collect()
    }

    fn path(self) -> String {
        self.table.path_of(self.name)
    }

    fn below(self, value: &'f Spanned<DeValue<'f>>) -> Option<Table<'f>> {
        match value.get_ref() {
            DeValue::Table(entries) => {
                let at = At(first_place(value, entries));
                Some(self.table.below(self.name, at, entries))
            }
            other => {
                let expected = format!("a table [{}]", self.path());
                self.table.wrong(self.name, unlike(other, &expected));
                None
            }
        }
    }

    fn list<T>(
        self,
        expected: &str,
        read: impl Fn(&DeValue<'_>) -> Result<T, String>,
    ) -> Option<Vec<(T, At)>> {
        let (_, value) = self.found(expected)?;
        let DeValue::Array(items) = value.get_ref() else {
            self.table
                .wrong(self.name, unlike(value.get_ref(), expected));
            return None;
        };
        let mut read_items = Vec::new();
        for item in items {
            let at = At(item.span().start);
            match read(item.get_ref()) {
                Ok(value) => read_items.push((value, at)),
                Err(what) => self.table.wrong_item(self.name, at, what),
            }
        }
        // An item left out must not look like a shorter list.
        (read_items.len() == items.len()).then_some(read_items)
    }

    fn take<T>(
        self,
        expected: &str,
        read: impl FnOnce(&DeValue<'_>) -> Result<T, String>,
    ) -> Option<T> {
        let (_, value) = self.found(expected)?;
        read(value.get_ref())
            .map_err(|what| self.table.wrong(self.name, what))
            .ok()
    }

    fn found(self, expected: &str) -> Option<(At, &'f Spanned<DeValue<'f>>)> {
        let found = self.table.entry(self.name);
        if found.is_none() && self.required {
            self.table.missing(self.name, expected);
        }
        found
    }
}

/// Where a table begins: its header, or its first key where it has none of its own.
fn first_place(value: &Spanned<DeValue<'_>>, entries: &DeTable<'_>) -> usize {
    let keys = entries.iter().map(|(key, _)| key.span().start);
    let own = value.span();
    if own.is_empty() {
        keys.min().unwrap_or(own.start)
    } else {
        own.start
    }
}

fn word<T: Copy>(value: &DeValue<'_>, words: &[(&str, T)]) -> Result<T, String> {
    let DeValue::String(text) = value else {
        return Err(unlike(value, &one_of(words)));
    };
    if let Some((_, meaning)) = words.iter().find(|(word, _)| *word == &**text) {
        return Ok(*meaning);
    }
    let hint = nearest(text, words.iter().map(|(word, _)| *word))
        .map_or_else(String::new, |meant| format!("; did you mean {meant:?}?"));
    Err(format!(
        "found {:?}, expected {}{hint}",
        echo(text),
        one_of(words)
    ))
}

fn place(value: &DeValue<'_>) -> Result<[Length; 2], String> {
    match value {
        DeValue::Array(pair) if pair.len() == 2 => {
            let one = |at: usize| match pair[at].get_ref() {
                DeValue::String(text) => length(text),
                other => Err(unlike(
                    other,
                    "a length with its unit in quotes such as \"12.7 mm\"",
                )),
            };
            Ok([one(0)?, one(1)?])
        }
        DeValue::Array(other) => Err(format!(
            "found a list of {}, expected two lengths, x and y",
            other.len()
        )),
        other => Err(unlike(other, "two lengths, x and y, in brackets")),
    }
}

fn length(text: &str) -> Result<Length, String> {
    Length::parse(text).map_err(|wrong| match wrong {
        QuantityError::WrongKind => format!(
            "found the angle {:?}, expected a length with its unit such as \"12.7 mm\"",
            echo(text)
        ),
        wrong => unlike_kind(
            text,
            wrong,
            "one of mm, cm, m, µm, in",
            "\"12.7 mm\" or \"11 1/4 in\"",
        ),
    })
}

/// What is told to write must be of the kind the key takes, so that an angle is not offered millimetres.
fn unlike_kind(text: &str, why: QuantityError, units: &str, such_as: &str) -> String {
    let found = echo(text);
    match why {
        QuantityError::NoUnit => format!("found {found:?}, unit missing, expected {units}"),
        QuantityError::UnknownUnit => format!("found {found:?}, unknown unit, expected {units}"),
        QuantityError::NotANumber => {
            format!("found {found:?}, not a number, expected one such as {such_as}")
        }
        other => refused(text, &other),
    }
}

fn one_of<T>(words: &[(&str, T)]) -> String {
    let words: Vec<String> = words.iter().map(|(word, _)| format!("{word:?}")).collect();
    match words.as_slice() {
        [] => "nothing".to_owned(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

fn refused(text: &str, why: &dyn Display) -> String {
    let why = why.to_string();
    // Errors of our own words already repeat what was found.
    if why.starts_with("found ") {
        why
    } else {
        format!("found {:?}, {why}", echo(text))
    }
}

fn unlike(value: &DeValue<'_>, expected: &str) -> String {
    let found = match value {
        DeValue::String(text) => format!("the text {:?}", echo(text)),
        DeValue::Integer(number) => format!("the number {}", echo(&number.to_string())),
        DeValue::Float(number) => format!("the number {}", echo(number.as_str())),
        DeValue::Boolean(word) => format!("{word}"),
        DeValue::Datetime(_) => "a date or time".to_owned(),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    };
    format!("found {found}, expected {expected}")
}
