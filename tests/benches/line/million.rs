//! Start-up on an empty history and on one of a million entries, and what an entry takes on disk.

use std::time::Instant;

use history::Writer;
use oddleg_tests::daemon::Daemon;
use oddleg_tests::program;
use oddleg_tests::workshop::Workshop;
use shared_types::{
    CharacteristicId, Decoded, Event, Fact, Finding, GaugeId, Observation, PartId, PieceId,
    Reading, Seq, Unit, Verdict, Via,
};

/// Entries of the large history.
const MILLION: u64 = 1_000_000;

pub(crate) fn start() {
    let workshop = Workshop::plate("");
    let program = program::oddleg();
    let begun = Instant::now();
    let daemon = Daemon::start(&program, workshop.path());
    println!(
        "start-up, empty history: {:.0} ms",
        begun.elapsed().as_secs_f64() * 1e3
    );
    assert_eq!(daemon.stop(), Some(0));
    fill(&workshop);
    let bytes: u64 = ["history.db", "history.db-wal"]
        .iter()
        .filter_map(|name| std::fs::metadata(workshop.path().join(name)).ok())
        .map(|data| data.len())
        .sum();
    println!(
        "bytes an entry, key, raw bytes and leaf included: {}",
        bytes / MILLION
    );
    let mut times = Vec::new();
    for _ in 0..super::ROUNDS {
        let begun = Instant::now();
        let daemon = Daemon::start(&program, workshop.path());
        times.push(begun.elapsed().as_secs_f64());
        assert_eq!(daemon.stop(), Some(0));
    }
    let (median, least, most) = super::spread(times);
    println!("start-up, a million entries: {median:.2} s [{least:.2}–{most:.2}]");
}

fn fill(workshop: &Workshop) {
    let mut writer = Writer::open(workshop.path(), "oddleg/bench", |_| ()).unwrap();
    let first = writer.newest().0;
    let begun = Instant::now();
    for batch in 0..MILLION / 1000 {
        writer.begin().unwrap();
        for number in 0..1000 {
            let number = batch * 1000 + number;
            let digits = format!("{}.{:02}", 280 + number % 10, number % 100);
            let reading = Reading::new(&digits, Unit::Millimetre).unwrap();
            let fact = Fact {
                at_us: 1_764_000_000_000_000 + i64::try_from(number).unwrap() * 1000,
                finding: Finding::Judged {
                    piece: PieceId::new(
                        PartId::new("P1").unwrap(),
                        u32::try_from(1 + number % 4).unwrap(),
                    )
                    .unwrap(),
                    characteristic: CharacteristicId::new("blank.width").unwrap(),
                    revision: Seq(2),
                    value: reading.value,
                    verdict: Verdict::TooLarge,
                    into: None,
                    fitted: None,
                    derived: Vec::new(),
                    correction: None,
                    grounds: None,
                },
                event: Event::Observed(Observation {
                    gauge: GaugeId::new("bridge-1").unwrap(),
                    via: Via::Mqtt,
                    raw: format!(
                        "{{\"value\":\"{digits}\",\"unit\":\"mm\",\"id\":\"{number:08}\"}}"
                    )
                    .into_bytes(),
                    decoded: Decoded::Reading(reading),
                }),
            };
            writer
                .append(&fact, Some(&format!("mqtt:bridge-1:{number:016}")))
                .unwrap();
        }
        writer.commit().unwrap();
    }
    let rate = (writer.newest().0 - first) as f64 / begun.elapsed().as_secs_f64();
    println!("history alone, batches of 1000: {rate:.0} entries/s");
}
