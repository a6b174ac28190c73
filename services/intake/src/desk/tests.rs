//! The conservation law of a port: every frame ends as exactly one of reading, suppressed or garbled,
//! and the counts stored say so.

use proptest::prelude::*;
use shared_types::{Decoded, GaugeId, GaugeKind, NoReading, Unit};

use super::Desk;
use crate::frame::{Frame, Framer, Terminator};
use crate::take::{Mode, Settle};
use crate::voice::{Recorded, SerialGauge};
use crate::{Dialect, Form};

fn gauge(name: &str, channel: Option<&str>, form: Form, mode: Mode) -> SerialGauge {
    SerialGauge {
        gauge: GaugeId::new(name).unwrap(),
        dialect: Dialect {
            form,
            channel: channel.map(str::to_owned),
            ..Dialect::line(Unit::Millimetre, '.', Some(GaugeKind::Caliper))
        },
        mode,
    }
}

fn streaming() -> Mode {
    Mode::Stream {
        settle: Settle {
            still_us: 600_000,
            count: 3,
            tremor: 20_000_000,
            move_min: 200_000_000,
            zero: 50_000_000,
        },
        asked: false,
    }
}

fn multiplexer(modes: [Mode; 2]) -> Vec<SerialGauge> {
    let form = Form::Multiplexer { good: "A".into() };
    let [first, second] = modes;
    vec![
        gauge("one", Some("01"), form.clone(), first),
        gauge("two", Some("02"), form, second),
    ]
}

/// Frames by what became of them.
#[derive(Debug, Default, PartialEq, Eq)]
struct Counts {
    readings: u64,
    suppressed: u64,
    garbled: u64,
}

fn counts(recorded: &Recorded) -> Counts {
    let mut counts = Counts::default();
    for (_, observation) in recorded {
        match &observation.decoded {
            Decoded::Reading(_) => counts.readings += 1,
            Decoded::Garbled(_) => counts.garbled += 1,
            Decoded::Flood { count, .. } => counts.garbled += count,
            Decoded::Suppressed(suppressed) => counts.suppressed += suppressed.count,
        }
    }
    counts
}

fn said(recorded: &Recorded) -> Vec<String> {
    recorded
        .iter()
        .map(|(_, o)| {
            let what = match &o.decoded {
                Decoded::Reading(reading) => reading.digits.clone(),
                Decoded::Garbled(why) => format!("{why:?}"),
                Decoded::Flood { why, count } => format!("{count} {why:?}"),
                Decoded::Suppressed(none) => format!("{} {:?}", none.count, none.why),
            };
            format!("{} {what}", o.gauge)
        })
        .collect()
}

#[test]
fn each_line_of_a_multiplexer_goes_to_the_gauge_of_its_channel() {
    let mut desk = Desk::new(multiplexer([Mode::default(); 2]), None, 0);
    let mut out = Recorded::new();
    for line in [
        "02A+00012.34",
        "01A+00005.00",
        "03A+00001.00",
        "02B+00001.00",
        "911",
        "hello",
    ] {
        desk.frame(0, Frame::Whole(line.as_bytes()), &mut out);
    }
    assert_eq!(
        said(&out),
        [
            "two 00012.34",
            "one 00005.00",
            "one Channel",
            "two Device",
            "one Device",
            "one Grammar"
        ]
    );
}

#[test]
fn an_asked_gauge_answers_with_a_reading_an_error_or_not_at_all_and_its_echo_is_none() {
    let name = GaugeId::new("one").unwrap();
    let gauges = || vec![gauge("one", None, Form::Line, Mode::default())];
    let mut desk = Desk::new(gauges(), Some(b"?\r"), 0);
    let mut out = Recorded::new();
    desk.ask(&name, 2_000_000);
    assert_eq!(desk.answer_by_us(), Some(2_000_000));
    desk.frame(10, Frame::Whole(b"?"), &mut out);
    desk.frame(20, Frame::Whole(b"12.34"), &mut out);
    assert_eq!(desk.answer_by_us(), None);
    desk.ask(&name, 4_000_000);
    desk.frame(3_000_000, Frame::Whole(b"ERR1"), &mut out);
    assert_eq!(desk.answer_by_us(), None);
    desk.ask(&name, 6_000_000);
    desk.overdue(5_999_999, &mut out);
    desk.overdue(6_000_000, &mut out);
    desk.overdue(7_000_000, &mut out);
    assert_eq!(
        said(&out),
        ["one 1 Echo", "one 12.34", "one Device", "one NoAnswer"]
    );
}

