//! What is known of the uncertainty of one reading: the budget of the instrument read, at the size measured.

use shared_types::{
    Contribution, Faces, GaugeId, GaugeKind, GaugeSetup, Quantity, Rule, Shop, SpreadWord,
    StatedPart, Uncertainty,
};

use crate::uncertainty::{Budget, Combined, GaugeFacts, Part, Repeatability, Spread, Temperature};

/// What is known beside what the configuration states of a gauge.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Beside {
    /// How much it repeats, from a gauge study.
    pub repeatability: Option<Repeatability>,
    /// The shop's temperature; lengths only.
    pub temperature: Option<Temperature>,
}

/// What is known of a gauge beside its configuration: how it repeats, by its last study.
#[must_use]
pub fn beside(shop: &Shop, gauge: &GaugeId) -> Beside {
    let sight = shop.gauges.get(gauge);
    let repeats = sight.and_then(|sight| sight.studies.repeats());
    Beside {
        repeatability: repeats.map(|repeats| Repeatability {
            sd: repeats.sd,
            freedom: repeats.freedom,
            source: format!("gauge study, entry {}", repeats.study),
        }),
        temperature: None,
    }
}

/// The instrument whose readings a gauge gives: itself, or what is typed from.
#[must_use]
pub fn instrument<'a>(shop: &'a Shop, gauge: &GaugeId, value: Quantity) -> Option<&'a GaugeSetup> {
    let setup = shop.gauge_setup(gauge)?;
    let kind = match value {
        Quantity::Length(_) => GaugeKind::Caliper,
        Quantity::Angle(_) => GaugeKind::AngleGauge,
    };
    let mut read = setup.trust.typed_from.iter();
    let read = read.find_map(|of| shop.gauge_setup(of).filter(|g| g.kind == Some(kind)));
    Some(read.unwrap_or(setup))
}

/// The budget of one reading of about `size` by a gauge as configured; `None` where neither a limit of error nor a part
/// of its uncertainty is stated for that size. Resolution alone would claim too much.
///
/// Which faces of a caliper measure is not known of a characteristic: the outside ones are supposed, and a limit by
/// DIN 862 is theirs.
#[must_use]
pub fn budget(setup: &GaugeSetup, size: Quantity, beside: Beside) -> Option<Budget> {
    let trust = &setup.trust;
    let limit = trust
        .limit_of_error
        .and_then(|_| trust.limit_at(size, Faces::Outside));
    let stated = trust.uncertainty.iter();
    let more: Vec<Part> = stated
        .filter(|part| part.value.same_kind(size))
        .map(stated_part)
        .collect();
    if limit.is_none() && more.is_empty() {
        return None;
    }
    let facts = GaugeFacts {
        limit_of_error: limit,
        limit_source: trust.limit_of_error.map_or_else(String::new, |l| match l {
            shared_types::LimitOfError::Stated(_) => "stated for this gauge".to_owned(),
            shared_types::LimitOfError::Din862 => "DIN 862, outside jaws".to_owned(),
        }),
        resolution: trust.resolution.filter(|step| step.same_kind(size)),
        zeroed: true,
        repeatability: beside.repeatability.filter(|r| r.sd.same_kind(size)),
        temperature: beside
            .temperature
            .filter(|_| matches!(size, Quantity::Length(_))),
        more,
    };
    facts.budget(size).ok()
}

fn stated_part(stated: &StatedPart) -> Part {
    let spread = Spread::stated(stated.value, stated.spread);
    let part = Part::new(&stated.name, spread, &stated.source);
    Part {
        freedom: stated.freedom.map(f64::from),
        averages: stated.repeats,
        ..part
    }
}

/// A budget's uncertainty, in whole numbers.
pub(crate) struct Known {
    pub(crate) combined: Combined,
    pub(crate) uncertainty: Uncertainty,
}

impl Known {
    pub(crate) fn of(budget: &Budget, kind: Quantity) -> Option<Self> {
        let combined = budget.combine().ok()?;
        let parts = budget.parts.iter().map(|part| {
            Some(Contribution {
                name: part.name.clone(),
                standard: part.quantity(kind)?,
                spread: part.spread.word(),
                averages: part.averages,
            })
        });
        let uncertainty = Uncertainty {
            standard: combined.quantity(kind)?,
            freedom: combined.freedom,
            parts: parts.collect::<Option<_>>()?,
        };
        Some(Self {
            combined,
            uncertainty,
        })
    }

    /// Of a value computed from readings: only whole numbers are left of theirs.
    pub(crate) fn of_parts(
        lasting: Quantity,
        repeating: Quantity,
        freedom: Option<u32>,
        parts: Vec<Contribution>,
    ) -> Option<Self> {
        let standard = crate::decision::uncertainty_of_mean(lasting, repeating, 1)?;
        Some(Self {
            combined: Combined::whole(standard, lasting, repeating, freedom),
            uncertainty: Uncertainty {
                standard,
                freedom,
                parts: parts.into(),
            },
        })
    }
}

/// What of an uncertainty lasts and what becomes smaller in a mean, of one reading: by its parts.
pub(crate) fn lasting_and_repeating(known: &Uncertainty) -> Option<(Quantity, Quantity)> {
    let root = |averages: bool| {
        let parts = known.parts.iter().filter(|part| part.averages == averages);
        let squares = parts.map(|part| u128::from(part.standard.raw().unsigned_abs()).pow(2));
        let sum: u128 = squares.sum();
        let root = sum.isqrt();
        let up = if root * root < sum { root + 1 } else { root };
        known.standard.with_raw(i64::try_from(up).ok()?)
    };
    Some((root(false)?, root(true)?))
}

impl Spread {
    /// The same, as a word that is kept.
    #[must_use]
    pub const fn word(self) -> SpreadWord {
        match self {
            Self::Standard(_) | Self::Expanded { .. } => SpreadWord::Normal,
            Self::Rectangular { .. } | Self::Step { .. } => SpreadWord::Rectangular,
            Self::Triangular { .. } | Self::TwoSteps { .. } => SpreadWord::Triangular,
            Self::UShaped { .. } => SpreadWord::UShaped,
        }
    }
}

/// The rule a characteristic is judged by.
pub(crate) fn rule(shop: &Shop, own: Option<Rule>) -> Rule {
    let build = || shop.setup.as_ref().map(|setup| setup.decision);
    own.or_else(build).unwrap_or_default()
}
