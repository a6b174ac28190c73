//! What a gauge can be trusted with, as configured.

use std::str::FromStr;

use nominals::form::Table;
use shared_types::{
    Day, Expansion, Faces, GaugeKind, LimitOfError, Quantity, Reference, Trust, ZERO,
};

use super::uncertainty;

/// The keys of a gauge that belong here.
pub(super) const KEYS: [&str; 7] = [
    "resolution",
    "limit_of_error",
    "calibrated_until",
    "check_every",
    "check_against",
    "silent_after",
    "expansion",
];

/// Longest name of a reference in bytes: it stands on a button and in every check of the record.
const NAME_BYTES_MAX: usize = 40;

/// References of one gauge: more than a person chooses from at a glance is a mistake.
const REFERENCES_MAX: usize = 16;

const DAY_S: u32 = 24 * 60 * 60;

/// Longest time between checks: beyond ten years it is no interval.
const CHECK_EVERY_MAX_S: u32 = 3650 * DAY_S;

/// Shortest and longest silence worth telling: below the first a slow stream would come and go.
const SILENT_AFTER_MIN_S: u32 = 5;
const SILENT_AFTER_MAX_S: u32 = 7 * DAY_S;

pub(super) fn walk(table: &Table<'_>, kind: Option<GaugeKind>, streams: bool) -> Option<Trust> {
    let Some(kind) = kind else {
        for key in KEYS.into_iter().filter(|key| table.has(key)) {
            table.wrong(
                key,
                "what is typed comes from another instrument, expected no such key",
            );
        }
        return Some(Trust {
            uncertainty: uncertainty::parts(table, None),
            typed_from: uncertainty::typed_from(table)?,
            ..Trust::default()
        });
    };
    if table.has("typed_from") {
        table.wrong("typed_from", "only a gauge with via = \"typed\" has it");
    }
    let resolution = may(table, "resolution", |key| step(table, key, kind));
    let limit = may(table, "limit_of_error", |key| limit(table, key, kind));
    let until = may(table, "calibrated_until", |key| {
        table.may(key).parsed::<Day>("a day such as \"2027-03-31\"")
    });
    let every = may(table, "check_every", |key| {
        let expected = "whole days, 1 to 3650, such as \"7 days\"";
        span(table, key, DAY_S..=CHECK_EVERY_MAX_S, DAY_S, expected)
    });
    let silent = may(table, "silent_after", |key| {
        if !streams {
            table.wrong(key, "nothing is heard of it by itself, expected none");
        }
        let expected = "a time from 5 s to 7 days such as \"2 min\"";
        span(
            table,
            key,
            SILENT_AFTER_MIN_S..=SILENT_AFTER_MAX_S,
            1,
            expected,
        )
    });
    let expansion = may(table, "expansion", |key| {
        if kind == GaugeKind::AngleGauge {
            table.wrong(key, "an angle does not grow with its gauge, expected none");
        }
        let expected = "a coefficient such as \"11.5e-6 / K\"";
        table.may(key).parsed::<Expansion>(expected)
    });
    let references = references(table, kind);
    let trust = Trust {
        resolution: resolution?,
        limit_of_error: limit?,
        calibrated_until: until?,
        check_every_days: every?.map(|s| s / DAY_S),
        references: references?,
        silent_after_s: silent?,
        uncertainty: uncertainty::parts(table, Some(kind)),
        typed_from: Vec::new(),
        expansion: expansion?,
    };
    let unlimited = trust
        .references
        .iter()
        .find(|r| trust.limit_at(r.value, r.faces).is_none());
    if let Some(reference) = unlimited {
        table.wrong(
            "check_against",
            format!(
                "how far the gauge may be off at {} is not stated, expected a `limit_of_error` that says so; \"DIN 862\" ends at 1000 mm",
                reference.value
            ),
        );
        return None;
    }
    Some(trust)
}

