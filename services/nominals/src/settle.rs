//! Drafts become characteristics: each gets its number, its nominal and its limits.

use shared_types::{
    Angle, Characteristic, CharacteristicId, GaugeKind, Length, Limits, Quantity, Tolerance,
};

use crate::BuildRules;
use crate::draft::{Draft, Nominal};
use crate::form::Table;
use crate::general::NoTolerance;
use crate::hand::plain;
use crate::measure::Measure;
use crate::tolerance::Stated;

/// Gives every draft its number, nominal and limits; tells every one that cannot have them.
pub(crate) fn settle(
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
        Nominal::Gap(gap) => Quantity::Length(gap),
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
        name: plain(&draft.name),
        stage: draft.stage,
        gauge: match nominal {
            Quantity::Length(_) => GaugeKind::Caliper,
            Quantity::Angle(_) => GaugeKind::AngleGauge,
        },
        nominal,
        limits,
        tolerance,
        rule: plain(&draft.rule),
        how: plain(&draft.how),
        if_small: plain(&draft.if_small),
        if_large: plain(&draft.if_large),
        derived: None,
        follows: None,
        decision: None,
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
