//! A series as a control chart: whether it runs as it did.

use shared_types::{Quantity, UnknownWord};
use trends::charts::{self, Baseline, Chart, Spread};
use trends::{Offence, RuleSet, TrendsError, offences};

use super::series::Series;
use super::{Untold, shown};

/// Fewest points whose own scatter gives limits: of fewer, limits would be drawn from chance (common practice asks
/// for 20 and begins with 8 or so; no source).
pub(crate) const POINTS_MIN: usize = 8;

/// From this many points limits are no longer called trial limits (common practice, no source).
pub(crate) const POINTS_USUAL: usize = 20;

/// The weight of the newest reading in a weighted average; 0.2 to 0.3 is usual.
pub(crate) const WEIGHT: f64 = 0.2;

/// Which chart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Individuals,
    Ranges,
    Deviations,
    Weighted,
}

impl Kind {
    pub(crate) const ALL: [Self; 4] = [
        Self::Individuals,
        Self::Ranges,
        Self::Deviations,
        Self::Weighted,
    ];

    /// Its word in an address.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Individuals => "individuals",
            Self::Ranges => "means-ranges",
            Self::Deviations => "means-deviations",
            Self::Weighted => "weighted",
        }
    }

    pub(crate) const fn words(self) -> &'static str {
        match self {
            Self::Individuals => "Individuals and moving ranges",
            Self::Ranges => "Means and ranges (X-bar and R)",
            Self::Deviations => "Means and standard deviations (X-bar and S)",
            Self::Weighted => "Weighted averages (EWMA)",
        }
    }

    /// What suits a series.
    pub(crate) const fn usual(series: &Series) -> Self {
        if series.group > 1 {
            Self::Ranges
        } else {
            Self::Individuals
        }
    }
}

impl std::str::FromStr for Kind {
    type Err = UnknownWord;
    fn from_str(text: &str) -> Result<Self, UnknownWord> {
        Self::ALL
            .into_iter()
            .find(|kind| kind.word() == text)
            .ok_or_else(|| UnknownWord {
                found: text.to_owned(),
                expected: "individuals, means-ranges, means-deviations, weighted",
            })
    }
}

/// The sets of run rules by their words in an address; the first is taken unless another is asked for.
pub(crate) const RULE_SETS: [(&str, RuleSet); 3] = [
    ("western-electric", RuleSet::WesternElectric),
    ("nelson", RuleSet::Nelson),
    ("iso-7870-2", RuleSet::Iso7870),
];

/// A series charted.
#[derive(Clone, Debug)]
pub(crate) struct Control {
    pub(crate) kind: Kind,
    pub(crate) main: Drawn,
    /// Moving ranges, ranges or standard deviations.
    pub(crate) spread: Option<Drawn>,
    /// What the limits were taken from; `None` where there are too few points for limits.
    pub(crate) taken: Option<Taken>,
    /// Against the rules asked for; by places in `main`.
    pub(crate) offences: Vec<Offence>,
}

/// What the limits were taken from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Taken {
    pub(crate) centre: Quantity,
    /// The standard deviation of one reading, from the scatter between neighbours or within subgroups.
    pub(crate) sigma: Quantity,
    pub(crate) readings: usize,
    pub(crate) baseline: Baseline,
}

/// One chart, in quantities.
#[derive(Clone, Debug)]
pub(crate) struct Drawn {
    pub(crate) what: &'static str,
    pub(crate) centre: Option<Quantity>,
    pub(crate) marks: Vec<Mark>,
}

/// One point of a chart.
#[derive(Clone, Debug)]
pub(crate) struct Mark {
    /// Of which point of the series.
    pub(crate) of: usize,
    pub(crate) value: Quantity,
    pub(crate) limits: Option<(Quantity, Quantity)>,
    /// Whether it lies outside them.
    pub(crate) beyond: bool,
    /// The numbers of the rules in whose patterns it stands.
    pub(crate) rules: Vec<u8>,
}

/// Charts a series; says why where it cannot.
pub(crate) fn control(series: &Series, kind: Kind, rules: RuleSet) -> Result<Control, Untold> {
    let like = series.points.first().ok_or(Untold::Nothing)?.charted;
    let grouped = matches!(kind, Kind::Ranges | Kind::Deviations);
    if grouped && series.group < 2 {
        return Err(Untold::NoSubgroups);
    }
    let places: Vec<usize> = (0..series.points.len())
        .filter(|at| !grouped || !series.points[*at].group.is_empty())
        .collect();
    if places.is_empty() {
        return Err(Untold::Nothing);
    }
    let made = Making {
        series,
        places,
        like,
        kind,
        rules,
    };
    if made.places.len() < POINTS_MIN {
        return made.bare();
    }
    match kind {
        Kind::Individuals => made.individuals(),
        Kind::Weighted => made.weighted(),
        Kind::Ranges => made.subgroups(Spread::Range, "ranges"),
        Kind::Deviations => made.subgroups(Spread::Deviation, "standard deviations"),
    }
}