/// A key that may be absent: `Some(None)` then, and `None` where it is wrong.
pub(super) fn may<T>(
    table: &Table<'_>,
    key: &'static str,
    read: impl FnOnce(&'static str) -> Option<T>,
) -> Option<Option<T>> {
    if table.has(key) {
        read(key).map(Some)
    } else {
        Some(None)
    }
}

fn step(table: &Table<'_>, key: &str, kind: GaugeKind) -> Option<Quantity> {
    let step = match kind {
        GaugeKind::Caliper => table.may(key).length().map(Quantity::Length),
        GaugeKind::AngleGauge => table.may(key).angle().map(Quantity::Angle),
    }?;
    if step.raw() <= 0 {
        table.wrong(key, format!("found {step}, expected a step above zero"));
        return None;
    }
    Some(step)
}

fn limit(table: &Table<'_>, key: &str, kind: GaugeKind) -> Option<LimitOfError> {
    let expected = match kind {
        GaugeKind::Caliper => "\"DIN 862\" or a length such as \"0.03 mm\"",
        GaugeKind::AngleGauge => "an angle such as \"0.2 deg\"",
    };
    let limit = table.may(key).parsed::<LimitOfError>(expected)?;
    let fits = match (limit, kind) {
        (LimitOfError::Stated(limit), kind) => suits(limit, kind),
        (LimitOfError::Din862, kind) => kind == GaugeKind::Caliper,
    };
    if !fits {
        table.wrong(key, format!("found \"{limit}\", expected {expected}"));
    }
    fits.then_some(limit)
}

fn suits(quantity: Quantity, kind: GaugeKind) -> bool {
    match quantity {
        Quantity::Length(_) => kind == GaugeKind::Caliper,
        Quantity::Angle(_) => kind == GaugeKind::AngleGauge,
    }
}

fn references(table: &Table<'_>, kind: GaugeKind) -> Option<Vec<Reference>> {
    if !table.has("check_against") {
        return Some(Vec::new());
    }
    let named = table.may("check_against").table()?;
    let names = named.names();
    if names.len() > REFERENCES_MAX {
        let found = names.len();
        named.wrong_here(format!("found {found}, expected at most {REFERENCES_MAX}"));
    }
    let one = |name: &str| {
        let size = named
            .need(name)
            .parsed::<Size>("its size such as \"25 mm\" or \"50 mm inside\"");
        if name.trim().is_empty() || name.len() > NAME_BYTES_MAX {
            named.wrong(
                name,
                format!("expected a name of 1 to {NAME_BYTES_MAX} bytes"),
            );
            return None;
        }
        if name == ZERO {
            named.wrong(
                name,
                "every gauge can be checked at zero, expected another name",
            );
            return None;
        }
        let size = size?;
        let outside = size.faces == Faces::Outside || kind == GaugeKind::Caliper;
        if !suits(size.value, kind) || !outside || size.value.raw() <= 0 {
            let expected = match kind {
                GaugeKind::Caliper => "a length above zero",
                GaugeKind::AngleGauge => "an angle above zero",
            };
            named.wrong(name, format!("found {}, expected {expected}", size.value));
            return None;
        }
        Some(Reference {
            name: name.to_owned(),
            value: size.value,
            faces: size.faces,
        })
    };
    // All are looked at before one that is wrong ends it.
    let all: Vec<Option<Reference>> = names.into_iter().map(one).collect();
    all.into_iter().collect()
}

/// A reference's size, and what it is measured with.
struct Size {
    value: Quantity,
    faces: Faces,
}

/// Not such a size.
#[derive(Debug, thiserror::Error)]
#[error("{0}; expected a size such as \"25 mm\", \"50 mm inside\" or \"30 mm depth\"")]
struct NoSize(shared_types::QuantityError);

impl FromStr for Size {
    type Err = NoSize;

    fn from_str(text: &str) -> Result<Self, NoSize> {
        let (size, faces) = [Faces::Inside, Faces::Depth]
            .into_iter()
            .find_map(|faces| Some((text.trim().strip_suffix(faces.word())?, faces)))
            .unwrap_or((text, Faces::Outside));
        let value = Quantity::parse(size).map_err(NoSize)?;
        Ok(Self { value, faces })
    }
}

/// A time within a range, in whole steps.
pub(super) fn span(
    table: &Table<'_>,
    key: &str,
    range: std::ops::RangeInclusive<u32>,
    step_s: u32,
    expected: &str,
) -> Option<u32> {
    let Span { s } = table.may(key).parsed::<Span>(expected)?;
    if !range.contains(&s) || !s.is_multiple_of(step_s) {
        table.wrong(key, format!("found {s} s, expected {expected}"));
        return None;
    }
    Some(s)
}

/// A time in whole seconds, minutes, hours or days.
#[derive(Debug, PartialEq, Eq)]
struct Span {
    s: u32,
}

/// Not such a time.
#[derive(Debug, PartialEq, Eq, thiserror::Error)]
#[error("expected a whole number of s, min, h or days such as \"2 min\"")]
struct NoSpan;

impl FromStr for Span {
    type Err = NoSpan;

    fn from_str(text: &str) -> Result<Self, NoSpan> {
        let text = text.trim();
        let digits = text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit()).len();
        let (number, unit) = text.split_at(digits);
        let each_s = match unit.trim() {
            "s" => 1,
            "min" => 60,
            "h" => 3600,
            "day" | "days" => DAY_S,
            _ => return Err(NoSpan),
        };
        let count: u32 = number.parse().map_err(|_| NoSpan)?;
        let s = count.checked_mul(each_s).ok_or(NoSpan)?;
        Ok(Self { s })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_is_a_whole_number_with_its_unit() {
        for (text, s) in [
            ("90 s", 90),
            ("2min", 120),
            ("1 h", 3600),
            ("1 day", DAY_S),
            ("7 days", 7 * DAY_S),
        ] {
            assert_eq!(text.parse(), Ok(Span { s }), "{text}");
        }
        for text in ["", "s", "1.5 h", "-1 s", "+1 s", "99999999 days", "3 weeks"] {
            assert_eq!(text.parse::<Span>(), Err(NoSpan), "{text}");
        }
    }
}
