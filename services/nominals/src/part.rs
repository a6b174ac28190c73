//! A part file as a whole: what every family shares, and how a family's drafts become a plan.

use shared_types::{
    Angle, Characteristic, CharacteristicId, GaugeKind, Length, Limits, Mistake, PartId, PartPlan,
    Quantity, Tolerance,
};

use crate::bend::BEND_ANGLE_MAX_DEG;
use crate::draft::{Draft, Nominal};
use crate::family::Definition;
use crate::form::{self, Table};
use crate::general::NoTolerance;
use crate::hole::Ground;
use crate::measure::Measure;
use crate::tolerance::Stated;
use crate::{BuildRules, free, guidance, stock};

/// Most pieces of one part: a production run, not a build, has more.
const QUANTITY_MAX: i64 = 9_999;

/// Longest dimension of a part: no sheet is longer than 10 m, and every sum of such dimensions stays
/// far inside the range of a length.
pub(crate) const DIMENSION_MAX_MM: i64 = 10_000;

/// Computes a part from its file. `digest` stays empty: whoever read the file fills it.
///
/// # Errors
/// Every mistake in the text, by line.
pub fn part(file: &str, text: &str, rules: &BuildRules) -> Result<PartPlan, Vec<Mistake>> {
    form::read(file, text, |root| {
        root.only(&[
            "part",
            "title",
            "quantity",
            "sheet",
            "panel",
            "plate",
            "section",
            "characteristic",
            "tolerance",
        ]);
        let part = root
            .need("part")
            .parsed::<PartId>("the part's name such as \"B2\"");
        let title = root.need("title").text();
        let quantity = root.need("quantity").integer(1..=QUANTITY_MAX);
        let stock = root
            .need("sheet")
            .table()
            .and_then(|table| stock::read(&table));
        let stated = Stated::read(root);
        let thickness = stock.as_ref().map(|stock| stock.sheet.thickness);
        let ground = Ground {
            thickness,
            rule: rules.allowance,
        };
        let definition = Definition::read(root, ground);
        let free = free::read(root);
        let stock = stock?;
        let mut family = definition?.family(&stock, rules, root)?;
        family.warnings.extend(guidance::thickness(&stock.sheet));
        family.drafts.extend(free?);
        // Stages in their order; within a stage the family's own order stands.
        family.drafts.sort_by_key(|draft| draft.stage);
        let characteristics = settle(&family.drafts, &stated, rules, root);
        stated.tell_unmatched(&family.drafts, root);
        Some(PartPlan {
            part: part?,
            title: title?,
            quantity: u32::try_from(quantity?).ok()?,
            sheet: stock.sheet,
            digest: String::new(),
            characteristics: characteristics?,
            views: family.views,
            warnings: family.warnings,
            mirrored: None,
            fit: None,
            bends: family.bends,
        })
    })
}

/// A length above zero that a part can have.
pub(crate) fn dimension(table: &Table<'_>, name: &str, required: bool) -> Option<Length> {
    let key = if required {
        table.need(name)
    } else {
        table.may(name)
    };
    let length = key.length()?;
    let largest = Length::from_pm(DIMENSION_MAX_MM * shared_types::PM_PER_MM)?;
    if length <= Length::ZERO || length > largest {
        let what = format!("found {length}, expected a length above 0 mm, at most {largest}");
        table.wrong(name, what);
        return None;
    }
    Some(length)
}

/// An inside bend radius. Zero is a sharp inside corner, which soft thin sheet allows.
pub(crate) fn bend_radius(table: &Table<'_>) -> Option<Length> {
    let radius = table.need("radius").length()?;
    if radius == Length::ZERO {
        return Some(radius);
    }
    if radius < Length::ZERO {
        table.wrong("radius", format!("found {radius}, expected 0 mm or more"));
        return None;
    }
    dimension(table, "radius", true)
}

/// A bend angle turned through.
pub(crate) fn bend_angle(table: &Table<'_>) -> Option<Angle> {
    let angle = table.need("angle").angle()?;
    let most = Angle::from_mas(BEND_ANGLE_MAX_DEG * 3_600_000)?;
    if angle <= Angle::ZERO || angle > most {
        let what = format!(
            "found {angle}, expected the bend angle turned through: above 0°, at most {BEND_ANGLE_MAX_DEG}°, which is \
             180° less the angle between flange and web (a flange square to the web has 90° of both)"
        );
        table.wrong("angle", what);
        return None;
    }
    Some(angle)
}

