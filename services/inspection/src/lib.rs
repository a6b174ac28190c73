//! This crate alone knows which characteristic a reading means, and the verdict. The same shop and
//! the same event give the same finding: no clock, no file, and no float outside `uncertainty`, from which whole
//! numbers come out.
//!
//! Matching never guesses. A reading is taken only where exactly one characteristic that is due
//! explains it, far better than any slip known; anything else is held with its explanations, and a person says.

pub mod decision;
pub mod uncertainty;

mod acts;
mod capture;
mod check;
mod correction;
mod derived;
mod disposed;
mod error;
mod fit;
mod grounds;
mod known;
mod matching;
mod study;
mod thermal;
mod told;
mod verdict;
mod weight;
mod zero;

pub use capture::in_capture_band;
pub use correction::at_20;
pub use error::InspectionError;
pub use known::{Beside, beside, budget, instrument};
pub use thermal::thermal;
pub use told::{Row, Told, told};
pub use verdict::judge;

use shared_types::{
    Candidate, Decoded, Event, Finding, HeldReason, Observation, Reading, Refusal, Seq, Shop, Via,
};

use crate::correction::AsRead;
use crate::disposed::Decided;
use crate::matching::{Explanation, Meaning};
use crate::verdict::Taken;

/// What is known of a submission beside its event.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// Nothing speaks against it.
    None,
    /// The bridge used its id before, for other bytes.
    IdReused,
}

/// Concludes what an event that came at `at_us` means in the shop as it is.
///
/// # Errors
/// A person's act that cannot be done is refused with the reason; nothing is to be written for it.
pub fn inspect(shop: &Shop, at_us: i64, event: &Event, doubt: Doubt) -> Result<Finding, Refusal> {
    match event {
        Event::Opened { .. } | Event::Adopted(_) | Event::GaugeSeen { .. } => Ok(Finding::Noted),
        Event::Observed(observation) => Ok(match &observation.decoded {
            Decoded::Garbled(_) | Decoded::Flood { .. } | Decoded::Suppressed(_) => Finding::Noted,
            Decoded::Reading(reading) => observed(shop, at_us, observation, reading, doubt),
        }),
        Event::Operator { bench, name } => acts::operator(shop, bench, name),
        Event::Laid {
            bench,
            piece,
            stage,
            reason,
        } => acts::laid(shop, bench, piece, *stage, reason.as_deref()),
        Event::Withdrawn(_) => Ok(Finding::Noted),
        Event::Mated { bench, piece, mate } => fit::mated(shop, bench, piece, mate),
        Event::Picked {
            bench,
            characteristic,
        } => acts::picked(shop, bench, characteristic),
        Event::Assigned {
            bench,
            reading,
            characteristic,
            unit,
            form,
        } => acts::assigned(shop, bench, *reading, characteristic, (*unit, *form)),
        Event::Dismissed {
            bench,
            reading,
            reason,
        } => acts::dismissed(shop, bench, *reading, reason),
        Event::CheckBegun {
            bench,
            gauge,
            reference,
        } => check::begun(shop, bench, gauge, reference),
        Event::CheckLeft { bench, gauge } => check::left(shop, bench, gauge),
        Event::Disposed {
            bench,
            piece,
            characteristic,
            reading,
            disposition,
            by,
            reason,
        } => {
            let decided = Decided {
                characteristic: characteristic.as_ref(),
                reading: *reading,
                disposition: *disposition,
                by,
                reason,
            };
            disposed::disposed(shop, bench, piece, &decided)
        }
        Event::Temperature { bench, .. } => acts::temperature(shop, bench),
        Event::Study { bench, gauge, act } => study::act(shop, bench, gauge, act),
        Event::Voided {
            bench,
            reading,
            reason,
        } => acts::voided(shop, bench, *reading, reason),
    }
}

fn observed(
    shop: &Shop,
    at_us: i64,
    observation: &Observation,
    reading: &Reading,
    doubt: Doubt,
) -> Finding {
    // A doubtful reading is no check and of no study either: it waits.
    let sure = doubt == Doubt::None && observation.via != Via::MqttAgain;
    if sure && let Some(checked) = check::checked(shop, &observation.gauge, reading) {
        return checked;
    }
    if sure && let Some(studied) = study::studied(shop, &observation.gauge, reading) {
        return studied;
    }
    let Explanation { on_bench, meaning } = matching::explain(shop, &observation.gauge, reading);
    let doubt = match (doubt, observation.via) {
        (Doubt::IdReused, _) => Some(HeldReason::IdReused),
        (Doubt::None, Via::MqttAgain) => Some(HeldReason::PerhapsRepeat),
        (Doubt::None, Via::Serial | Via::Mqtt | Via::Typed) => None,
    };
    match (meaning, doubt) {
        (Meaning::Of(characteristic), None) => {
            let bench = shop.bench_of(&observation.gauge);
            let judged = on_bench.zip(bench).and_then(|((piece, _), bench)| {
                // Matched as read: what a correction moves it by is far less than any two dimensions lie apart.
                let as_read = AsRead {
                    value: reading.value,
                    at_us,
                    gauge: &observation.gauge,
                    temperatures: &shop.benches.get(bench)?.temperatures,
                };
                let (value, correction) = as_read.at_20(shop, &piece);
                let taken = Taken {
                    piece: &piece,
                    correction,
                    felt: (as_read.temperatures, at_us),
                    mate: shop.mate(&piece),
                    // The next entry is this reading's.
                    reading: Seq(shop.seq.0 + 1),
                    value,
                    gauge: Some(&observation.gauge),
                };
                taken.of(shop, &characteristic)
            });
            let judged =
                judged.expect("matching takes only a characteristic of the piece on the bench");
            not_zeroed(shop, observation, reading, &judged).unwrap_or(judged)
        }
        // A doubtful reading waits even where it fits, with what it would have been as its explanation.
        (Meaning::Of(characteristic), Some(reason)) => Finding::Held {
            reason,
            on_bench,
            candidates: vec![Candidate {
                characteristic,
                unit: reading.unit,
                form: None,
            }],
            offset: None,
        },
        (Meaning::Unclear(reason, candidates), doubt) => Finding::Held {
            reason: doubt.unwrap_or(reason),
            on_bench,
            candidates,
            offset: None,
        },
    }
}

/// A reading out of its limits waits where its gauge seems not to be at nought.
fn not_zeroed(
    shop: &Shop,
    observation: &Observation,
    reading: &Reading,
    judged: &Finding,
) -> Option<Finding> {
    let Finding::Judged {
        piece,
        characteristic,
        value,
        ..
    } = judged
    else {
        return None;
    };
    let gauge = &observation.gauge;
    let offset = zero::same_offset(shop, gauge, piece, characteristic, *value)?;
    let bench = shop.benches.get(shop.bench_of(gauge)?)?;
    Some(Finding::Held {
        reason: HeldReason::NotZeroed,
        on_bench: bench.on_bench.clone(),
        candidates: vec![Candidate {
            characteristic: characteristic.clone(),
            unit: reading.unit,
            form: None,
        }],
        offset: Some(offset),
    })
}
