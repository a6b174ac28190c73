//! How a gauge speaks: the dialect and its parameters.

use intake::{BitOrder, Dialect, DigitOrder, Form, Pattern};
use nominals::form::Table;
use shared_types::{Garbled, GaugeKind, Unit};

/// Keys of any dialect, and those of some with the dialects they belong to.
pub(super) const KEYS: [&str; 8] = [
    "dialect",
    "channel",
    "troubles",
    "letters",
    "good",
    "separator",
    "order",
    "pattern",
];
const PARAMETERS: [(&str, &[Name]); 5] = [
    ("letters", &[Name::Lettered]),
    ("good", &[Name::Multiplexer, Name::Pattern]),
    ("separator", &[Name::Delimited]),
    ("order", &[Name::Sync24, Name::Bcd7, Name::Bcd13]),
    ("pattern", &[Name::Pattern]),
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Name {
    Line,
    Dms,
    Lettered,
    Multiplexer,
    Delimited,
    Numbered,
    Axis,
    Sync24,
    Bcd7,
    Bcd13,
    Pattern,
}

const NAMES: [(&str, Name); 11] = [
    ("line", Name::Line),
    ("dms", Name::Dms),
    ("lettered", Name::Lettered),
    ("multiplexer", Name::Multiplexer),
    ("delimited", Name::Delimited),
    ("numbered", Name::Numbered),
    ("axis", Name::Axis),
    ("sync-24", Name::Sync24),
    ("bcd-7", Name::Bcd7),
    ("bcd-13", Name::Bcd13),
    ("pattern", Name::Pattern),
];

pub(super) fn walk(table: &Table<'_>, kind: Option<GaugeKind>) -> Option<Dialect> {
    let unit = unit(table, kind);
    let decimal = if table.has("decimal") {
        table.may("decimal").word(&[(".", '.'), (",", ',')])
    } else {
        Some('.')
    };
    let name = if table.has("dialect") {
        table.may("dialect").word(&NAMES)
    } else {
        Some(Name::Line)
    };
    let form = name.and_then(|name| form(table, name, decimal.unwrap_or('.')));
    let channel = table.may("channel").text();
    if let (true, Some(form)) = (table.has("channel"), &form)
        && !form.names_channels()
    {
        let what = format!("lines of the dialect \"{}\" name no channel", form.name());
        table.wrong("channel", what);
    }
    let troubles = troubles(table);
    Some(Dialect {
        form: form?,
        unit: unit?,
        decimal: decimal?,
        kind,
        channel,
        troubles: troubles?,
    })
}

fn unit(table: &Table<'_>, kind: Option<GaugeKind>) -> Option<Unit> {
    let lengths = [("mm", Unit::Millimetre), ("in", Unit::Inch)];
    let angles = [("deg", Unit::Degree)];
    match (kind, table.has("unit")) {
        (Some(GaugeKind::AngleGauge), false) => Some(Unit::Degree),
        (Some(GaugeKind::AngleGauge), true) => table.may("unit").word(&angles),
        (Some(GaugeKind::Caliper) | None, _) => table.need("unit").word(&lengths),
    }
}

fn form(table: &Table<'_>, name: Name, decimal: char) -> Option<Form> {
    for (key, dialects) in PARAMETERS {
        if table.has(key) && !dialects.contains(&name) {
            let of: Vec<String> = NAMES
                .iter()
                .filter(|(_, name)| dialects.contains(name))
                .map(|(word, _)| format!("\"{word}\""))
                .collect();
            table.wrong(key, format!("only the dialect {} has it", of.join(" or ")));
        }
    }
    let digits = [
        ("value", DigitOrder::Value),
        ("as-sent", DigitOrder::AsSent),
        ("bits", DigitOrder::Bits),
    ];
    let bits = [
        ("low-byte-first", BitOrder::LowByteFirst),
        ("number", BitOrder::Number),
        ("bits", BitOrder::Bits),
    ];
    let good = || {
        if table.has("good") {
            table.may("good").text()
        } else {
            Some("A".to_owned())
        }
    };
    Some(match name {
        Name::Line => Form::Line,
        Name::Dms => Form::Dms,
        Name::Numbered => Form::Numbered,
        Name::Axis => Form::Axis,
        Name::Lettered => Form::Lettered {
            letters: table.need("letters").text()?,
        },
        Name::Multiplexer => Form::Multiplexer { good: good()? },
        Name::Delimited => Form::Delimited {
            separator: separator(table, decimal)?,
        },
        Name::Sync24 => Form::Sync24(table.need("order").word(&bits)?),
        Name::Bcd7 => Form::Bcd7(table.need("order").word(&digits)?),
        Name::Bcd13 => Form::Bcd13(table.need("order").word(&digits)?),
        Name::Pattern => {
            let text = table.need("pattern").text();
            let good = good();
            Form::Pattern {
                pattern: pattern(table, &text?, decimal)?,
                good: good?,
            }
        }
    })
}

fn pattern(table: &Table<'_>, text: &str, decimal: char) -> Option<Pattern> {
    Pattern::new(text, decimal)
        .map_err(|wrong| table.wrong("pattern", format!("found {wrong}")))
        .ok()
}

fn separator(table: &Table<'_>, decimal: char) -> Option<u8> {
    let words = [
        (";", b';'),
        (",", b','),
        ("|", b'|'),
        (" ", b' '),
        ("\t", b'\t'),
    ];
    let found = table.need("separator").word(&words)?;
    if char::from(found) == decimal {
        table.wrong(
            "separator",
            "found \",\", which is the decimal mark too, expected another",
        );
        return None;
    }
    Some(found)
}

/// `troubles = { "ERR1" = "battery" }`: whole lines of the gauge that tell its own troubles.
fn troubles(table: &Table<'_>) -> Option<Vec<(String, Garbled)>> {
    if !table.has("troubles") {
        return Some(Vec::new());
    }
    let troubles = table.may("troubles").table()?;
    let words = [
        ("error", Garbled::Device),
        ("battery", Garbled::Battery),
        ("overflow", Garbled::Overflow),
    ];
    let read: Vec<_> = troubles
        .names()
        .into_iter()
        .map(|line| {
            let trouble = troubles.need(line).word(&words)?;
            Some((line.trim_matches(' ').to_owned(), trouble))
        })
        .collect();
    read.into_iter().collect()
}