/// Gives every draft its number, nominal and limits; tells every one that cannot have them.
fn settle(
    drafts: &[Draft],
    stated: &Stated,
    rules: &BuildRules,
    root: &Table<'_>,
) -> Option<Vec<Characteristic>> {
    let mut settled: Vec<Characteristic> = Vec::with_capacity(drafts.len());
    for draft in drafts {
        if let Some(same) = drafts.iter().find(|other| other.id == draft.id)
            && same.at != draft.at
        {
            root.tell(
                draft.at,
                format!("{}: found a second time, expected each id once", draft.id),
            );
            continue;
        }
        let before = settled.iter().filter(|c| c.stage == draft.stage).count();
        let number = u16::try_from(before + 1).ok()?;
        match characteristic(draft, number, stated, rules) {
            Ok(characteristic) => settled.push(characteristic),
            Err(what) => root.tell(draft.at, format!("{}: {what}", draft.id)),
        }
    }
    (settled.len() == drafts.len()).then_some(settled)
}

fn characteristic(
    draft: &Draft,
    number: u16,
    stated: &Stated,
    rules: &BuildRules,
) -> Result<Characteristic, String> {
    let nominal = match draft.nominal {
        Nominal::Length(measure) | Nominal::Radius(measure) => Quantity::Length(value(measure)?),
        Nominal::Angle(angle, _) => Quantity::Angle(angle),
    };
    if let Some(limits) = draft.own {
        return finished(draft, number, nominal, limits, Tolerance::Stated);
    }
    let (plus, minus, tolerance) = match stated.of(&draft.id, nominal) {
        Some((plus, minus)) => (plus, minus, Tolerance::Stated),
        None => {
            let deviation = general(draft, nominal, rules)?;
            let standard = rules.general.to_string();
            (deviation, deviation, Tolerance::General(standard))
        }
    };
    let limit = |raw: i64| nominal.with_raw(raw);
    let limits = limit(nominal.raw() - minus.raw())
        .zip(limit(nominal.raw() + plus.raw()))
        .and_then(|(lower, upper)| Limits::new(Some(lower), Some(upper)).ok())
        .ok_or("its limits lie beyond 1 km or 3600°; state a smaller tolerance")?;
    finished(draft, number, nominal, limits, tolerance)
}

fn finished(
    draft: &Draft,
    number: u16,
    nominal: Quantity,
    limits: Limits,
    tolerance: Tolerance,
) -> Result<Characteristic, String> {
    Ok(Characteristic {
        id: CharacteristicId::new(&draft.id).map_err(|wrong| wrong.to_string())?,
        number,
        name: draft.name.clone(),
        stage: draft.stage,
        gauge: match nominal {
            Quantity::Length(_) => GaugeKind::Caliper,
            Quantity::Angle(_) => GaugeKind::AngleGauge,
        },
        nominal,
        limits,
        tolerance,
        rule: draft.rule.clone(),
        how: draft.how.clone(),
        if_small: draft.if_small.clone().into_owned(),
        if_large: draft.if_large.clone().into_owned(),
        derived: None,
        follows: None,
    })
}

/// A measurable nominal: above zero and in range.
fn value(measure: Measure) -> Result<Length, String> {
    let length = measure
        .length()
        .ok_or("computed a length beyond 1 km; check the bend angle and the dimensions")?;
    if length <= Length::ZERO {
        return Err(format!(
            "computed {length}, expected a length above 0 mm; check the dimensions it follows from"
        ));
    }
    Ok(length)
}

fn general(draft: &Draft, nominal: Quantity, rules: &BuildRules) -> Result<Quantity, String> {
    let state = format!(
        "state one: [[tolerance]] of = {:?}, with plus and minus",
        draft.id
    );
    match (nominal, draft.nominal) {
        (Quantity::Angle(_), Nominal::Angle(_, leg)) => {
            Ok(Quantity::Angle(rules.general.angular(leg)))
        }
        (Quantity::Length(length), kind) => {
            let deviation = match kind {
                Nominal::Radius(_) => rules.general.radius(length),
                _ => rules.general.linear(length),
            };
            deviation
                .map(Quantity::Length)
                .map_err(|none| match none {
                    NoTolerance::BelowHalfMillimetre => format!(
                        "its nominal is {length}, and below 0.5 mm there is no general tolerance; {state}"
                    ),
                    NoTolerance::NoValue => format!(
                        "its nominal is {length}, and {} has no tolerance for that size; {state}",
                        rules.general
                    ),
                })
        }
        (Quantity::Angle(_), _) => Ok(Quantity::Angle(Angle::ZERO)),
    }
}
