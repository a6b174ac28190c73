//! Bytes of an instrument made fit to show.

use std::fmt::Write as _;

/// Bytes of a gauge as text a terminal, a page and a file can show: printable ASCII as it is,
/// anything else as `\xHH`, a backslash doubled. HTML escaping is the page's own work on top.
#[must_use]
pub fn printable(raw: &[u8]) -> String {
    let mut text = String::with_capacity(raw.len());
    for &byte in raw {
        match byte {
            b'\\' => text.push_str("\\\\"),
            0x20..=0x7e => text.push(char::from(byte)),
            // Writing to a String cannot fail.
            _ => write!(text, "\\x{byte:02x}").expect("a String takes all that is written"),
        }
    }
    text
}
