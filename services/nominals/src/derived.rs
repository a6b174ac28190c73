//! Characteristics that nobody measures: a difference, a taper or a mean, computed from readings of others.
//!
//! ```toml
//! [[derived]]
//! id = "twist"                    # becomes formed.twist, by the stage of what it is computed from
//! name = "twist of the web"
//! difference = ["formed.across.width.root", "formed.across.width.free"]   # without its sign
//! upper = "0.5 mm"                # limits: lower, upper or both; or plus and minus about the nominal
//!
//! [[derived]]
//! id = "taper"
//! name = "taper of the panel"
//! taper = ["formed.across.width.root", "formed.across.width.free"]        # the first less the second
//! plus = "0.3 mm"
//! minus = "0.3 mm"
//!
//! [[derived]]
//! id = "thickness.mean"
//! name = "mean height of the left flange"
//! mean = "formed.height.left"     # of its last readings that count; without limits, those of one reading
//! readings = 3
//! ```

use shared_types::{
    Characteristic, CharacteristicId, Derived, GaugeKind, Length, Limits, MEAN_READINGS_MAX,
    MEAN_READINGS_MIN, Quantity, Stage, Tolerance,
};

use crate::draft::{Draft, Nominal};
use crate::form::{At, Table, nearest};
use crate::hand::plain;
use crate::measure::Measure;
use crate::tolerance::Stated;
use crate::{BuildRules, free};

/// Most derived characteristics of a part: more is a report, not a part file.
const DERIVED_MAX: usize = 100;

/// A derived characteristic before it has a number.
pub(crate) struct DerivedDraft {
    /// Its words; the nominal there only says whether it is a length or an angle.
    pub(crate) draft: Draft,
    pub(crate) derived: Derived,
    nominal: Quantity,
    limits: Limits,
    tolerance: Tolerance,
}

impl DerivedDraft {
    /// Takes limits that a `[[tolerance]]` states for it instead.
    pub(crate) fn state(&mut self, stated: &Stated) {
        let Some((plus, minus)) = stated.of(&self.draft.id, self.nominal) else {
            return;
        };
        let limit = |raw: i64| self.nominal.with_raw(raw);
        let lower = limit(self.nominal.raw() - minus.raw());
        let upper = limit(self.nominal.raw() + plus.raw());
        if let Ok(limits) = Limits::new(lower, upper) {
            self.limits = limits;
            self.tolerance = Tolerance::Stated;
        }
    }

    /// The characteristic, with its number among those of its stage.
    pub(crate) fn characteristic(&self, number: u16) -> Option<Characteristic> {
        let draft = &self.draft;
        Some(Characteristic {
            id: CharacteristicId::new(&draft.id).ok()?,
            number,
            name: plain(&draft.name),
            stage: draft.stage,
            gauge: match self.nominal {
                Quantity::Length(_) => GaugeKind::Caliper,
                Quantity::Angle(_) => GaugeKind::AngleGauge,
            },
            nominal: self.nominal,
            limits: self.limits,
            tolerance: self.tolerance.clone(),
            rule: plain(&draft.rule),
            how: plain(&draft.how),
            if_small: plain(&draft.if_small),
            if_large: plain(&draft.if_large),
            derived: Some(self.derived.clone()),
            follows: None,
            decision: None,
        })
    }
}

