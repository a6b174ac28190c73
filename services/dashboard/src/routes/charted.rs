//! A charted characteristic as programs see it: readings as exact text, statistics as text to the grain.

use serde::Serialize;
use shared_types::{
    Characteristic, CharacteristicId, PartId, PieceId, Quantity, Seq, Stage, Verdict,
};
use trends::{Interval, RuleSet};

use crate::learned::control::{Control, Drawn};
use crate::learned::figures::Figures;
use crate::learned::series::{Point, Series};
use crate::learned::{Looked, Untold};

/// All of it.
#[derive(Serialize)]
pub(super) struct Charted {
    seq: Seq,
    part: PartId,
    characteristic: CharacteristicId,
    name: String,
    stage: Stage,
    nominal: String,
    lower: Option<String>,
    upper: Option<String>,
    /// How many pieces the plan has.
    planned: usize,
    /// Values left out because the plan wanted another nominal when they were judged.
    left_out: usize,
    /// How many readings of each piece make a mean.
    readings_a_piece: usize,
    points: Vec<PointState>,
    chart: &'static str,
    rules: Rules,
    /// Why nothing is drawn.
    #[serde(skip_serializing_if = "Option::is_none")]
    untold: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    limits_from: Option<From>,
    charts: Vec<ChartState>,
    offences: Vec<OffenceState>,
    figures: Option<FiguresState>,
    guidance: &'static str,
}

#[derive(Serialize)]
struct PointState {
    number: usize,
    piece: PieceId,
    entry: Seq,
    value: String,
    /// The value less what its mating piece has moved the nominal.
    charted: String,
    verdict: Verdict,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    group: Vec<String>,
}

#[derive(Serialize)]
struct Rules {
    name: &'static str,
    rules: Vec<RuleState>,
}

#[derive(Serialize)]
struct RuleState {
    number: u8,
    text: &'static str,
}

/// What limits were taken from.
#[derive(Serialize)]
struct From {
    centre: String,
    sigma: String,
    readings: usize,
}

#[derive(Serialize)]
struct ChartState {
    what: &'static str,
    centre: Option<String>,
    points: Vec<MarkState>,
}

#[derive(Serialize)]
struct MarkState {
    number: usize,
    value: String,
    lower: Option<String>,
    upper: Option<String>,
    beyond: bool,
    rules: Vec<u8>,
}

#[derive(Serialize)]
struct OffenceState {
    rule: u8,
    /// The number of the point at which it was seen.
    at: usize,
    points: Vec<usize>,
}

#[derive(Serialize)]
struct FiguresState {
    readings: usize,
    mean: String,
    standard_deviation: Option<String>,
    smallest: String,
    largest: String,
    autocorrelation: Option<f64>,
    confidence_percent: u8,
    capability: CapabilityState,
    tolerance_interval: HoldsState,
}

#[derive(Serialize)]
#[serde(untagged)]
enum CapabilityState {
    Told {
        cp: Option<IntervalState>,
        cpk: IntervalState,
        pp: Option<IntervalState>,
        ppk: IntervalState,
        /// What the number of readings allows to say.
        enough: String,
    },
    Untold {
        untold: String,
    },
}

#[derive(Serialize)]
struct IntervalState {
    value: f64,
    lower: f64,
    upper: f64,
}

#[derive(Serialize)]
#[serde(untagged)]
enum HoldsState {
    Told {
        coverage_percent: u8,
        lower: String,
        upper: String,
        factor: f64,
    },
    Untold {
        untold: String,
    },
}

/// What every answer of this kind says.
pub(super) const GUIDANCE: &str = "guidance, not acceptance";

