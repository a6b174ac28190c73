//! Characteristics stated outright, for what no family covers. They may stand alone or beside a family.
//!
//! ```toml
//! [[characteristic]]
//! id = "joggle.depth"          # becomes formed.joggle.depth
//! name = "depth of the joggle"
//! stage = "formed"
//! nominal = "0.8 mm"           # a length for a caliper, an angle for an angle gauge
//! lower = "0.8 mm"             # limits: lower, upper or both; or plus and minus; or neither, for the
//! upper = "1.0 mm"             # general tolerance or a [[tolerance]]
//! how = "Depth rod from the web into the joggle."
//! # leg: for an angle under the general tolerance, the length of its shorter leg
//! # source, if_small, if_large: where it is from, and what to do about a piece that is off
//! ```

use std::str::FromStr;

use shared_types::{CharacteristicId, Length, Limits, Quantity, QuantityError, STAGES, Stage};

use crate::draft::{Draft, Nominal};
use crate::form::Table;
use crate::measure::Measure;
use crate::part::dimension;

/// Most characteristics stated outright: numbers go to four digits, and a page of them is a plan that
/// wants a family.
const CHARACTERISTICS_MAX: usize = 500;

/// Reads all `[[characteristic]]`; nothing where one of them is wrong.
pub(crate) fn read(root: &Table<'_>) -> Option<Vec<Draft>> {
    let tables = root.may("characteristic").tables();
    if let Some(beyond) = tables.get(CHARACTERISTICS_MAX) {
        beyond.wrong_here(format!(
            "one characteristic too many, expected at most {CHARACTERISTICS_MAX}"
        ));
        return None;
    }
    let drafts: Vec<Option<Draft>> = tables.iter().map(draft).collect();
    drafts.into_iter().collect()
}

fn draft(table: &Table<'_>) -> Option<Draft> {
    table.only(&[
        "id", "name", "stage", "nominal", "lower", "upper", "plus", "minus", "leg", "how",
        "source", "if_small", "if_large",
    ]);
    let id: Option<CharacteristicId> = table
        .need("id")
        .parsed("a short name that never changes, such as \"joggle.depth\"");
    let name = table.need("name").text();
    let stage = table
        .need("stage")
        .word(&STAGES.map(|stage| (stage.word(), stage)));
    let nominal = nominal(table);
    let own = nominal.and_then(|nominal| limits(table, nominal));
    let leg = leg(table, nominal, own.is_some_and(|own| own.is_none()));
    let how = table.need("how").text();
    let source = table.may("source").text();
    let if_small = table.may("if_small").text();
    let if_large = table.may("if_large").text();
    let id = full_id(table, stage?, id?.as_str())?;
    Some(Draft {
        id,
        name: name?,
        stage: stage?,
        nominal: match nominal? {
            Quantity::Length(length) => Nominal::Length(Measure::exact(length)),
            Quantity::Angle(angle) => Nominal::Angle(angle, leg?),
        },
        rule: source.map_or_else(
            || "stated outright in the part file".to_owned(),
            |source| format!("stated outright in the part file, from {source}"),
        ),
        how: how?,
        if_small: if_small.map_or("Ask what the plan allows.".into(), Into::into),
        if_large: if_large.map_or("Ask what the plan allows.".into(), Into::into),
        own: own?,
        at: table.at(),
    })
}

/// The id begins with its stage, as every family's do.
pub(crate) fn full_id(table: &Table<'_>, stage: Stage, id: &str) -> Option<String> {
    let first = id.split('.').next().unwrap_or_default();
    if first.parse::<Stage>().is_ok() {
        table.wrong(
            "id",
            format!("found {id:?}, expected it without a stage: \"{stage}.\" is put before it"),
        );
        return None;
    }
    Some(format!("{stage}.{id}"))
}

