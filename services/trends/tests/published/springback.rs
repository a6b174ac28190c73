//! The learned springback: what it is without readings, with many, and in any order.

use proptest::prelude::*;
use shared_types::Angle;
use trends::springback::{Formed, Prior, Scatter, learn};

use crate::near;

const DEGREE: i64 = 3_600_000;

fn mas(mas: i64) -> Angle {
    Angle::from_mas(mas).unwrap()
}

fn prior(scatter: Scatter) -> Prior {
    Prior {
        tool: mas(93 * DEGREE),
        back: mas(3 * DEGREE),
        doubt: mas(3 * DEGREE / 2),
        scatter,
    }
}

fn known() -> Prior {
    prior(Scatter::Known(mas(DEGREE / 2)))
}

fn guessed() -> Prior {
    prior(Scatter::Guessed {
        sd: mas(DEGREE / 2),
        worth: 4,
    })
}

#[test]
fn without_readings_it_is_the_prediction() {
    for prior in [known(), guessed()] {
        let learned = learn(&prior, &[]).unwrap();
        near(learned.ratio * 93.0, 3.0, 1e-12);
        near(learned.ratio_sd * 93.0, 1.5, 1e-12);
        let next = learned.next_block(mas(90 * DEGREE), 0.95).unwrap();
        assert_eq!((next.bevel, next.n), (mas(3 * DEGREE), 0));
        assert!(next.least < next.bevel && next.bevel < next.most);
    }
}

#[test]
fn three_bends_by_hand() {
    // Tool 93°, formed 88.0°, 88.4°, 88.2°: springback 5.0, 4.6, 4.8, mean 4.8. Doubt 1.5°, scatter 0.5°: the
    // prediction weighs as (0.5/1.5)² = 1/9 of a bend. (3/9 + 3 × 4.8)/(1/9 + 3) = 4.735714…
    let bends = [880, 884, 882].map(|tenth| Formed {
        tool: mas(93 * DEGREE),
        bend: mas(tenth * DEGREE / 10),
    });
    let learned = learn(&known(), &bends).unwrap();
    near(learned.ratio * 93.0, 4.735_714_285_714, 1e-11);
    near(
        learned.ratio_sd * 93.0,
        0.5 / (28.0_f64 / 9.0).sqrt(),
        1e-12,
    );
    assert_eq!((learned.n, learned.freedom), (3, f64::INFINITY));
    // The same with the scatter guessed at 0.5° for 4: about the mean 0.04 + 0.04 = 0.08, the mean off the prediction
    // (1/9 × 3)/(28/9) × 1.8² = 0.347142857; (4 × 0.25 + 0.08 + 0.347142857)/7 = 0.203877551.
    let learned = learn(&guessed(), &bends).unwrap();
    near(learned.ratio * 93.0, 4.735_714_285_714, 1e-11);
    near(
        (learned.scatter_mas / DEGREE as f64).powi(2),
        0.203_877_551,
        1e-9,
    );
    near(learned.freedom, 7.0, 0.0);
    // The next block for 90°: 90 × β/(1 − β), with β = 4.735714/93.
    let next = learned.next_block(mas(90 * DEGREE), 0.95).unwrap();
    let beta = 4.735_714_285_714 / 93.0;
    near(
        next.bevel.mas() as f64,
        90.0 * beta / (1.0 - beta) * DEGREE as f64,
        180.0,
    );
    assert_eq!(next.bevel.mas() % 360, 0);
}

#[test]
fn a_bend_of_another_angle_teaches_in_proportion() {
    // Springback of a twentieth of the tool angle, whatever the angle.
    let bends: Vec<_> = [40, 60, 93, 120]
        .map(|tool| Formed {
            tool: mas(tool * DEGREE),
            bend: mas(tool * DEGREE / 20 * 19),
        })
        .repeat(50);
    let learned = learn(&guessed(), &bends).unwrap();
    near(learned.ratio, 0.05, 1e-4);
}

#[test]
fn an_angle_that_turns_nothing_is_refused() {
    let bend = Formed {
        tool: mas(0),
        bend: mas(0),
    };
    assert!(learn(&known(), &[bend]).is_err());
    assert!(
        learn(
            &Prior {
                doubt: mas(0),
                ..known()
            },
            &[]
        )
        .is_err()
    );
    assert!(
        learn(
            &prior(Scatter::Guessed {
                sd: mas(1),
                worth: 0
            }),
            &[]
        )
        .is_err()
    );
}

proptest! {
    #[test]
    fn with_many_readings_it_is_their_mean(backs in prop::collection::vec(DEGREE..9 * DEGREE, 1..20)) {
        let bends: Vec<_> = backs
            .iter()
            .map(|back| Formed { tool: mas(93 * DEGREE), bend: mas(93 * DEGREE - back) })
            .collect();
        let mean = backs.iter().sum::<i64>() as f64 / backs.len() as f64;
        for prior in [known(), guessed()] {
            let off = |times: usize| {
                let learned = learn(&prior, &bends.repeat(times)).unwrap();
                (learned.ratio * 93.0 * DEGREE as f64 - mean).abs()
            };
            // Between prediction and mean, nearer with each doubling, and there in the end.
            prop_assert!(off(2) <= off(1) + 1e-3);
            prop_assert!(off(2000) <= 6.0 * DEGREE as f64 / 9.0 / 2000.0 + 1e-3);
        }
    }

    #[test]
    fn the_order_of_the_readings_does_not_matter(
        (bends, shuffled) in prop::collection::vec((30 * DEGREE..150 * DEGREE, -DEGREE..9 * DEGREE), 0..30)
            .prop_flat_map(|bends| (Just(bends.clone()), Just(bends).prop_shuffle()))
    ) {
        let formed = |bends: &[(i64, i64)]| -> Vec<Formed> {
            bends.iter().map(|(tool, back)| Formed { tool: mas(*tool), bend: mas(tool - back) }).collect()
        };
        for prior in [known(), guessed()] {
            prop_assert_eq!(learn(&prior, &formed(&bends)), learn(&prior, &formed(&shuffled)));
        }
    }
}