#[test]
fn what_a_streaming_gauge_stores_is_bounded_by_its_readings_and_by_time() {
    let mut desk = Desk::new(vec![gauge("one", None, Form::Line, streaming())], None, 0);
    let mut out = Recorded::new();
    // Eight hours at ten values a second, the caliper closed but for one measurement.
    let frames = 8 * 3600 * 10_i64;
    for n in 0..frames {
        let value: &[u8] = if (1000..1100).contains(&n) {
            b"12.70"
        } else {
            b"0.00"
        };
        desk.frame(n * 100_000, Frame::Whole(value), &mut out);
    }
    desk.gone(frames * 100_000, &mut out);
    let all = counts(&out);
    assert_eq!(all.readings, 1);
    assert_eq!(
        all.readings + all.suppressed,
        u64::try_from(frames).unwrap()
    );
    // One for each ten minutes, one before the reading, the reading, one at the end.
    assert!(out.len() <= 48 + 3, "{}", out.len());
}

#[test]
fn values_beyond_any_hands_pace_are_counted_and_not_stored_each() {
    let mut desk = Desk::new(
        vec![gauge("one", None, Form::Line, Mode::default())],
        None,
        0,
    );
    let mut out = Recorded::new();
    // A hundred thousand values within a second.
    for n in 0..100_000 {
        desk.frame(n * 10, Frame::Whole(b"12.70"), &mut out);
    }
    desk.quiet(1_400_000, &mut out);
    let all = counts(&out);
    assert_eq!(all.readings + all.suppressed, 100_000);
    assert!(all.readings >= 3000, "{all:?}");
    assert!(out.len() < 3300, "{}", out.len());
    let too_fast = |d: &Decoded| matches!(d, Decoded::Suppressed(s) if s.why == NoReading::TooFast);
    assert!(out.iter().any(|(_, o)| too_fast(&o.decoded)));
}

/// A gauge switched from millimetres to inches in the middle names its unit or jumps: either way one
/// frame is one outcome, and none is taken while the value has not come to rest anew.
#[test]
fn a_stream_that_changes_unit_in_the_middle_settles_anew() {
    let mut desk = Desk::new(vec![gauge("one", None, Form::Line, streaming())], None, 0);
    let mut out = Recorded::new();
    let lines = std::iter::repeat_n("0.00", 5)
        .chain(std::iter::repeat_n("12.70 mm", 10))
        .chain(std::iter::repeat_n("0.500 in", 10))
        .chain(std::iter::repeat_n("90.0 deg", 3));
    for (n, line) in (0_i64..).zip(lines) {
        desk.frame(n * 100_000, Frame::Whole(line.as_bytes()), &mut out);
    }
    desk.gone(10_000_000, &mut out);
    // Half an inch is where it stood already: the same place, so no second reading.
    let readings: Vec<_> = out
        .iter()
        .filter_map(|(_, o)| match &o.decoded {
            Decoded::Reading(reading) => Some(reading.digits.clone()),
            _ => None,
        })
        .collect();
    assert_eq!(readings, ["12.70"]);
    assert_eq!(said(&out).iter().filter(|s| s.ends_with("Unit")).count(), 3);
}

