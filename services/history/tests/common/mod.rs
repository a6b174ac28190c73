//! Facts of the invented Saltmarsh build, and a history made of them.

#![allow(dead_code, reason = "each test file uses its own part")]

use std::path::Path;

use history::{Checkpoint, Writer};
use shared_types::{
    Decoded, Event, Fact, Finding, Observation, PieceId, Reading, Seq, Unit, Verdict, Via,
};

pub(crate) const ORIGIN: &str = "oddleg/saltmarsh";

/// The n-th reading of a left flange.
pub(crate) fn reading(n: u64) -> Fact {
    let hundredths = 1250 + n % 40;
    let digits = format!("{}.{:02}", hundredths / 100, hundredths % 100);
    let reading = Reading::new(&digits, Unit::Millimetre).unwrap();
    let value = reading.value;
    Fact {
        at_us: 1_795_600_000_000_000 + i64::try_from(n).unwrap() * 1_500_000,
        event: Event::Observed(Observation {
            gauge: "caliper-1".parse().unwrap(),
            via: Via::Mqtt,
            raw: format!("+{digits:0>9}mm").into_bytes(),
            decoded: Decoded::Reading(reading),
        }),
        finding: Finding::Judged {
            piece: PieceId::new("B2".parse().unwrap(), 1 + u32::try_from(n % 4).unwrap()).unwrap(),
            characteristic: "formed.height.left".parse().unwrap(),
            revision: Seq(2),
            value,
            verdict: if n % 40 < 35 {
                Verdict::Pass
            } else {
                Verdict::TooLarge
            },
            into: None,
            fitted: None,
            derived: Vec::new(),
            correction: None,
            grounds: None,
        },
    }
}

pub(crate) fn key(n: u64) -> String {
    format!("mqtt:caliper-1:{n:015}")
}

/// Appends readings `from + 1` to `to` in one batch.
pub(crate) fn fill(writer: &mut Writer, from: u64, to: u64) {
    writer.begin().unwrap();
    for n in from + 1..=to {
        let seq = writer.append(&reading(n), Some(&key(n))).unwrap();
        assert_eq!(seq, Seq(n));
    }
    assert_eq!(writer.commit().unwrap(), Seq(to));
}

/// A closed history of `count` readings, and its checkpoint as if kept elsewhere.
pub(crate) fn build(dir: &Path, count: u64) -> Checkpoint {
    let mut writer = Writer::open(dir, ORIGIN, drop).unwrap();
    fill(&mut writer, 0, count);
    writer.checkpoint()
}
