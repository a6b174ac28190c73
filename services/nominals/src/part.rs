//! A part file as a whole: what every family shares, and how a family's drafts become a plan.

use shared_types::{
    Angle, Bend, Characteristic, Length, Mirrored, Mistake, PartId, PartPlan, View, Warning,
};

use crate::bend::BEND_ANGLE_MAX_DEG;
use crate::decision::Decisions;
use crate::derived::{self, DerivedDraft, Measured};
use crate::draft::Draft;
use crate::family::{Definition, Family};
use crate::fit::{self, Fitted, Mate, Mates, Openings, Sureness};
use crate::form::{self, Table};
use crate::hole::Ground;
use crate::settle::settle;
use crate::tolerance::Stated;
use crate::{BuildRules, free, guidance, hand, stock};

/// Most pieces of one part: a production run, not a build, has more.
const QUANTITY_MAX: i64 = 9_999;

/// Longest dimension of a part: no sheet is longer than 10 m, and every sum of such dimensions stays
/// far inside the range of a length.
pub(crate) const DIMENSION_MAX_MM: i64 = 10_000;

/// Computes a part from its file alone: one that goes into another needs [`crate::build`]. `digest` stays
/// empty: whoever read the file fills it.
///
/// # Errors
/// Every mistake in the text, by line.
pub fn part(file: &str, text: &str, rules: &BuildRules) -> Result<PartPlan, Vec<Mistake>> {
    compute(file, text, rules, &Mates::known(&|_| Mate::Missing)).map(|computed| computed.plan)
}

/// A part computed, and what it goes into.
pub(crate) struct Computed {
    pub(crate) plan: PartPlan,
    pub(crate) fitted: Option<Fitted>,
}

/// Computes a part that may go into another.
pub(crate) fn compute(
    file: &str,
    text: &str,
    rules: &BuildRules,
    mates: &Mates<'_>,
) -> Result<Computed, Vec<Mistake>> {
    form::read(file, text, |root| {
        root.only(&KEYS);
        let part = root
            .need("part")
            .parsed::<PartId>("the part's name such as \"B2\"");
        let title = root.need("title").text();
        let quantity = root.need("quantity").integer(1..=QUANTITY_MAX);
        let pair = root.may("hands").word(&[("pair", ())]);
        let stock = root
            .need("sheet")
            .table()
            .and_then(|table| stock::read(&table));
        let stated = Stated::read(root);
        let decisions = Decisions::read(root);
        let fitted = fit::read(root, mates);
        let ground = Ground {
            thickness: stock.as_ref().map(|stock| stock.sheet.thickness),
            rule: rules.allowance,
            openings: match &fitted {
                Some(Some(fitted)) => Openings {
                    sureness: mates.sureness,
                    ..fitted.openings
                },
                Some(None) => Openings::default(),
                None => Openings {
                    sureness: Sureness::Wrong,
                    ..Openings::default()
                },
            },
        };
        let definition = Definition::read(root, ground);
        let free = free::read(root);
        let (stock, fitted) = (stock?, fitted?);
        let mut family = definition?.family(&stock, rules, ground, root)?;
        family.warnings.extend(guidance::thickness(&stock.sheet));
        family.drafts.extend(free?);
        if let Some(fitted) = &fitted {
            let (gaps, view) = fit::gaps(fitted, &family.rims, root)?;
            family.drafts.extend(gaps);
            family.views.extend(view);
        }
        plan(family, (&stated, &decisions), rules, root).and_then(|settled| {
            Some(Computed {
                plan: PartPlan {
                    part: part?,
                    title: title?,
                    quantity: u32::try_from(quantity?).ok()?,
                    sheet: stock.sheet,
                    digest: String::new(),
                    mirrored: pair.map(|()| settled.mirrored),
                    fit: fitted.as_ref().map(|fitted| fitted.fit.clone()),
                    characteristics: settled.characteristics,
                    views: settled.views,
                    warnings: settled.warnings,
                    bends: settled.bends,
                },
                fitted,
            })
        })
    })
}

