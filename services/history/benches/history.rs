//! Figures of the history alone: `cargo bench -p history`. An argument that is a number sets how many
//! entries are written (a million unless said otherwise). The build is invented.

#![expect(
    clippy::float_arithmetic,
    reason = "figures for people; no verdict comes from them"
)]

use std::path::Path;
use std::time::{Duration, Instant};

use history::{Reader, Writer, verify};
use shared_types::{
    Characteristic, Decoded, DisplayUnits, Event, Fact, Finding, FirstArticle, GaugeKind,
    GaugeSetup, Length, Limits, Observation, PartPlan, PieceId, Quantity, Reading, Seq, Setup,
    Sheet, Shop, Stage, Tolerance, Unit, Verdict, Via,
};

const ORIGIN: &str = "oddleg/saltmarsh";
const BATCH: u64 = 1000;
const PACED: usize = 200;
const CHARACTERISTICS: u16 = 12;

fn main() {
    let count = std::env::args()
        .find_map(|argument| argument.parse().ok())
        .unwrap_or(1_000_000);
    let dir = tempfile::tempdir().expect("a directory to measure in");
    let opened = clock();
    let mut writer = Writer::open(dir.path(), ORIGIN, drop).expect("a new history");
    println!("open, empty: {:.1} ms", ms(opened.elapsed()));

    let begun = clock();
    write(&mut writer, count);
    let took = begun.elapsed();
    println!(
        "batches of {BATCH}: {} entries in {:.2} s, {} a second",
        count,
        took.as_secs_f64(),
        u128::from(count) * 1_000_000 / took.as_micros().max(1)
    );
    paced(&mut writer, count);
    drop(writer);
    let bytes = std::fs::metadata(dir.path().join("history.db"))
        .expect("the database")
        .len();
    println!("on disk: {bytes} bytes, {} an entry", bytes / count);

    reopen(dir.path());
    let begun = clock();
    let reader = Reader::open(dir.path()).expect("a reader");
    reader.checkpoint().expect("a checkpoint");
    println!("reader, open and checkpoint: {:.1} ms", ms(begun.elapsed()));
    let begun = clock();
    let verified = verify(dir.path(), &[]).expect("an untouched history");
    println!(
        "verify: {:.2} s for {} entries",
        begun.elapsed().as_secs_f64(),
        verified.checkpoint.size
    );
}

fn write(writer: &mut Writer, count: u64) {
    for first in (1..=count).step_by(usize::try_from(BATCH).expect("a small number")) {
        writer.begin().expect("to begin");
        for n in first..(first + BATCH).min(count + 1) {
            let key = format!("mqtt:caliper-1:{n:015}");
            assert!(writer.known(&key).expect("to look").is_none());
            writer.append(&fact(n), Some(&key)).expect("to append");
        }
        writer.commit().expect("to commit");
    }
}

/// Single commits with a pause between, as a person measures.
fn paced(writer: &mut Writer, count: u64) {
    let mut took: Vec<Duration> = (1..)
        .take(PACED)
        .map(|n| {
            std::thread::sleep(Duration::from_millis(5));
            let begun = clock();
            let key = format!("mqtt:caliper-1:{:015}", count + n);
            writer.begin().expect("to begin");
            writer
                .append(&fact(count + n), Some(&key))
                .expect("to append");
            writer.commit().expect("to commit");
            begun.elapsed()
        })
        .collect();
    took.sort();
    println!(
        "paced single commits: p50 {:.3} ms, p99 {:.3} ms",
        ms(took[PACED / 2]),
        ms(took[PACED * 99 / 100])
    );
}

fn reopen(dir: &Path) {
    for run in 1..=3 {
        let (begun, busy) = (clock(), processor_s());
        drop(Writer::open(dir, ORIGIN, drop).expect("the history"));
        let (replayed, replayed_busy) = (begun.elapsed(), processor_s() - busy);
        let (begun, busy) = (clock(), processor_s());
        let mut shop = Shop::default();
        drop(Writer::open(dir, ORIGIN, |entry| shop.apply(&entry)).expect("the history"));
        println!(
            "open, run {run}: {:.2} s ({replayed_busy:.2} s processor) decoded alone, {:.2} s ({:.2} s) folded into the shop of {} pieces",
            replayed.as_secs_f64(),
            begun.elapsed().as_secs_f64(),
            processor_s() - busy,
            shop.pieces.len()
        );
    }
}

