//! What the TOML parser says, in the words of this house.

/// The parser's `message` about `line`, with a hint where a dimension was written without quotes:
/// the commonest slip, which the parser can only call an unexpected word.
pub(super) fn what(message: &str, line: &str) -> String {
    let message = message.trim_end_matches('.');
    match unquoted(line) {
        Some((key, value)) => {
            format!("{key}: found {value} without quotes, expected {key} = \"{value}\"")
        }
        None => format!("this is not TOML: {message}"),
    }
}

/// A key and a value that begins like a number and goes on with a unit or a fraction.
fn unquoted(line: &str) -> Option<(&str, &str)> {
    let (key, value) = line.split_once('=')?;
    let value = value.split('#').next().unwrap_or(value).trim();
    let number = value.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+'));
    let unit = ["mm", "cm", "m", "in", "deg", "°", "'"];
    (number && unit.iter().any(|unit| value.ends_with(unit))).then(|| (key.trim(), value))
}