#[derive(Clone, Debug)]
enum Step {
    Line(&'static str),
    Long(usize),
    Wait(i64),
    Ask,
    Quiet,
}

fn step() -> impl Strategy<Value = Step> {
    let lines = vec![
        "01A+00000.00",
        "01A+00012.70",
        "01A+00012.71",
        "01A+00025.60",
        "02A+00012.70",
        "02A+00099.99",
        "02B+00001.00",
        "03A+00001.00",
        "911",
        "ERR2",
        "?",
        "noise",
        "01A+00012.",
        "\u{b0}",
    ];
    prop_oneof![
        12 => prop::sample::select(lines).prop_map(Step::Line),
        1 => (250..600_usize).prop_map(Step::Long),
        6 => (0..700_000_i64).prop_map(Step::Wait),
        1 => Just(Step::Ask),
        1 => Just(Step::Quiet),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn every_frame_ends_as_exactly_one_of_reading_suppressed_or_garbled(
        steps in prop::collection::vec((step(), 1..12_usize), 0..120),
        bounce_us in prop::sample::select(vec![0, 300_000_i64]),
    ) {
        let modes = [streaming(), Mode::Send { interval_min_us: bounce_us }];
        let mut desk = Desk::new(multiplexer(modes), Some(b"?\r"), 0);
        let mut framer = Framer::new(Terminator::CrOrLf);
        framer.quiet();
        let (mut at_us, mut frames, mut out) = (0, 0_u64, Recorded::new());
        let mut unanswered = 0;
        for (step, times) in steps {
            for _ in 0..times {
                at_us += 40_000;
                let bytes = match &step {
                    Step::Line(line) => format!("{line}\r").into_bytes(),
                    Step::Long(length) => [vec![b'7'; *length], vec![b'\r']].concat(),
                    Step::Wait(us) => {
                        at_us += us;
                        continue;
                    }
                    Step::Ask => {
                        desk.ask(&GaugeId::new("one").unwrap(), at_us + 500_000);
                        continue;
                    }
                    Step::Quiet => {
                        desk.quiet(at_us, &mut out);
                        continue;
                    }
                };
                let mut rest = &bytes[..];
                while let Some(frame) = framer.next(&mut rest) {
                    frames += 1;
                    desk.frame(at_us, frame, &mut out);
                }
                unanswered += u64::from(desk.answer_by_us().is_some_and(|by_us| by_us <= at_us));
                desk.overdue(at_us, &mut out);
            }
        }
        if let Some(frame) = framer.close() {
            frames += 1;
            desk.frame(at_us, frame, &mut out);
        }
        unanswered += u64::from(desk.answer_by_us().is_some());
        desk.gone(at_us, &mut out);
        // A question nobody answered is told as one garbled too, though it is no frame.
        let all = counts(&out);
        prop_assert_eq!(all.readings + all.suppressed + all.garbled, frames + unanswered);
    }
}

#[test]
fn what_a_stream_passes_over_allocates_nothing_until_there_is_something_to_record() {
    let mut desk = Desk::new(vec![gauge("one", None, Form::Line, streaming())], None, 0);
    let mut recorded = Recorded::new();
    // The first fills the room in which the last one passed over is kept.
    desk.frame(0, Frame::Whole(b"+100.00 mm"), &mut recorded);
    let moving = allocation_counter::measure(|| {
        for at_us in (100_000..10_000_000).step_by(100_000) {
            let frame: &[u8] = if at_us % 200_000 == 0 {
                b"200.00 mm"
            } else {
                b"90.00 mm"
            };
            desk.frame(at_us, Frame::Whole(frame), &mut recorded);
        }
    });
    assert_eq!((moving.count_total, recorded.len()), (0, 0));
    // The twin: at rest it is a reading, with the count before it, and that does allocate.
    let resting = allocation_counter::measure(|| {
        for at_us in (10_000_000..12_000_000).step_by(100_000) {
            desk.frame(at_us, Frame::Whole(b"50.00 mm"), &mut recorded);
        }
    });
    assert!(resting.count_total > 0);
    assert_eq!(
        said(&recorded).last().map(String::as_str),
        Some("one 50.00")
    );
}
