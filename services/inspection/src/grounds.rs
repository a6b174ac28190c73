//! The verdict on one value by the rule in force, with all that it rests on.
//!
//! A reading that proves nothing may be repeated: the mean of the undecided readings before it and itself, by the same
//! gauge since the piece was last laid down or worked over, is judged in its place. Of their uncertainty only what repeats becomes
//! smaller. What is averaged are always all of them: nobody can go on until one passes by chance.

use std::sync::Arc;

use shared_types::{
    GaugeId, Grounds, Lacking, Limits, MeanOf, Quantity, Rule, Seq, Settle, Verdict,
};

use crate::decision::{Zones, settle, uncertainty_of_mean};
use crate::known::Known;
use crate::uncertainty::{conformance, guarding};
use crate::{InspectionError, judge};

/// A verdict and what it rests on.
pub(crate) type Decided = (Verdict, Option<Arc<Grounds>>);

/// One value to be judged.
pub(crate) struct Asked<'a> {
    pub(crate) rule: Rule,
    pub(crate) limits: &'a Limits,
    pub(crate) value: Quantity,
    /// The instrument read; none for a computed value.
    pub(crate) gauge: Option<GaugeId>,
    pub(crate) known: Option<Known>,
    /// Undecided readings before it, and itself as the last; empty for a computed value.
    pub(crate) run: &'a [(Seq, Quantity)],
}

impl Asked<'_> {
    /// `None` for a length against an angle.
    pub(crate) fn decide(self) -> Option<Decided> {
        let plain = judge(self.value, self.limits)?;
        let Some(known) = &self.known else {
            if self.rule == Rule::Plain {
                return Some((plain, None));
            }
            let grounds = Grounds {
                rule: self.rule,
                gauge: self.gauge,
                lacking: Some(Lacking::Uncertainty),
                ..Grounds::default()
            };
            return Some((Verdict::Undecided, Some(Arc::new(grounds))));
        };
        let (verdict, grounds) = self.grounded(plain, known)?;
        Some((verdict, Some(Arc::new(grounds))))
    }

    fn grounded(&self, plain: Verdict, known: &Known) -> Option<(Verdict, Grounds)> {
        let (lasting, repeating) = known.combined.quantities(self.value)?;
        let mut uncertainty = known.uncertainty.clone();
        let guarded = matches!(self.rule, Rule::Guarded(_));
        let mean = if guarded && self.run.len() > 1 {
            let values: Vec<Quantity> = self.run.iter().map(|(_, value)| *value).collect();
            let n = u32::try_from(values.len()).ok()?;
            uncertainty.standard = uncertainty_of_mean(lasting, repeating, n)?;
            Some(MeanOf {
                value: Quantity::mean(&values)?,
                of: self.run.iter().map(|(seq, _)| *seq).collect(),
            })
        } else {
            None
        };
        let value = mean.as_ref().map_or(self.value, |mean| mean.value);
        let (u, freedom) = (uncertainty.standard, uncertainty.freedom);
        let widened = |u: Quantity| match self.rule {
            Rule::Guarded(p) => guarding(u, freedom, p),
            Rule::Plain | Rule::Ratio(_) => Some(u),
        };
        let mut grounds = Grounds {
            rule: self.rule,
            gauge: self.gauge.clone(),
            chance: conformance(value, self.limits, u, freedom),
            uncertainty: Some(uncertainty),
            mean,
            ..Grounds::default()
        };
        let zones = widened(u)
            .ok_or(InspectionError::OutOfRange { u })
            .and_then(|u| Zones::new(self.rule, self.limits, u));
        let zones = match zones {
            Ok(zones) => zones,
            Err(why) => {
                grounds.lacking = Some(lacking(&why));
                grounds.settle = self.finer(plain);
                return Some((Verdict::Undecided, grounds));
            }
        };
        let verdict = zones.ruling(value)?;
        if guarded {
            grounds.accept = zones.accept().copied();
            grounds.reject = Some(*zones.reject());
        }
        if verdict == Verdict::Undecided {
            grounds.lacking = zones.accept().is_none().then_some(Lacking::NoneCanPass);
            grounds.settle =
                widened(lasting)
                    .zip(widened(repeating))
                    .and_then(|(lasting, repeating)| {
                        settle(self.rule, self.limits, value, lasting, repeating)
                    });
        }
        Some((verdict, grounds))
    }

    /// The uncertainty a gauge needs for the ratio: a quarter of the N-th part of the tolerance.
    fn finer(&self, to: Verdict) -> Option<Settle> {
        let Rule::Ratio(ratio) = self.rule else {
            return None;
        };
        let width = self.limits.upper()?.raw() - self.limits.lower()?.raw();
        let u = self.value.with_raw(width / (4 * i64::from(ratio)))?;
        Some(Settle {
            repeats: None,
            uncertainty: (u.raw() > 0).then_some(u),
            to,
        })
    }
}

fn lacking(why: &InspectionError) -> Lacking {
    match why {
        InspectionError::GaugeTooCoarse { found_tenths, .. } => Lacking::TooCoarse(*found_tenths),
        InspectionError::OneLimit => Lacking::OneLimit,
        _ => Lacking::Uncertainty,
    }
}
