//! Whether a text is an RFC 3339 timestamp. Only its form: the moment is the bridge's own claim and
//! decides nothing here.

/// Whether `text` has the form `2026-11-25T16:05:00Z`, perhaps with a fraction and an offset.
pub(super) fn is_timestamp(text: &str) -> bool {
    let form = || {
        let (date, time) = text.split_at_checked(10)?;
        let time = time.strip_prefix(['T', 't', ' '])?;
        let (clock, rest) = time.split_at_checked(8)?;
        let rest = match rest.strip_prefix('.') {
            Some(fraction) => {
                let after = fraction.trim_start_matches(|c: char| c.is_ascii_digit());
                (after.len() < fraction.len()).then_some(after)?
            }
            None => rest,
        };
        let offset = match rest {
            "Z" | "z" => true,
            _ => numbers(
                rest.strip_prefix(['+', '-'])?,
                ':',
                &[(2, 0, 23), (2, 0, 59)],
            ),
        };
        let valid = numbers(date, '-', &[(4, 0, 9999), (2, 1, 12), (2, 1, 31)])
            && numbers(clock, ':', &[(2, 0, 23), (2, 0, 59), (2, 0, 60)]);
        Some(valid && offset)
    };
    form().unwrap_or(false)
}

/// Numbers of so many digits, from least to most, with a mark between.
fn numbers(text: &str, mark: char, each: &[(usize, u32, u32)]) -> bool {
    let mut parts = text.split(mark);
    let all = each.iter().all(|&(digits, least, most)| {
        parts.next().is_some_and(|part| {
            part.len() == digits
                && part.bytes().all(|b| b.is_ascii_digit())
                && part.parse().is_ok_and(|n: u32| (least..=most).contains(&n))
        })
    });
    all && parts.next().is_none()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first four are the examples of RFC 3339, section 5.8 (from memory).
    #[test]
    fn a_timestamp_has_date_time_and_offset() {
        for text in [
            "1985-04-12T23:20:50.52Z",
            "1996-12-19T16:39:57-08:00",
            "1990-12-31T23:59:60Z",
            "1937-01-01T12:00:27.87+00:20",
        ] {
            assert!(is_timestamp(text), "{text}");
        }
        for text in [
            "",
            "yesterday",
            "2026-11-25",
            "2026-11-25T16:05:00",
            "2026-13-25T16:05:00Z",
            "2026-11-25T24:05:00Z",
            "2026-11-25T16:05:00.Z",
            "2026-11-25T16:05:00+1:00",
            "2026-11-25T16:05:00Zulu",
            "２026-11-25T16:05:00Z",
        ] {
            assert!(!is_timestamp(text), "{text}");
        }
    }
}
