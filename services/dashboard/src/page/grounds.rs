//! What a verdict rests on, in words people read: how likely it is right, and what would decide one that is open.

use shared_types::{Grounds, Lacking, Quantity, Rule, Settle, Verdict};

use super::scene::Scene;

/// How likely the piece is within its limits there, and by what it was judged; empty where nothing is known.
pub(super) fn chance(scene: &Scene<'_>, grounds: &Grounds) -> String {
    let mut said = Vec::new();
    if let Some(chance) = grounds.chance {
        said.push(chance.words());
    }
    if let Some(u) = &grounds.uncertainty {
        said.push(format!("u = {}", small(u.standard)));
    }
    if let Some(mean) = &grounds.mean {
        let (n, value) = (mean.of.len(), scene.shown(mean.value));
        said.push(format!("by the mean of {n} readings, {value}"));
    }
    if grounds.rule != Rule::Plain {
        said.push(format!("rule: {}", grounds.rule));
    }
    said.join("; ")
}

/// What an undecided verdict waits for; empty for any other.
pub(super) fn undecided(grounds: Option<&Grounds>, verdict: Verdict) -> String {
    let Some(grounds) = grounds.filter(|_| verdict == Verdict::Undecided) else {
        return String::new();
    };
    let why = match (grounds.lacking, grounds.rule) {
        (Some(Lacking::Uncertainty), _) => {
            return "Nothing is known of this gauge's uncertainty there, so it proves nothing. State its limit of error in oddleg.toml, or measure with a gauge that has one.".to_owned();
        }
        (Some(Lacking::OneLimit), _) => {
            return "There is one limit only, and the ratio rule needs two. State the guarded rule for it in the part file.".to_owned();
        }
        (Some(Lacking::NoneCanPass), _) => {
            "This gauge is too coarse: no reading at all could be proved within these limits."
                .to_owned()
        }
        (Some(Lacking::TooCoarse(tenths)), rule) => {
            let wanted = match rule {
                Rule::Ratio(n) => n,
                Rule::Plain | Rule::Guarded(_) => 1,
            };
            format!(
                "This gauge is too coarse: {}.{} to 1 for this tolerance, and {wanted} to 1 is asked for.",
                tenths / 10,
                tenths % 10
            )
        }
        (None, _) => "Too near a limit for this gauge to prove it inside or outside.".to_owned(),
    };
    let taken = grounds.mean.as_ref().map_or(1, |mean| mean.of.len());
    format!(
        "{why}{}",
        grounds
            .settle
            .map_or_else(String::new, |s| settle(s, taken))
    )
}

fn settle(settle: Settle, taken: usize) -> String {
    let again = settle.repeats.map(|all| {
        let more = usize::try_from(all).unwrap_or(taken).saturating_sub(taken);
        let times = if more == 1 {
            "once".to_owned()
        } else {
            format!("{more} times")
        };
        format!("measure it {times} more")
    });
    let finer = settle
        .uncertainty
        .map(|u| format!("use a gauge with u of at most {}", least(u)));
    match (again, finer) {
        (Some(again), Some(finer)) => format!(" If it stays so, to decide: {again}, or {finer}."),
        (Some(one), None) | (None, Some(one)) => format!(" If it stays so, to decide: {one}."),
        (None, None) => " No gauge decides it: it lies on its limit.".to_owned(),
    }
}

/// A small quantity in µm or minutes of arc with one decimal, rounded up: `24.1 µm`.
pub(super) fn small(quantity: Quantity) -> String {
    tenths(quantity, |raw, tenth| {
        raw.div_euclid(tenth) + i64::from(raw.rem_euclid(tenth) != 0)
    })
}

/// The same rounded down, for what may at most be.
fn least(quantity: Quantity) -> String {
    tenths(quantity, i64::div_euclid)
}

fn tenths(quantity: Quantity, round: fn(i64, i64) -> i64) -> String {
    let (tenth, sign) = match quantity {
        Quantity::Length(_) => (100_000, " µm"),
        Quantity::Angle(_) => (6_000, "′"),
    };
    let tenths = round(quantity.raw(), tenth);
    format!("{}.{}{sign}", tenths / 10, tenths % 10)
}
