//! A capture: what gauges sent and people did, one step a line, written by hand or recorded.
//!
//! ```text
//! # a comment
//! say     The left flange has been worked up.
//! wait    1.5
//! plug    caliper-1
//! send    caliper-1  12.71 mm\r
//! hold    caliper-3  9.53 mm                    (what a streaming caliper sends while a hand does that)
//! bump    caliper-3                             (its unit button: it shows inches, or millimetres again)
//! cable   caliper-3  bad                        (bytes get lost from now on; or `good`)
//! unplug  caliper-1
//! operator bench-1   MK
//! lay     bench-1    B2/1 formed                (and why, where it does not wait for its first article)
//! pick    bench-1    formed.height.left
//! type    keypad-1   11 1/4 in
//! assign  bench-1    formed.height.left in      (the newest held reading; unit only where it was wrong)
//! dismiss bench-1    jaws closed by hand        (the newest held reading)
//! void    bench-1    wrong piece                (the newest reading that was judged)
//! dispose bench-1    formed.height.left rework dressed down   (or use-as-is; or `scrap` and why)
//! ```
//! `\r`, `\n`, `\\` and `\xHH` stand for their bytes; a space at either end of what is sent is `\x20`. What a
//! gauge with via = "mqtt" sends is a message to its `reading` topic. `hold` takes the time its values take, other
//! steps none but for `wait`.

use anyhow::{Context as _, bail};
use shared_types::Length;

/// Longest a caliper is made to reach: those of workshops end at a metre, and each 4 mm of it is a line.
const HOLD_HUNDREDTHS_MAX: i64 = 100_000;
const HUNDREDTH_PM: i64 = 10_000_000;

/// One step and its line in the capture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Step {
    pub(crate) line: usize,
    pub(crate) act: Act,
}

/// What a step does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Act {
    Say(String),
    Wait {
        ms: u64,
    },
    Plug {
        gauge: String,
    },
    Unplug {
        gauge: String,
    },
    Send {
        gauge: String,
        bytes: Vec<u8>,
    },
    Hold {
        gauge: String,
        /// In hundredths of a millimetre.
        size: i64,
    },
    Bump {
        gauge: String,
    },
    Cable {
        gauge: String,
        is_bad: bool,
    },
    Operator {
        bench: String,
        name: String,
    },
    Lay {
        bench: String,
        piece: String,
        stage: String,
        reason: Option<String>,
    },
    Dispose {
        bench: String,
        /// None: the whole piece.
        characteristic: Option<String>,
        disposition: String,
        reason: String,
    },
    Pick {
        bench: String,
        characteristic: String,
    },
    Type {
        gauge: String,
        text: String,
    },
    Assign {
        bench: String,
        characteristic: String,
        unit: Option<String>,
    },
    Dismiss {
        bench: String,
        reason: String,
    },
    Void {
        bench: String,
        reason: String,
    },
}

/// Reads a capture; the first mistake names the line.
pub(crate) fn parse(file: &str, text: &str) -> anyhow::Result<Vec<Step>> {
    let mut steps = Vec::new();
    for (number, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let number = number + 1;
        let act = act(line).with_context(|| format!("{file}:{number}"))?;
        steps.push(Step { line: number, act });
    }
    Ok(steps)
}

/// A line that waits.
pub(crate) fn wait(ms: u64) -> String {
    format!("wait  {}.{:03}\n", ms / 1000, ms % 1000)
}

/// A line that sends what was heard.
pub(crate) fn send(gauge: &str, bytes: &[u8]) -> String {
    let mut text = String::new();
    for (index, &byte) in bytes.iter().enumerate() {
        let at_an_end = index == 0 || index + 1 == bytes.len();
        match byte {
            b'\r' => text.push_str("\\r"),
            b'\n' => text.push_str("\\n"),
            b' ' if at_an_end => text.push_str("\\x20"),
            _ => text.push_str(&shared_types::printable(&[byte])),
        }
    }
    format!("send  {gauge}  {text}\n")
}

fn act(line: &str) -> anyhow::Result<Act> {
    let (word, rest) = cut(line);
    let (first, more) = cut(rest);
    let needed = |text: &str, what: &str| {
        if text.is_empty() {
            bail!("{word}: found nothing, expected {what}")
        }
        Ok(text.to_owned())
    };
    Ok(match word {
        "say" => Act::Say(needed(rest, "what to say")?),
        "wait" => Act::Wait {
            ms: milliseconds(rest)?,
        },
        "plug" => Act::Plug {
            gauge: needed(first, "a gauge")?,
        },
        "unplug" => Act::Unplug {
            gauge: needed(first, "a gauge")?,
        },
        "send" => Act::Send {
            gauge: needed(first, "a gauge")?,
            bytes: unescape(&needed(more, "the bytes to send")?)?,
        },
        "hold" => Act::Hold {
            gauge: needed(first, "a gauge")?,
            size: hundredths(more)?,
        },
        "bump" => Act::Bump {
            gauge: needed(first, "a gauge")?,
        },
        "cable" => Act::Cable {
            gauge: needed(first, "a gauge")?,
            is_bad: match more {
                "bad" => true,
                "good" => false,
                other => bail!("cable: found {other:?}, expected bad or good"),
            },
        },
        "operator" => Act::Operator {
            bench: needed(first, "a bench")?,
            name: more.to_owned(),
        },
        "lay" => {
            let (piece, rest) = cut(more);
            let (stage, reason) = cut(rest);
            Act::Lay {
                bench: needed(first, "a bench")?,
                piece: needed(piece, "a piece")?,
                stage: needed(stage, "a stage")?,
                reason: (!reason.is_empty()).then(|| reason.to_owned()),
            }
        }
        "pick" => Act::Pick {
            bench: needed(first, "a bench")?,
            characteristic: needed(more, "a characteristic")?,
        },
        "type" => Act::Type {
            gauge: needed(first, "a gauge")?,
            text: needed(more, "what to type")?,
        },
        "assign" => {
            let (characteristic, unit) = cut(more);
            Act::Assign {
                bench: needed(first, "a bench")?,
                characteristic: needed(characteristic, "a characteristic")?,
                unit: (!unit.is_empty()).then(|| unit.to_owned()),
            }
        }
        "dismiss" => Act::Dismiss {
            bench: needed(first, "a bench")?,
            reason: more.to_owned(),
        },
        "void" => Act::Void {
            bench: needed(first, "a bench")?,
            reason: needed(more, "a reason")?,
        },
        "dispose" => dispose(first, more, &needed)?,
        other => bail!(
            "found {other:?}, expected one of say, wait, plug, unplug, send, hold, bump, cable, operator, lay, pick, type, assign, dismiss, void, dispose"
        ),
    })
}