impl Charted {
    pub(super) fn new(looked: &Looked) -> Self {
        let Series {
            characteristic: c, ..
        } = &looked.series;
        let Characteristic {
            id, name, stage, ..
        } = c;
        let series = &looked.series;
        let control = looked.control.as_ref();
        let drawn = control.map_or_else(
            |_| Vec::new(),
            |control| {
                std::iter::once(&control.main)
                    .chain(&control.spread)
                    .collect()
            },
        );
        Self {
            seq: series.seq,
            part: series.part.clone(),
            characteristic: id.clone(),
            name: name.clone(),
            stage: *stage,
            nominal: c.nominal.to_string(),
            lower: c.limits.lower().map(text),
            upper: c.limits.upper().map(text),
            planned: series.planned,
            left_out: series.otherwise,
            readings_a_piece: series.group,
            points: (1..).zip(&series.points).map(PointState::new).collect(),
            chart: looked.asked.kind.word(),
            rules: Rules::new(looked.asked.rules),
            untold: control.err().map(Untold::to_string),
            limits_from: control.ok().and_then(From::new),
            charts: drawn.into_iter().map(ChartState::new).collect(),
            offences: control.map_or_else(|_| Vec::new(), offences),
            figures: looked.figures.as_ref().ok().map(FiguresState::new),
            guidance: GUIDANCE,
        }
    }
}

fn text(quantity: Quantity) -> String {
    quantity.to_string()
}

fn offences(control: &Control) -> Vec<OffenceState> {
    let number = |at: &usize| control.main.marks[*at].of + 1;
    let offences = control.offences.iter();
    offences
        .map(|offence| OffenceState {
            rule: offence.rule.number,
            at: number(&offence.at),
            points: offence.points.iter().map(number).collect(),
        })
        .collect()
}

impl PointState {
    fn new((number, point): (usize, &Point)) -> Self {
        Self {
            number,
            piece: point.piece.clone(),
            entry: point.seq,
            value: point.value.to_string(),
            charted: point.charted.to_string(),
            verdict: point.verdict,
            group: point.group.iter().copied().map(text).collect(),
        }
    }
}

impl Rules {
    fn new(set: RuleSet) -> Self {
        let rule = |rule: &trends::Rule| RuleState {
            number: rule.number,
            text: rule.text,
        };
        Self {
            name: set.name(),
            rules: set.rules().iter().map(rule).collect(),
        }
    }
}

impl From {
    fn new(control: &Control) -> Option<Self> {
        let taken = control.taken.as_ref()?;
        Some(Self {
            centre: taken.centre.to_string(),
            sigma: taken.sigma.to_string(),
            readings: taken.readings,
        })
    }
}

impl ChartState {
    fn new(drawn: &Drawn) -> Self {
        let points = drawn.marks.iter().map(|mark| MarkState {
            number: mark.of + 1,
            value: mark.value.to_string(),
            lower: mark.limits.map(|(lower, _)| text(lower)),
            upper: mark.limits.map(|(_, upper)| text(upper)),
            beyond: mark.beyond,
            rules: mark.rules.clone(),
        });
        Self {
            what: drawn.what,
            centre: drawn.centre.map(text),
            points: points.collect(),
        }
    }
}

impl FiguresState {
    fn new(figures: &Figures) -> Self {
        Self {
            readings: figures.n,
            mean: figures.mean.to_string(),
            standard_deviation: figures.sd.map(text),
            smallest: figures.least.to_string(),
            largest: figures.most.to_string(),
            autocorrelation: figures.alike.ok(),
            confidence_percent: figures.confidence.whole(),
            capability: match &figures.capability {
                Ok(told) => CapabilityState::Told {
                    cp: told.cp.map(IntervalState::new),
                    cpk: IntervalState::new(told.cpk),
                    pp: told.pp.map(IntervalState::new),
                    ppk: IntervalState::new(told.ppk),
                    enough: told.enough.to_string(),
                },
                Err(untold) => CapabilityState::Untold {
                    untold: untold.to_string(),
                },
            },
            tolerance_interval: match &figures.tolerance {
                Ok(told) => HoldsState::Told {
                    coverage_percent: figures.coverage.whole(),
                    lower: told.lower.to_string(),
                    upper: told.upper.to_string(),
                    factor: told.factor,
                },
                Err(untold) => HoldsState::Untold {
                    untold: untold.to_string(),
                },
            },
        }
    }
}

impl IntervalState {
    const fn new(interval: Interval) -> Self {
        Self {
            value: interval.value,
            lower: interval.lower,
            upper: interval.upper,
        }
    }
}
