//! A TOML text walked key by key, so that every mistake in it is told at once, with its line, what
//! was found and what was expected.
//!
//! ```
//! use nominals::form;
//! let read = form::read("sheet.toml", "thickness = \"0.032 in\"\n", |root| {
//!     root.only(&["alloy", "thickness"]);
//!     // Ask for everything first and give up afterwards, so that no mistake hides another.
//!     let alloy = root.need("alloy").text();
//!     let thickness = root.need("thickness").length();
//!     Some((alloy?, thickness?))
//! });
//! assert_eq!(
//!     read.unwrap_err()[0].to_string(),
//!     "sheet.toml:1: alloy: missing, expected a text in quotes"
//! );
//! ```

mod key;
mod nearest;
mod syntax;
mod table;

use std::cell::RefCell;
use std::collections::BTreeSet;

use shared_types::Mistake;
use toml::de::DeTable;

use crate::hand;

pub use key::{Key, PlaceOrTable};
pub(crate) use nearest::nearest;
pub use table::Table;

/// Longest text read: a part file is a page or two and a configuration a few, so a megabyte is
/// another file picked by mistake.
pub const FORM_BYTES_MAX: usize = 1 << 20;

/// Walks `text` with `walk` and gives what it makes of it, or every mistake found, by line.
/// `file` is the name the person knows the text by.
///
/// Where the text is not quite TOML, the rest of it is walked all the same; what is then missing
/// is not reported, because it may stand in the part that could not be read.
///
/// # Errors
/// All mistakes in the text, ordered by line.
///
/// # Panics
/// Where `walk` returns nothing though no mistake was told: a walker that gives up has said why.
pub fn read<T>(
    file: &str,
    text: &str,
    walk: impl FnOnce(&Table<'_>) -> Option<T>,
) -> Result<T, Vec<Mistake>> {
    if text.len() > FORM_BYTES_MAX {
        return Err(vec![Mistake {
            file: file.to_owned(),
            line: 1,
            what: format!(
                "found {} bytes, expected at most {FORM_BYTES_MAX}; this is probably another file",
                text.len()
            ),
        }]);
    }
    let (root, errors) = DeTable::parse_recoverable(text);
    let form = Form::new(file, text);
    for error in &errors {
        form.syntax(error);
    }
    let value = walk(&Table::root(&form, root.get_ref()));
    let mistakes = form.into_mistakes();
    if mistakes.is_empty() {
        Ok(value.expect("a walker that gives up has told a mistake"))
    } else {
        Err(mistakes)
    }
}

/// A place in the text, to tell a mistake at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct At(usize);

/// The text being walked and what was found wrong with it.
#[derive(Debug)]
struct Form<'f> {
    file: &'f str,
    text: &'f str,
    /// Lines that are not TOML: whatever else seems wrong there follows from that.
    broken_lines: RefCell<BTreeSet<usize>>,
    /// By line, each once, however often a walker stumbles over it.
    mistakes: RefCell<BTreeSet<(usize, String)>>,
}

impl<'f> Form<'f> {
    fn new(file: &'f str, text: &'f str) -> Self {
        Self {
            file,
            text,
            broken_lines: RefCell::default(),
            mistakes: RefCell::default(),
        }
    }

    fn line(&self, at: At) -> usize {
        let before = self.text.as_bytes().iter().take(at.0);
        1 + before.filter(|byte| **byte == b'\n').count()
    }

    fn syntax(&self, error: &toml::de::Error) {
        let offset = error.span().map_or(0, |span| span.start);
        let line = self.line(At(offset));
        // One broken line often leads to several complaints of the parser: the first says it all.
        if self.broken_lines.borrow_mut().insert(line) {
            let source = self.text.lines().nth(line - 1).unwrap_or_default();
            let what = syntax::what(error.message(), source);
            self.mistakes.borrow_mut().insert((line, what));
        }
    }

    fn tell(&self, at: At, what: String) {
        let line = self.line(at);
        if !self.broken_lines.borrow().contains(&line) {
            self.mistakes
                .borrow_mut()
                .insert((line, hand::plain(&what)));
        }
    }

    fn tell_missing(&self, at: At, what: String) {
        if self.broken_lines.borrow().is_empty() {
            self.tell(at, what);
        }
    }

    fn into_mistakes(self) -> Vec<Mistake> {
        let file = self.file;
        let told = self.mistakes.into_inner().into_iter();
        told.map(|(line, what)| Mistake {
            file: file.to_owned(),
            line,
            what,
        })
        .collect()
    }
}
