//! What was found out about a gauge, as lines to paste.

use std::fmt::Write as _;

use intake::serial::LineShape;
use shared_types::Unit;

use super::{Options, STREAM_HZ_MIN, Said};

/// What to paste.
pub(super) fn advice(options: &Options, baud: u32, line: LineShape, said: &Said) -> String {
    let explanations = said.explanations();
    let mut text = String::new();
    for (number, explanation) in explanations.iter().enumerate() {
        let reads = format!(
            "the last line is {} by dialect {}",
            explanation.reading.value,
            explanation.dialect.form.name()
        );
        if number > 0 {
            // Writing to a String cannot fail.
            writeln!(text, "# or, if that is what the gauge showed: {reads}")
                .expect("a String takes all that is written");
            for line in explanation.dialect.form.keys().lines() {
                writeln!(text, "# {line}").expect("a String takes all that is written");
            }
            continue;
        }
        let (kind, unit) = if explanation.is_of_angles() {
            ("angle-gauge", "deg")
        } else if explanation.dialect.unit == Unit::Inch {
            ("caliper", "in")
        } else {
            ("caliper", "mm")
        };
        let decimal = explanation.dialect.decimal;
        let mut lines = format!(
            "\n# {} {line}, {} lines; {reads}. For oddleg.toml:\n[gauge.{}]\nbench = \"bench-1\"\nkind = \"{kind}\"\nvia = \
             \"serial\"\nport = {:?}\nbaud = {baud}\nline = \"{line}\"\nunit = \"{unit}\"\n{}\n",
            baud,
            said.count,
            options.gauge,
            options.port.display().to_string(),
            explanation.dialect.form.keys(),
        );
        if decimal == ',' {
            lines += "decimal = \",\"\n";
        }
        if let Some(request) = options.request() {
            lines += &format!("request = {request:?}\n");
        }
        let seconds = said.took.as_secs();
        if seconds >= 2 && said.count / seconds >= STREAM_HZ_MIN {
            lines += "mode = \"stream\"\n";
        }
        text += &lines;
    }
    text
}
