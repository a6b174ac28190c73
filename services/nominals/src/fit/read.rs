//! `[fit]` read, and looked up in the mating part.

use shared_types::{CharacteristicId, Fit, FitSource, Length, PartId, PartPlan, Quantity};

use super::{Fitted, Mate, Mates, Openings, Sureness, gap};
use crate::form::{Table, nearest};

/// More mating pieces than a part has are never asked for, so a larger number says nothing more.
const FIRST_ARTICLE_MATES_MAX: i64 = 1000;

/// Reads `[fit]`: `Some(None)` where there is none, nothing where it is wrong.
pub(crate) fn read(root: &Table<'_>, mates: &Mates<'_>) -> Option<Option<Fitted>> {
    if !root.has("fit") {
        return Some(None);
    }
    let table = root.need("fit").table()?;
    table.only(&[
        "into",
        "clearance",
        "source",
        "width",
        "height",
        "gap",
        "first_article_mates",
    ]);
    let into: Option<PartId> = table
        .need("into")
        .parsed("the name of the mating part such as \"S2\"");
    let clearance = table.need("clearance").length();
    let source = table
        .may("source")
        .word(&[("plan", FitSource::Plan), ("measured", FitSource::Measured)]);
    let keys = ["width", "height"];
    let asked = keys.map(|key| table.may(key).text());
    let gaps = gap::read(&table, clearance);
    let first_article_mates = table
        .may("first_article_mates")
        .integer(0..=FIRST_ARTICLE_MATES_MAX);
    let mut sound = source.is_some() == table.has("source")
        && first_article_mates.is_some() == table.has("first_article_mates")
        && keys
            .iter()
            .zip(&asked)
            .all(|(key, id)| id.is_some() == table.has(key));
    if let Some(negative) = clearance.filter(|clearance| *clearance < Length::ZERO) {
        table.wrong(
            "clearance",
            format!("found {negative}, expected 0 mm or more"),
        );
        sound = false;
    }
    if source == Some(FitSource::Measured) && !keys.iter().any(|key| table.has(key)) {
        table.wrong(
            "source",
            "found \"measured\" without width or height, expected one of them: what of the mating piece gives it",
        );
        sound = false;
    }
    let into = into?;
    if root.may("part").text().as_deref() == Some(into.as_str()) {
        table.wrong("into", "found the part itself, expected another");
        return None;
    }
    let mate = match (mates.find)(&into) {
        Mate::Plan(plan) => Some(plan),
        Mate::Missing => {
            table.wrong(
                "into",
                format!("found {into}, which no part file of this build defines"),
            );
            None
        }
        Mate::Faulty => {
            let what = format!(
                "{into} has mistakes of its own, expected it without: this part follows from it"
            );
            table.wrong("into", what);
            None
        }
        Mate::Circle(way) => {
            let what = format!(
                "found a circle of parts that go into one another, {way}, expected one of them to stand alone"
            );
            table.wrong("into", what);
            None
        }
    };
    let mate = mate?;
    let mut from = [None, None];
    let mut given = [None, None];
    for (axis, key) in keys.into_iter().enumerate() {
        if let Some(id) = &asked[axis] {
            let found = opening(&table, key, id, mate);
            sound &= found.is_some();
            (from[axis], given[axis]) = found.unzip();
        }
    }
    let (clearance, gaps) = (clearance?, gaps?);
    let [width, height] = given;
    sound.then_some(Some(Fitted {
        fit: Fit {
            into,
            clearance,
            source: source.unwrap_or(FitSource::Plan),
            first_article_mates: first_article_mates.and_then(|mates| u32::try_from(mates).ok()),
        },
        openings: Openings {
            clearance: Some(clearance),
            width,
            height,
            sureness: Sureness::Known,
        },
        from,
        gaps,
        at: table.at(),
    }))
}

/// A length that is measured of the mating part.
fn opening(
    table: &Table<'_>,
    key: &str,
    id: &str,
    mate: &PartPlan,
) -> Option<(CharacteristicId, Length)> {
    let Some(found) = mate.characteristics.iter().find(|c| c.id.as_str() == id) else {
        let meant = nearest(id, mate.characteristics.iter().map(|c| c.id.as_str()));
        let meant = meant.map_or_else(String::new, |meant| format!("; did you mean {meant:?}?"));
        let what = format!(
            "found {id:?}, expected the id of a characteristic of {}{meant}",
            mate.part
        );
        table.wrong(key, what);
        return None;
    };
    let wrong = match found.nominal {
        _ if found.derived.is_some() => {
            "which is computed from readings, expected a length that is measured"
        }
        Quantity::Angle(_) => "which is an angle, expected a length",
        Quantity::Length(length) => return Some((found.id.clone(), length)),
    };
    table.wrong(key, format!("found {id:?} of {}, {wrong}", mate.part));
    None
}
