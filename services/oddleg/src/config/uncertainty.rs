//! What a gauge's uncertainty is made of beside its limit of error and resolution, and what is typed from which gauge.

use std::str::FromStr;

use nominals::form::Table;
use shared_types::{GaugeId, GaugeKind, Quantity, QuantityError, StatedPart, StatedSpread};

use super::gauge::{Door, Gauge};

/// The keys of a gauge that belong here.
pub(super) const KEYS: [&str; 2] = ["uncertainty", "typed_from"];

/// Parts of one gauge: each stands with every verdict in the history.
const PARTS_MAX: usize = 12;

/// Longest name of a part in bytes, for the same reason, and longest source.
const NAME_BYTES_MAX: usize = 60;
const SOURCE_BYTES_MAX: usize = 200;

/// Every `[[gauge.X.uncertainty]]`. `kind` is none for typed entry, which takes lengths and angles.
pub(super) fn parts(table: &Table<'_>, kind: Option<GaugeKind>) -> Vec<StatedPart> {
    let tables = table.may("uncertainty").tables();
    if tables.len() > PARTS_MAX {
        let found = tables.len();
        table.wrong(
            "uncertainty",
            format!("found {found} parts, expected at most {PARTS_MAX}"),
        );
    }
    tables
        .iter()
        .filter_map(|table| part(table, kind))
        .collect()
}

fn part(table: &Table<'_>, kind: Option<GaugeKind>) -> Option<StatedPart> {
    table.only(&[
        "name",
        "value",
        "spread",
        "source",
        "degrees_of_freedom",
        "repeats",
    ]);
    let name = short(table, "name", NAME_BYTES_MAX);
    let source = short(table, "source", SOURCE_BYTES_MAX);
    let value = table
        .need("value")
        .parsed::<Size>("a length or an angle above zero such as \"0.012 mm\"");
    let expected = "\"normal\", \"expanded 2\", \"rectangular\", \"triangular\" or \"u-shaped\"";
    let spread = table.need("spread").parsed::<StatedSpread>(expected);
    let freedom = if table.has("degrees_of_freedom") {
        let freedom = table.may("degrees_of_freedom").integer(1..=1_000_000);
        freedom.map(|freedom| u32::try_from(freedom).ok())
    } else {
        Some(None)
    };
    let repeats = if table.has("repeats") {
        table.may("repeats").boolean()
    } else {
        Some(false)
    };
    let Size(value) = value?;
    let fits = match kind {
        Some(GaugeKind::Caliper) => matches!(value, Quantity::Length(_)),
        Some(GaugeKind::AngleGauge) => matches!(value, Quantity::Angle(_)),
        None => true,
    };
    if !fits || value.raw() <= 0 {
        let expected = match kind {
            Some(GaugeKind::Caliper) => "a length above zero",
            Some(GaugeKind::AngleGauge) => "an angle above zero",
            None => "a length or an angle above zero",
        };
        table.wrong("value", format!("found {value}, expected {expected}"));
        return None;
    }
    Some(StatedPart {
        name: name?,
        value,
        spread: spread?,
        source: source?,
        freedom: freedom?,
        repeats: repeats?,
    })
}

fn short(table: &Table<'_>, key: &str, most: usize) -> Option<String> {
    let text = table.need(key).text()?;
    if text.trim().is_empty() || text.len() > most {
        table.wrong(key, format!("expected a text of 1 to {most} bytes"));
        return None;
    }
    Some(text)
}

struct Size(Quantity);

impl FromStr for Size {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        Quantity::parse(text).map(Self)
    }
}

/// `typed_from` of a typed gauge: the instruments whose readings are typed, one for lengths and one for angles.
pub(super) fn typed_from(table: &Table<'_>) -> Option<Vec<GaugeId>> {
    if !table.has("typed_from") {
        return Some(Vec::new());
    }
    let mut whole = true;
    let mut gauges = Vec::new();
    for (name, at) in table.may("typed_from").texts()? {
        match GaugeId::new(&name) {
            Ok(id) => gauges.push(id),
            Err(wrong) => {
                whole = false;
                table.wrong_item("typed_from", at, format!("found {name:?}, {wrong}"));
            }
        }
    }
    if gauges.is_empty() && whole {
        table.wrong("typed_from", "found none, expected the names of gauges");
        return None;
    }
    whole.then_some(gauges)
}

/// Tells every `typed_from` that names no gauge with an uncertainty of its own, or two of one kind.
pub(super) fn check(root: &Table<'_>, gauges: &[Gauge]) {
    for (name, table) in root.may("gauge").named_tables() {
        let Some(gauge) = gauges.iter().find(|gauge| gauge.id.as_str() == name) else {
            continue;
        };
        let mut kinds = Vec::new();
        for of in &gauge.trust.typed_from {
            let found = gauges.iter().find(|g| &g.id == of && g.door != Door::Typed);
            match found.and_then(|found| found.kind) {
                None => table.wrong(
                    "typed_from",
                    format!(
                        "found \"{of}\", expected the name of a gauge that is not typed itself"
                    ),
                ),
                Some(kind) if kinds.contains(&kind) => table.wrong(
                    "typed_from",
                    format!(
                        "found \"{of}\", the second {}, expected one of a kind",
                        kind.word()
                    ),
                ),
                Some(kind) => kinds.push(kind),
            }
        }
    }
}