/// How far the diagonals of a rectangle may differ. A general tolerance is for a size, not for a difference:
/// what is taken is what a corner makes that is out of square by the general tolerance of angles.
pub(crate) fn squareness(
    stage: Stage,
    sides: [Measure; 2],
    rules: &BuildRules,
    at: At,
) -> Option<DerivedDraft> {
    let [w, h] = sides;
    let [short, _] = if w.pm() < h.pm() { [w, h] } else { [h, w] };
    let askew = rules.general.angular(short.length()?);
    let sin = (askew.mas() as f64 / 3_600_000.0).to_radians().sin();
    let (squares, shear) = (
        w.pm() * w.pm() + h.pm() * h.pm(),
        2.0 * w.pm() * h.pm() * sin,
    );
    let largest =
        Measure::computed((squares + shear).sqrt() - (squares - shear).sqrt()).length()?;
    let of = ["rising", "falling"]
        .map(|way| CharacteristicId::new(&format!("{stage}.diagonal.{way}")).ok());
    let [Some(rising), Some(falling)] = of else {
        return None;
    };
    let named = |length: Measure| crate::draft::mm(length);
    let draft = Draft {
        id: format!("{stage}.diagonal.difference"),
        name: "difference of the two diagonals".to_owned(),
        stage,
        nominal: Nominal::Length(Measure::ZERO),
        rule: format!(
            "square, they are alike; a corner out of square by δ parts them by √(w² + h² + 2 w h sin δ) − √(w² + h² − \
             2 w h sin δ), w {}, h {}, δ {} of {} for the shorter side",
            named(w),
            named(h),
            crate::draft::deg(askew),
            rules.general
        ),
        how: "Computed from the readings of both diagonals: nothing more to measure.".to_owned(),
        if_small: "Measure both diagonals again.".into(),
        if_large: "The part is out of square: push the corners of the longer diagonal together, or ask what the plan \
                   allows."
            .into(),
        own: None,
        at,
    };
    Some(DerivedDraft {
        draft,
        derived: Derived::Difference {
            of: [rising, falling],
            absolute: true,
        },
        nominal: Quantity::Length(Length::ZERO),
        limits: Limits::new(None, Some(Quantity::Length(largest))).ok()?,
        tolerance: Tolerance::General(format!("{}, by the angle of a corner", rules.general)),
    })
}

/// All `[[derived]]` of a part, over what is measured of it; nothing where one of them is wrong.
pub(crate) fn read(root: &Table<'_>, measured: &Measured<'_>) -> Option<Vec<DerivedDraft>> {
    let tables = root.may("derived").tables();
    if let Some(beyond) = tables.get(DERIVED_MAX) {
        beyond.wrong_here(format!(
            "one derived characteristic too many, expected at most {DERIVED_MAX}"
        ));
        return None;
    }
    let read: Vec<Option<DerivedDraft>> = tables.iter().map(|table| one(table, measured)).collect();
    read.into_iter().collect()
}

/// What there is to compute from. The nominals are missing where another mistake keeps them from being known.
pub(crate) struct Measured<'m> {
    pub(crate) drafts: &'m [Draft],
    pub(crate) settled: Option<&'m [Characteristic]>,
    /// Derived by the family itself.
    pub(crate) derived: &'m [DerivedDraft],
}

fn one(table: &Table<'_>, measured: &Measured<'_>) -> Option<DerivedDraft> {
    table.only(&[
        "id",
        "name",
        "difference",
        "taper",
        "mean",
        "readings",
        "lower",
        "upper",
        "plus",
        "minus",
        "if_small",
        "if_large",
    ]);
    let id: Option<CharacteristicId> = table
        .need("id")
        .parsed("a short name that never changes, such as \"taper\"");
    let name = table.need("name").text();
    let derived = formula(table, measured);
    let if_small = table.may("if_small").text();
    let if_large = table.may("if_large").text();
    let (id, name, derived) = (id?, name?, derived?);
    let first = derived.inputs().first()?.as_str();
    let stage = measured
        .drafts
        .iter()
        .find(|draft| draft.id == first)?
        .stage;
    let id = free::full_id(table, stage, id.as_str())?;
    let settled = measured.settled?;
    let inputs: Vec<&Characteristic> = derived
        .inputs()
        .iter()
        .filter_map(|id| settled.iter().find(|c| &c.id == id))
        .collect();
    let (nominal, rule, limits) = match (&derived, inputs.as_slice()) {
        (Derived::Difference { absolute, .. }, [a, b]) => {
            let raw = a.nominal.raw() - b.nominal.raw();
            let nominal = a
                .nominal
                .with_raw(if *absolute { raw.abs() } else { raw })?;
            let bar = if *absolute { "|" } else { "" };
            let rule = format!(
                "{bar}{} − {}{bar}, whose nominals are {} and {}",
                a.id, b.id, a.nominal, b.nominal
            );
            let Some(limits) = free::limits(table, nominal)? else {
                table.wrong_here(
                    "found no limits, expected lower, upper, or plus and minus: a difference has no general tolerance",
                );
                return None;
            };
            (nominal, rule, (limits, Tolerance::Stated))
        }
        (Derived::Mean { readings, .. }, [of]) => {
            let rule = format!("mean of the last {readings} readings of {}", of.id);
            let limits = match free::limits(table, of.nominal)? {
                Some(limits) => (limits, Tolerance::Stated),
                None => (of.limits, of.tolerance.clone()),
            };
            (of.nominal, rule, limits)
        }
        _ => return None,
    };
    let from: Vec<&str> = inputs.iter().map(|c| c.name.as_str()).collect();
    let draft = Draft {
        id,
        name,
        stage,
        nominal: match nominal {
            Quantity::Length(_) => Nominal::Length(Measure::ZERO),
            Quantity::Angle(angle) => Nominal::Angle(angle, Length::ZERO),
        },
        rule,
        how: format!(
            "Computed from the readings of {}: nothing more to measure.",
            from.join(" and ")
        ),
        if_small: if_small.map_or("Ask what the plan allows.".into(), Into::into),
        if_large: if_large.map_or("Ask what the plan allows.".into(), Into::into),
        own: Some(limits.0),
        at: table.at(),
    };
    Some(DerivedDraft {
        draft,
        derived,
        nominal,
        limits: limits.0,
        tolerance: limits.1,
    })
}