/// A scrap is of the whole piece, anything else of a characteristic.
fn dispose(
    bench: &str,
    rest: &str,
    needed: &impl Fn(&str, &str) -> anyhow::Result<String>,
) -> anyhow::Result<Act> {
    let (first, more) = cut(rest);
    let (characteristic, (disposition, reason)) = if first == "scrap" {
        (None, (first, more))
    } else {
        (
            Some(needed(first, "a characteristic, or scrap")?),
            cut(more),
        )
    };
    Ok(Act::Dispose {
        bench: needed(bench, "a bench")?,
        characteristic,
        disposition: needed(disposition, "rework, use-as-is or scrap")?,
        reason: needed(reason, "a reason")?,
    })
}

fn cut(text: &str) -> (&str, &str) {
    match text.split_once(char::is_whitespace) {
        Some((word, rest)) => (word, rest.trim_start()),
        None => (text, ""),
    }
}

/// Seconds with at most three decimals, without a float on the way.
fn milliseconds(text: &str) -> anyhow::Result<u64> {
    let (seconds, decimals) = text.split_once('.').unwrap_or((text, ""));
    let wrong = || format!("wait: found {text:?}, expected seconds such as 1.5");
    if decimals.len() > 3 || !decimals.bytes().all(|b| b.is_ascii_digit()) {
        bail!(wrong());
    }
    let seconds: u64 = seconds.parse().with_context(wrong)?;
    let thousandths: u64 = format!("{decimals:0<3}").parse().with_context(wrong)?;
    Ok(seconds * 1000 + thousandths)
}

/// What a caliper is held on.
fn hundredths(text: &str) -> anyhow::Result<i64> {
    let wrong = || {
        format!(
            "hold: found {text:?}, expected a size in whole hundredths of a millimetre up to a metre, such as 9.53 mm"
        )
    };
    let pm = Length::parse(text).with_context(wrong)?.pm();
    let size = pm / HUNDREDTH_PM;
    if pm % HUNDREDTH_PM != 0 || !(1..=HOLD_HUNDREDTHS_MAX).contains(&size) {
        bail!(wrong());
    }
    Ok(size)
}

fn unescape(text: &str) -> anyhow::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let mut rest = text.bytes();
    while let Some(byte) = rest.next() {
        if byte != b'\\' {
            bytes.push(byte);
            continue;
        }
        bytes.push(match rest.next() {
            Some(b'r') => b'\r',
            Some(b'n') => b'\n',
            Some(b'\\') => b'\\',
            Some(b'x') => {
                let digits = [rest.next(), rest.next()].map(|d| d.unwrap_or(b' '));
                let digits = std::str::from_utf8(&digits).context("\\x wants two digits")?;
                u8::from_str_radix(digits, 16).context("\\x wants two hexadecimal digits")?
            }
            _ => bail!("found a backslash, expected \\r, \\n, \\\\ or \\xHH"),
        });
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_down_is_read_back_byte_for_byte() {
        let all: Vec<u8> = (0..=255).collect();
        for bytes in [&b" +12.34 mm \r\n"[..], b"\\x41", b" ", &all] {
            let text = format!("{}{}", wait(1_005), send("caliper-1", bytes));
            let acts: Vec<Act> = parse("a", &text)
                .unwrap()
                .into_iter()
                .map(|step| step.act)
                .collect();
            let (gauge, bytes) = ("caliper-1".to_owned(), bytes.to_vec());
            assert_eq!(acts, [Act::Wait { ms: 1_005 }, Act::Send { gauge, bytes }]);
        }
    }

    #[test]
    fn a_mistake_names_its_line_and_what_was_expected() {
        for (text, words) in [
            (
                "say a\nsned caliper-1 1",
                "a:2: found \"sned\", expected one of say",
            ),
            ("wait soon", "a:1: wait: found \"soon\""),
            (
                "send caliper-1",
                "found nothing, expected the bytes to send",
            ),
            ("send caliper-1 \\q", "found a backslash"),
            (
                "hold caliper-3 9.535 mm",
                "hold: found \"9.535 mm\", expected a size in whole hundredths",
            ),
            ("hold caliper-3 0 mm", "hold: found \"0 mm\""),
            ("hold caliper-3 1001 mm", "hold: found \"1001 mm\""),
            ("hold caliper-3", "hold: found \"\""),
            ("cable caliper-3 cut", "found \"cut\", expected bad or good"),
        ] {
            let error = format!("{:#}", parse("a", text).unwrap_err());
            assert!(error.contains(words), "{error}");
        }
    }
}
