//! Days with the demo's gauges, read as a port would read them: what a hand does, and which values become readings.
#![allow(missing_docs, clippy::unwrap_used)]

use intake::serial::{LineShape, Played, SerialGauge, SerialPort};
use intake::{Dialect, Mode, Settle, Silence, Terminator};
use oddleg::demo::model::{Caliper, Does, Habits, Step, bounces};
use proptest::prelude::*;
use shared_types::{Decoded, GaugeId, Length, NoReading, Quantity, Unit};

/// In hundredths of a millimetre; one of them twice in a row, as after rework.
const SIZES: [i64; 6] = [1_270, 28_600, 28_600, 953, 1_432, 635];
/// Of 40 held values at least seven in a row are whole where one in this many is not: 0.6 s at ten a second.
const LOSSES_APART_MIN: usize = 9;

const STREAM: Mode = Mode::Stream {
    settle: Settle {
        still_us: 600_000,
        count: 3,
        tremor: 20_000_000,
        move_min: 200_000_000,
        zero: 50_000_000,
    },
    asked: false,
};

fn port(mode: Mode) -> Played {
    let gauge = SerialGauge {
        gauge: GaugeId::new("caliper-3").unwrap(),
        dialect: Dialect::line(Unit::Millimetre, '.', None),
        mode,
    };
    let port = SerialPort {
        path: "caliper-3".into(),
        baud: 9600,
        line: LineShape::default(),
        terminator: Terminator::default(),
        gauges: vec![gauge],
        request: None,
        answer_max_us: 2_000_000,
        silence: Silence::default(),
    };
    let mut port = Played::open(port, 0);
    assert!(port.hear(0, b"\r").is_empty());
    port
}

/// What becomes of the steps, frame counts and all.
fn became(mode: Mode, steps: &[Step]) -> Vec<Decoded> {
    let (mut port, mut at_us, mut out) = (port(mode), 0, Vec::new());
    for step in steps {
        at_us += i64::try_from(step.after_ms).unwrap() * 1_000;
        if let Does::Say(bytes) = &step.does {
            out.extend(port.hear(at_us, bytes));
        }
    }
    out.extend(port.gone(at_us));
    out.into_iter().map(|(_, seen)| seen.decoded).collect()
}

/// The size a reading is of: one hundredth of the hand's tremor beside it, and two of the tremor that is taken for
/// standing still, in which a lost last digit can hide (`14.32` as `14.3`).
fn size(decoded: &Decoded) -> Option<i64> {
    let Decoded::Reading(reading) = decoded else {
        return None;
    };
    let near = |size: &i64| {
        let size = Quantity::Length(Length::from_pm(*size * 10_000_000).unwrap());
        size.raw().abs_diff(reading.value.raw()) <= 30_000_000
    };
    Some(SIZES.into_iter().find(near).unwrap_or(-1))
}

proptest! {
    /// A byte lost now and then costs no reading and makes none, whichever byte it is: a value that lost a digit
    /// is away for one frame and back.
    #[test]
    fn a_day_with_a_bad_cable_gives_one_reading_a_measurement(
        seed: u64,
        gaps in prop::collection::vec((LOSSES_APART_MIN..60, any::<prop::sample::Index>()), 0..60),
    ) {
        let mut caliper = Caliper::new(Habits::default(), seed);
        let mut steps = Vec::new();
        for size in SIZES {
            steps.extend(caliper.closes_on(size));
            steps.extend(caliper.holds(40));
        }
        let mut at = 0;
        for (gap, lost) in gaps {
            at += gap;
            if let Some(Step { does: Does::Say(line), .. }) = steps.get_mut(at) {
                // The end of the line stays: without it two lines would be one.
                let lost = lost.index(line.len() - 1);
                line.remove(lost);
            }
        }
        let became = became(STREAM, &steps);
        let sizes: Vec<i64> = became.iter().filter_map(size).collect();
        prop_assert_eq!(sizes, SIZES);
        let frames: u64 = became
            .iter()
            .map(|decoded| match decoded {
                Decoded::Flood { count, .. } => *count,
                Decoded::Suppressed(passed) => passed.count,
                Decoded::Reading(_) | Decoded::Garbled(_) => 1,
            })
            .sum();
        prop_assert_eq!(frames, caliper.said());
    }
}

#[test]
fn a_bouncing_button_is_one_reading_where_an_interval_is_set_and_two_where_none_is() {
    for (interval_min_us, apart_ms, readings, bounced) in [
        (300_000, 40, 1, 1),
        (300_000, 299, 1, 1),
        // Nobody's contact bounces for so long: a person pressed again.
        (300_000, 300, 2, 0),
        (0, 40, 2, 0),
    ] {
        let steps = bounces(b"+12.70 mm\r", apart_ms);
        assert_eq!(steps[0].does, steps[1].does, "the same line twice");
        assert_eq!(steps[1].after_ms, apart_ms);
        let became = became(Mode::Send { interval_min_us }, &steps);
        let sizes = became.iter().filter_map(size).collect::<Vec<_>>();
        assert_eq!(sizes, vec![1_270; readings], "{interval_min_us} {apart_ms}");
        let passed: u64 = became
            .iter()
            .filter_map(|decoded| match decoded {
                Decoded::Suppressed(passed) => Some((passed.why, passed.count)),
                _ => None,
            })
            .map(|(why, count)| {
                assert_eq!(why, NoReading::Bounce);
                count
            })
            .sum();
        assert_eq!(passed, bounced, "{interval_min_us} {apart_ms}");
    }
}
