//! Text made safe for a spreadsheet.

/// Marks with which spreadsheets begin a formula; the wide forms count as the plain ones for some.
const FORMULA_STARTS: [char; 10] = ['=', '+', '-', '@', '\t', '\r', '＝', '＋', '－', '＠'];

/// A text a gauge or a person wrote, as a cell: one that a spreadsheet would take for a formula gets
/// an apostrophe in front, which makes it text there. A plain number stays a number.
pub(crate) fn cell(text: &str) -> String {
    if text.starts_with(FORMULA_STARTS) && !is_number(text) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

/// One sign, then digits with at most one decimal point: nothing that could call anything.
fn is_number(text: &str) -> bool {
    let body = text.strip_prefix(['+', '-']).unwrap_or(text);
    body.bytes().any(|b| b.is_ascii_digit())
        && body.bytes().all(|b| b.is_ascii_digit() || b == b'.')
        && body.bytes().filter(|&b| b == b'.').count() <= 1
}

/// Thousandths as a decimal number, without trailing zeros.
pub(crate) fn thousandths(whole: i64) -> String {
    let sign = if whole < 0 { "-" } else { "" };
    let (units, rest) = (whole.unsigned_abs() / 1000, whole.unsigned_abs() % 1000);
    if rest == 0 {
        format!("{sign}{units}")
    } else {
        let text = format!("{sign}{units}.{rest:03}");
        text.trim_end_matches('0').to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::cell;
    use proptest::prelude::*;

    #[test]
    fn a_formula_becomes_text_and_a_number_stays_a_number() {
        for (text, expect) in [
            ("=1+1", "'=1+1"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("+cmd|' /C calc'!A0", "'+cmd|' /C calc'!A0"),
            ("-2+3", "'-2+3"),
            ("\t=1", "'\t=1"),
            ("＝1", "'＝1"),
            ("+", "'+"),
            ("-1.2.3", "'-1.2.3"),
            ("-0.05", "-0.05"),
            ("+12.34", "+12.34"),
            (".5", ".5"),
            ("12.34 mm", "12.34 mm"),
            ("", ""),
        ] {
            assert_eq!(cell(text), expect, "{text:?}");
        }
    }

    proptest! {
        #[test]
        fn no_cell_begins_a_formula(text in "[=+\\-@\\t0-9.a-z]{0,8}") {
            let cell = cell(&text);
            let formula = cell.starts_with(['=', '+', '-', '@', '\t']) && cell.parse::<f64>().is_err();
            prop_assert!(!formula, "{cell:?}");
        }
    }
}