struct Making<'a> {
    series: &'a Series,
    /// The points of the series that are charted.
    places: Vec<usize>,
    like: Quantity,
    kind: Kind,
    rules: RuleSet,
}

impl Making<'_> {
    fn readings(&self) -> Result<Vec<i64>, TrendsError> {
        let charted = |at: &usize| self.series.points[*at].charted;
        trends::grains(&self.places.iter().map(charted).collect::<Vec<_>>())
    }

    fn groups(&self) -> Result<Vec<Vec<i64>>, TrendsError> {
        let group = |at: &usize| trends::grains(&self.series.points[*at].group);
        self.places.iter().map(group).collect()
    }

    /// The points alone, for want of limits.
    fn bare(&self) -> Result<Control, Untold> {
        let mark = |of: usize| {
            let point = &self.series.points[of];
            let mean = || Quantity::mean(&point.group).ok_or(Untold::OutOfRange);
            let value = match self.kind {
                Kind::Ranges | Kind::Deviations => mean()?,
                Kind::Individuals | Kind::Weighted => point.charted,
            };
            Ok(Mark {
                of,
                value,
                limits: None,
                beyond: false,
                rules: Vec::new(),
            })
        };
        let marks: Result<_, Untold> = self.places.iter().map(|of| mark(*of)).collect();
        Ok(Control {
            kind: self.kind,
            main: Drawn {
                what: "readings",
                centre: None,
                marks: marks?,
            },
            spread: None,
            taken: None,
            offences: Vec::new(),
        })
    }

    fn individuals(&self) -> Result<Control, Untold> {
        let found = charts::individuals(&self.readings()?)?;
        let main = self.drawn("readings", &found.readings, 0)?;
        let spread = self.drawn("moving ranges", &found.moving_ranges, 1)?;
        self.with_rules(main, &found.readings, Some(spread), &found.baseline)
    }

    fn subgroups(&self, spread: Spread, what: &'static str) -> Result<Control, Untold> {
        let groups = self.groups()?;
        let groups: Vec<&[i64]> = groups.iter().map(Vec::as_slice).collect();
        let found = charts::subgroups(&groups, spread)?;
        let main = self.drawn("means", &found.means, 0)?;
        let spread = self.drawn(what, &found.spreads, 0)?;
        self.with_rules(main, &found.means, Some(spread), &found.baseline)
    }

    /// Neighbouring averages share readings, so that run rules say nothing about them: their own limits alone count.
    fn weighted(&self) -> Result<Control, Untold> {
        let readings = self.readings()?;
        let baseline = charts::individuals(&readings)?.baseline;
        let found = charts::ewma(&readings, &baseline, WEIGHT)?;
        let mut main = self.drawn("weighted averages", &found.chart, 0)?;
        for (mark, (lower, upper)) in main.marks.iter_mut().zip(&found.limits) {
            mark.limits = Some((shown(*lower, self.like)?, shown(*upper, self.like)?));
            mark.beyond = false;
        }
        for at in found.outside() {
            main.marks[at].beyond = true;
        }
        Ok(Control {
            kind: self.kind,
            main,
            spread: None,
            taken: Some(self.taken(&baseline)?),
            offences: Vec::new(),
        })
    }

    fn with_rules(
        &self,
        mut main: Drawn,
        chart: &Chart,
        spread: Option<Drawn>,
        baseline: &Baseline,
    ) -> Result<Control, Untold> {
        let offences = offences(self.rules, chart);
        for offence in &offences {
            for at in &offence.points {
                let rules = &mut main.marks[*at].rules;
                if !rules.contains(&offence.rule.number) {
                    rules.push(offence.rule.number);
                }
            }
        }
        for mark in &mut main.marks {
            mark.rules.sort_unstable();
        }
        Ok(Control {
            kind: self.kind,
            main,
            spread,
            taken: Some(self.taken(baseline)?),
            offences,
        })
    }

    fn taken(&self, baseline: &Baseline) -> Result<Taken, Untold> {
        Ok(Taken {
            centre: shown(baseline.centre, self.like)?,
            sigma: shown(baseline.sigma, self.like)?,
            readings: baseline.readings,
            baseline: *baseline,
        })
    }

    /// `skip`: how many points of the series come before the chart's first.
    fn drawn(&self, what: &'static str, chart: &Chart, skip: usize) -> Result<Drawn, Untold> {
        let limits = (
            shown(chart.lower, self.like)?,
            shown(chart.upper, self.like)?,
        );
        let points = self.places.iter().skip(skip).zip(&chart.points);
        let marks: Result<Vec<Mark>, Untold> = points
            .map(|(of, value)| {
                Ok(Mark {
                    of: *of,
                    value: shown(*value, self.like)?,
                    limits: Some(limits),
                    beyond: false,
                    rules: Vec::new(),
                })
            })
            .collect();
        let mut marks = marks?;
        for at in chart.outside() {
            marks[at].beyond = true;
        }
        Ok(Drawn {
            what,
            centre: Some(shown(chart.centre, self.like)?),
            marks,
        })
    }
}