/// Processor time of this process so far, all threads: fields 14 and 15 of proc(5)'s stat, in
/// hundredths of a second.
fn processor_s() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields = stat.rsplit(')').next().unwrap_or_default().split(' ');
    let ticks: u32 = fields
        .skip(12)
        .take(2)
        .filter_map(|field| field.parse::<u32>().ok())
        .sum();
    f64::from(ticks) / 100.0
}

fn ms(duration: Duration) -> f64 {
    duration.as_secs_f64() * 1e3
}

#[expect(clippy::disallowed_methods, reason = "a benchmark measures time")]
fn clock() -> Instant {
    Instant::now()
}

/// The first three facts set the shop up; the rest are readings over forty pieces of one part.
fn fact(n: u64) -> Fact {
    let (event, finding) = match n {
        1 => (setup(), Finding::Noted),
        2 => (Event::Adopted(std::sync::Arc::new(plan())), Finding::Noted),
        3 => {
            let (bench, piece) = (name("bench-1"), piece(1));
            let stage = Stage::Formed;
            (
                Event::Laid {
                    bench,
                    piece,
                    stage,
                    reason: None,
                },
                Finding::Noted,
            )
        }
        _ => reading(n),
    };
    let at_us = 1_795_600_000_000_000 + i64::try_from(n).expect("a small number") * 1_000_000;
    Fact {
        at_us,
        event,
        finding,
    }
}

fn reading(n: u64) -> (Event, Finding) {
    let hundredths = 1240 + n % 40;
    let digits = format!("{}.{:02}", hundredths / 100, hundredths % 100);
    let reading = Reading::new(&digits, Unit::Millimetre).expect("a reading");
    let value = reading.value;
    let event = Event::Observed(Observation {
        gauge: name("caliper-1"),
        via: Via::Mqtt,
        raw: format!("+{digits:0>9}mm").into_bytes(),
        decoded: Decoded::Reading(reading),
    });
    let finding = Finding::Judged {
        piece: piece(1 + n / 50 % 40),
        characteristic: name(&format!(
            "formed.height.edge-{}",
            n % u64::from(CHARACTERISTICS)
        )),
        revision: Seq(2),
        value,
        verdict: if n.is_multiple_of(10) {
            Verdict::TooLarge
        } else {
            Verdict::Pass
        },
        into: None,
        fitted: None,
        derived: Vec::new(),
        correction: None,
        grounds: None,
    };
    (event, finding)
}

fn name<T: std::str::FromStr>(text: &str) -> T {
    text.parse().ok().expect("a name")
}

fn piece(number: u64) -> PieceId {
    PieceId::new(name("B2"), u32::try_from(number).expect("a small number")).expect("a piece")
}

fn setup() -> Event {
    Event::Opened {
        version: "0.1.0".into(),
        setup: Setup {
            first_article: FirstArticle::default(),
            build: "Saltmarsh".into(),
            units: DisplayUnits::Mm,
            benches: vec![(name("bench-1"), "By the window".into())],
            gauges: vec![GaugeSetup {
                id: name("caliper-1"),
                title: "Long caliper".into(),
                bench: name("bench-1"),
                kind: Some(GaugeKind::Caliper),
                serial_number: "S 17".into(),
                trust: shared_types::Trust::default(),
            }],
            climate: shared_types::Climate::default(),
            decision: shared_types::Rule::Plain,
        },
    }
}

fn plan() -> PartPlan {
    let mm = |text| Length::parse(text).expect("a length");
    let characteristic = |n| Characteristic {
        id: name(&format!("formed.height.edge-{n}")),
        number: n + 1,
        name: format!("height of flange {n}"),
        stage: Stage::Formed,
        gauge: GaugeKind::Caliper,
        nominal: Quantity::Length(mm("12.7 mm")),
        limits: Limits::new(
            Some(Quantity::Length(mm("12.5 mm"))),
            Some(Quantity::Length(mm("12.9 mm"))),
        )
        .expect("limits"),
        tolerance: Tolerance::General("ISO 2768-1 m".into()),
        rule: "as given".into(),
        how: "outside jaws".into(),
        if_small: "ask".into(),
        if_large: "trim".into(),
        derived: None,
        follows: None,
        decision: None,
    };
    PartPlan {
        part: name("B2"),
        title: "Float bulkhead, bay 2".into(),
        quantity: 40,
        sheet: Sheet {
            alloy: "5052-H32".into(),
            thickness: mm("0.032 in"),
            expansion: None,
        },
        digest: "0f".repeat(32),
        characteristics: (0..CHARACTERISTICS).map(characteristic).collect(),
        views: Vec::new(),
        warnings: Vec::new(),
        mirrored: None,
        fit: None,
        bends: Vec::new(),
    }
}
