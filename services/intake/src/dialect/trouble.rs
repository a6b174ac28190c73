//! A gauge's own error replies. What the digit after `ERR` means differs between makers and is not
//! told by the line: which line means a low battery or an overflow stands in the configuration.

use shared_types::Garbled;

use super::cursor::Cursor;

/// The trouble a whole line tells.
pub(super) fn of(frame: &[u8], known: &[(String, Garbled)]) -> Option<Garbled> {
    let line = Cursor::trimmed(frame).0;
    if let Some((_, trouble)) = known.iter().find(|(text, _)| text.as_bytes() == line) {
        return Some(*trouble);
    }
    match line.strip_prefix(b"ERR") {
        Some([] | [b'0'..=b'9']) => Some(Garbled::Device),
        _ => None,
    }
}
