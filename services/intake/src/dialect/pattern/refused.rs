//! Why a pattern is refused.

/// Why a pattern cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PatternError {
    /// Too long.
    #[error("a pattern of {found} bytes, expected at most {max}; a gauge's line is shorter")]
    Long {
        /// Its length.
        found: usize,
        /// The longest.
        max: usize,
    },
    /// A brace without its partner.
    #[error(
        "a brace without its partner, expected {{name}}; write {{{{ or }}}} for a brace itself"
    )]
    Brace,
    /// Not a field.
    #[error(
        "a field {{{0}}}, expected value, unit, channel, status, degrees, minutes, seconds, skip or spaces, perhaps with a width as {{value:9}}"
    )]
    Unknown(String),
    /// A byte no line can hold.
    #[error("the character {0:?}, expected printable ASCII or °")]
    Character(char),
    /// A field a line has once.
    #[error("the field {{{0}}} twice, expected it once")]
    Twice(&'static str),
    /// Nothing to read.
    #[error("no {{value}}, expected it or {{degrees}} and {{minutes}} with perhaps {{seconds}}")]
    NoValue,
    /// Parts of an angle that do not make one.
    #[error(
        "parts of an angle that do not make one, expected {{degrees}}, {{minutes}} and perhaps {{seconds}} in this order and no {{value}} or {{unit}} beside them"
    )]
    Angle,
    /// Two ways to split a line.
    #[error(
        "{field} followed by {next}: a line could be split in two ways, as {shared:?} may belong to either; put a text between them or give {field} a width such as {{{name}:2}}"
    )]
    Ambiguous {
        /// The field.
        field: String,
        /// Its name.
        name: &'static str,
        /// What follows.
        next: String,
        /// A character that may belong to either.
        shared: char,
    },
}