/// A length or angle above zero.
fn nominal(table: &Table<'_>) -> Option<Quantity> {
    let nominal = quantity(table, "nominal", true)?;
    match nominal {
        // The same bounds as for every dimension.
        Quantity::Length(_) => dimension(table, "nominal", true).map(Quantity::Length),
        Quantity::Angle(angle) if angle.mas() <= 0 => {
            table.wrong(
                "nominal",
                format!("found {angle}, expected an angle above 0°"),
            );
            None
        }
        Quantity::Angle(_) => Some(nominal),
    }
}

/// The limits stated in `lower`, `upper`, `plus` and `minus`, `Some(None)` where there are none; nothing where they are wrong.
pub(crate) fn limits(table: &Table<'_>, nominal: Quantity) -> Option<Option<Limits>> {
    let keys = ["lower", "upper", "plus", "minus"];
    let values = keys.map(|key| quantity(table, key, false));
    for (key, value) in keys.into_iter().zip(values) {
        if table.has(key) && value.is_none() {
            return None;
        }
        if value.is_some_and(|value| !value.same_kind(nominal)) {
            let (found, expected) = match nominal {
                Quantity::Length(_) => ("an angle", "a length"),
                Quantity::Angle(_) => ("a length", "an angle"),
            };
            let what = format!("found {found}, expected {expected}, as the nominal is one");
            table.wrong(key, what);
            return None;
        }
    }
    let [lower, upper, plus, minus] = values;
    let direct = lower.or(upper).is_some();
    let (lower, upper) = match (direct, plus, minus) {
        (true, None, None) => (lower, upper),
        (false, None, None) => return Some(None),
        (false, Some(plus), Some(minus)) => (
            nominal.with_raw(nominal.raw() - minus.raw()),
            nominal.with_raw(nominal.raw() + plus.raw()),
        ),
        (true, ..) => {
            let key = if plus.is_some() { "plus" } else { "minus" };
            table.wrong(
                key,
                "found it beside lower or upper, expected one way of stating limits",
            );
            return None;
        }
        (false, ..) => {
            let (there, other) = if plus.is_some() {
                ("plus", "minus")
            } else {
                ("minus", "plus")
            };
            table.wrong(there, format!("found it without {other}, expected both"));
            return None;
        }
    };
    let outside = |limit: Option<Quantity>, above: bool| {
        limit.is_some_and(|limit| {
            let (low, high) = if above {
                (limit.raw(), nominal.raw())
            } else {
                (nominal.raw(), limit.raw())
            };
            low < high
        })
    };
    if outside(lower, false) || outside(upper, true) {
        let key = keys
            .into_iter()
            .find(|key| table.has(key))
            .unwrap_or("nominal");
        table.wrong(
            key,
            format!("the nominal {nominal} lies outside its limits, expected it within them"),
        );
        return None;
    }
    match Limits::new(lower, upper) {
        Ok(limits) => Some(Some(limits)),
        Err(wrong) => {
            table.wrong_here(wrong.to_string());
            None
        }
    }
}

/// General tolerances of angles go by the shorter leg, so that it is asked for where they are needed.
fn leg(table: &Table<'_>, nominal: Option<Quantity>, needed: bool) -> Option<Length> {
    match nominal? {
        Quantity::Length(_) => {
            if table.has("leg") {
                table.wrong(
                    "leg",
                    "found the shorter leg of an angle beside a length, expected none",
                );
            }
            None
        }
        Quantity::Angle(_) if needed && !table.has("leg") => {
            table.wrong(
                "nominal",
                "found an angle without limits, expected limits, or leg, the length of its shorter leg, by which \
                 general tolerances of angles go",
            );
            None
        }
        Quantity::Angle(_) if needed || table.has("leg") => dimension(table, "leg", true),
        Quantity::Angle(_) => Some(Length::ZERO),
    }
}

fn quantity(table: &Table<'_>, name: &str, required: bool) -> Option<Quantity> {
    let expected = "a length or an angle with its unit such as \"0.2 mm\" or \"1°30'\"";
    let key = if required {
        table.need(name)
    } else {
        table.may(name)
    };
    key.parsed(expected).map(|Written(quantity)| quantity)
}

struct Written(Quantity);

impl FromStr for Written {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Quantity::parse(text).map(Self)
    }
}
