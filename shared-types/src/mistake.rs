//! What a person wrote wrongly, and where.

use std::fmt;

/// One mistake in a configuration or part file. All of them are reported at once.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mistake {
    /// The file as the person knows it, as `parts/B2.toml`.
    pub file: String,
    /// Line in the file, from 1.
    pub line: usize,
    /// What was found and what was expected, as `panel.width: found "286", unit missing, expected …`.
    pub what: String,
}

impl fmt::Display for Mistake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: {}", self.file, self.line, self.what)
    }
}