/// The one formula that the table states, its ids checked.
fn formula(table: &Table<'_>, measured: &Measured<'_>) -> Option<Derived> {
    let stated: Vec<&str> = ["difference", "taper", "mean"]
        .into_iter()
        .filter(|name| table.has(name))
        .collect();
    let [key] = stated[..] else {
        match stated.get(1) {
            Some(second) => table.wrong(
                second,
                format!("found it beside {}, expected one of difference, taper and mean", stated[0]),
            ),
            None => table.missing_any(format!(
                "{}: nothing says what it is computed from, expected one of difference, taper and mean",
                table.path()
            )),
        }
        return None;
    };
    if key == "mean" {
        let readings = table
            .need("readings")
            .integer(i64::from(MEAN_READINGS_MIN)..=i64::from(MEAN_READINGS_MAX));
        let of = table.need("mean").text();
        let of = known(table, key, table.at_of(key), &of?, measured);
        return Some(Derived::Mean {
            of: of?,
            readings: u8::try_from(readings?).ok()?,
        });
    }
    if table.has("readings") {
        table.wrong(
            "readings",
            format!("found it beside {key}, expected it only with mean"),
        );
        return None;
    }
    let texts = table.need(key).texts()?;
    let [(first, first_at), (second, second_at)] = texts.as_slice() else {
        let what = format!("found {}, expected two ids", texts.len());
        table.wrong(key, what);
        return None;
    };
    let a = known(table, key, *first_at, first, measured);
    let b = known(table, key, *second_at, second, measured);
    let (a, b) = (a?, b?);
    let draft = |id: &CharacteristicId| measured.drafts.iter().find(|d| d.id == id.as_str());
    let (one, other) = (draft(&a)?, draft(&b)?);
    let what = if a == b {
        "found the same id twice, expected two".to_owned()
    } else if one.nominal.is_angle() != other.nominal.is_angle() {
        format!("found {a} and {b}, a length and an angle, expected both of one kind")
    } else if one.stage != other.stage {
        format!(
            "found {a} and {b}, measured at two stages, expected both of one: a piece changes between stages"
        )
    } else {
        return Some(Derived::Difference {
            of: [a, b],
            absolute: key == "difference",
        });
    };
    table.wrong_item(key, *second_at, what);
    None
}

/// The id of something measured of this part.
fn known(
    table: &Table<'_>,
    key: &str,
    at: At,
    id: &str,
    measured: &Measured<'_>,
) -> Option<CharacteristicId> {
    if measured.drafts.iter().any(|draft| draft.id == id) {
        return CharacteristicId::new(id).ok();
    }
    if measured.derived.iter().any(|one| one.draft.id == id) {
        let what =
            format!("found {id:?}, which is derived itself, expected something that is measured");
        table.wrong_item(key, at, what);
        return None;
    }
    let meant = nearest(id, measured.drafts.iter().map(|draft| draft.id.as_str()));
    let meant = meant.map_or_else(String::new, |meant| format!("; did you mean {meant:?}?"));
    table.wrong_item(
        key,
        at,
        format!("found {id:?}, expected the id of something measured of this part{meant}"),
    );
    None
}
