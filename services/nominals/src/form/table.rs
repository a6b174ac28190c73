//! One table of the text.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::nearest::nearest;
use super::{At, Form, Key};

/// Longest piece of the person's text that is repeated in a mistake: one line of a terminal.
const ECHO_CHARS_MAX: usize = 60;

/// A table, its place in the text, and its path for use in mistakes.
#[derive(Debug)]
pub struct Table<'f> {
    pub(super) form: &'f Form<'f>,
    path: String,
    at: At,
    entries: &'f DeTable<'f>,
}

impl<'f> Table<'f> {
    pub(super) fn root(form: &'f Form<'f>, entries: &'f DeTable<'f>) -> Self {
        Self {
            form,
            path: String::new(),
            at: At(0),
            entries,
        }
    }

    pub(super) fn below(&self, name: &str, at: At, entries: &'f DeTable<'f>) -> Self {
        Self {
            form: self.form,
            path: self.path_of(name),
            at,
            entries,
        }
    }

    /// Refuses every key that is not one of `known`, and suggests the nearest.
    pub fn only(&self, known: &[&str]) {
        for (key, _) in self.entries {
            let name: &str = key.get_ref();
            if known.contains(&name) {
                continue;
            }
            let name = echo(name);
            let path = self.path_of(&name);
            let meant = nearest(&name, known.iter().copied());
            let expected = meant.map_or_else(
                || format!("expected one of {}", known.join(", ")),
                |meant| format!("did you mean {meant:?}?"),
            );
            let at = At(key.span().start);
            self.form
                .tell(at, format!("{path}: unknown key, {expected}"));
        }
    }

    /// A key that must be there.
    pub fn need<'t>(&'t self, name: &'t str) -> Key<'t, 'f> {
        Key::new(self, name, true)
    }

    /// A key that may be there.
    pub fn may<'t>(&'t self, name: &'t str) -> Key<'t, 'f> {
        Key::new(self, name, false)
    }

    /// Whether the key is there, well written or not.
    #[must_use]
    pub fn has(&self, name: &str) -> bool {
        self.entry(name).is_some()
    }

    /// The keys that are there, in the order of the text.
    #[must_use]
    pub fn names(&self) -> Vec<&'f str> {
        let mut names: Vec<(usize, &'f str)> = self
            .entries
            .iter()
            .map(|(key, _)| (key.span().start, &**key.get_ref()))
            .collect();
        names.sort_unstable();
        names.into_iter().map(|(_, name)| name).collect()
    }

    /// Tells a mistake about the key `name`, at its line; at the table's line where it is missing.
    pub fn wrong(&self, name: &str, what: impl AsRef<str>) {
        self.wrong_item(name, self.at_of(name), what);
    }

    /// Tells a mistake about the table as a whole.
    pub fn wrong_here(&self, what: impl AsRef<str>) {
        let what = what.as_ref();
        if self.path.is_empty() {
            self.tell(self.at, what);
        } else {
            self.tell(self.at, format!("{}: {what}", self.path));
        }
    }

    /// Tells that none of several keys is there, one of which is needed.
    pub fn missing_any(&self, what: impl AsRef<str>) {
        self.form.tell_missing(self.at, what.as_ref().to_owned());
    }

    /// Tells a mistake about one item of the list `name`.
    pub fn wrong_item(&self, name: &str, at: At, what: impl AsRef<str>) {
        self.tell(at, format!("{}: {}", self.path_of(name), what.as_ref()));
    }

    /// Tells a mistake at a place, in words that already say what it is about.
    pub fn tell(&self, at: At, what: impl AsRef<str>) {
        self.form.tell(at, what.as_ref().to_owned());
    }

    /// Where the table begins.
    #[must_use]
    pub fn at(&self) -> At {
        self.at
    }

    /// Where the key `name` stands; where the table begins if it is missing.
    #[must_use]
    pub fn at_of(&self, name: &str) -> At {
        self.entry(name).map_or(self.at, |(at, _)| at)
    }

    /// A table's path, as `panel.flange`; empty for the whole text.
    #[must_use]
    pub fn path(&self) -> &str {
        &self.path
    }

    /// The table's line, from 1.
    #[must_use]
    pub fn line(&self) -> usize {
        self.form.line(self.at)
    }

    pub(super) fn missing(&self, name: &str, expected: &str) {
        let path = self.path_of(name);
        let what = format!("{path}: missing, expected {expected}");
        self.form.tell_missing(self.at, what);
    }

    pub(super) fn entry(&self, name: &str) -> Option<(At, &'f Spanned<DeValue<'f>>)> {
        let mut entries = self.entries.iter();
        let (key, value) = entries.find(|(key, _)| &**key.get_ref() == name)?;
        Some((At(key.span().start), value))
    }

    pub(super) fn path_of(&self, name: &str) -> String {
        if self.path.is_empty() {
            name.to_owned()
        } else {
            format!("{}.{name}", self.path)
        }
    }
}

/// The person's own text, cut to a length that leaves a mistake readable.
pub(super) fn echo(text: &str) -> String {
    if text.chars().count() <= ECHO_CHARS_MAX {
        return text.to_owned();
    }
    let mut cut: String = text.chars().take(ECHO_CHARS_MAX).collect();
    cut.push('…');
    cut
}