/// The keys of a part file.
const KEYS: [&str; 13] = [
    "part",
    "title",
    "quantity",
    "hands",
    "sheet",
    "fit",
    "panel",
    "plate",
    "section",
    "characteristic",
    "derived",
    "tolerance",
    "decision",
];

/// A family with its characteristics settled, in words for people.
struct Settled {
    characteristics: Vec<Characteristic>,
    views: Vec<View>,
    warnings: Vec<Warning>,
    bends: Vec<Bend>,
    mirrored: Mirrored,
}

fn plan(
    mut family: Family,
    (stated, decisions): (&Stated, &Decisions),
    rules: &BuildRules,
    root: &Table<'_>,
) -> Option<Settled> {
    for draft in &mut family.drafts {
        draft.id = hand::plain(&draft.id);
    }
    // Stages in their order; within a stage the family's own order stands.
    family.drafts.sort_by_key(|draft| draft.stage);
    let settled = settle(&family.drafts, stated, rules, root);
    let measured = Measured {
        drafts: &family.drafts,
        settled: settled.as_deref(),
        derived: &family.derived,
    };
    let written = derived::read(root, &measured);
    let mut derived: Vec<DerivedDraft> = Vec::new();
    for mut one in family.derived {
        one.state(stated);
        derived.push(one);
    }
    let mut sound = written.is_some();
    for one in written.into_iter().flatten() {
        let mut taken = family
            .drafts
            .iter()
            .chain(derived.iter().map(|one| &one.draft));
        if taken.any(|draft| draft.id == one.draft.id) {
            let what = format!(
                "{}: found a second time, expected each id once",
                one.draft.id
            );
            root.tell(one.draft.at, what);
            sound = false;
            continue;
        }
        derived.push(one);
    }
    let drafts: Vec<&Draft> = family
        .drafts
        .iter()
        .chain(derived.iter().map(|one| &one.draft))
        .collect();
    stated.tell_unmatched(&drafts, root);
    // What is derived comes last at its stage.
    let mut all: Vec<(Characteristic, &Draft)> = settled?.into_iter().zip(&family.drafts).collect();
    for one in &derived {
        let before = all
            .iter()
            .filter(|(c, _)| c.stage == one.draft.stage)
            .count();
        let number = u16::try_from(before + 1).ok()?;
        all.push((one.characteristic(number)?, &one.draft));
    }
    all.sort_by_key(|(c, _)| c.stage);
    let mirrored = hand::mirrored(all.iter().map(|(_, draft)| *draft), &family.views);
    let warnings = family.warnings.into_iter().map(|warning| Warning {
        what: hand::plain(&warning.what),
        ..warning
    });
    let mut characteristics: Vec<Characteristic> = all.into_iter().map(|(c, _)| c).collect();
    decisions.settle(&mut characteristics, root);
    sound.then(|| Settled {
        characteristics,
        views: family.views.into_iter().map(hand::view_said).collect(),
        warnings: warnings.collect(),
        bends: family.bends,
        mirrored,
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

/// A length that the plan gives or that follows from what the part goes into; given both ways it must be one.
pub(crate) fn side(
    table: &Table<'_>,
    name: &str,
    follows: Option<Length>,
    openings: Openings,
) -> Option<Length> {
    if openings.sureness == Sureness::Wrong && !table.has(name) {
        return None;
    }
    let given = dimension(table, name, follows.is_none());
    let Some(follows) = follows else { return given };
    let largest = Length::from_pm(DIMENSION_MAX_MM * shared_types::PM_PER_MM)?;
    if table.has(name) && given.is_none() {
        return None;
    }
    let known = openings.sureness == Sureness::Known;
    if let Some(given) = given.filter(|given| known && *given != follows) {
        let what = format!(
            "found {given}, but fit.{name} gives {follows}, expected the same, or none here"
        );
        table.wrong(name, what);
        return None;
    }
    if follows <= Length::ZERO || follows > largest {
        let what = format!(
            "{name}: fit.{name} gives {follows}, expected a length above 0 mm, at most {largest}"
        );
        table.wrong_here(what);
        return None;
    }
    Some(follows)
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
