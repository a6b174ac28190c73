//! What exact sums promise: where readings lie, and in which order they come, changes nothing to the last digit.

use proptest::prelude::*;
use shared_types::{Angle, Length, Quantity};
use trends::study::{Interaction, Readings, by_variance};
use trends::{Summary, TrendsError, autocorrelation, grains, one_way, quantity};

/// Readings of a shop: within a metre, by the picometre.
fn readings() -> impl Strategy<Value = Vec<i64>> {
    prop::collection::vec(-1_000_000_000_000_i64..1_000_000_000_000, 2..40)
}

proptest! {
    #[test]
    fn a_summary_does_not_depend_on_order_and_its_scatter_not_on_height(
        (readings, shuffled) in readings().prop_flat_map(|x| (Just(x.clone()), Just(x).prop_shuffle())),
        height in -1_000_000_000_000_000_i64..1_000_000_000_000_000,
    ) {
        let summary = Summary::of(&readings).unwrap();
        prop_assert_eq!(summary, Summary::of(&shuffled).unwrap());
        let moved: Vec<i64> = readings.iter().map(|x| x + height).collect();
        let high = Summary::of(&moved).unwrap();
        prop_assert_eq!(high.sd, summary.sd);
        prop_assert!((high.mean - (summary.mean + height as f64)).abs() <= 0.25, "{} {}", high.mean, summary.mean);
        prop_assert_eq!(autocorrelation(&moved), autocorrelation(&readings));
    }

    #[test]
    fn squares_between_and_within_uneven_groups_are_all_there_are(
        groups in prop::collection::vec(readings(), 2..6),
        height in -1_000_000_000_000_000_i64..1_000_000_000_000_000,
    ) {
        let table = |height: i64| {
            let moved: Vec<Vec<i64>> =
                groups.iter().map(|group| group.iter().map(|x| x + height).collect()).collect();
            let slices: Vec<&[i64]> = moved.iter().map(Vec::as_slice).collect();
            one_way(&slices)
        };
        let found = table(0).unwrap();
        let all = Summary::of(&groups.concat()).unwrap();
        let total = all.sd.unwrap().powi(2) * (all.n - 1) as f64;
        prop_assert!(((found.between + found.within) / total - 1.0).abs() < 1e-14);
        prop_assert_eq!(table(height).unwrap().within, found.within);
        prop_assert!((table(height).unwrap().between / found.between - 1.0).abs() < 1e-14);
    }

    #[test]
    fn a_gauge_study_does_not_depend_on_the_size_of_the_pieces(
        flat in prop::collection::vec(-1_000_000_i64..1_000_000, 3 * 4 * 2),
        height in -1_000_000_000_000_000_i64..1_000_000_000_000_000,
    ) {
        let study = |height: i64| {
            let cells = flat
                .chunks(8)
                .map(|pieces| pieces.chunks(2).map(|cell| cell.iter().map(|x| x + height).collect()).collect())
                .collect();
            by_variance(&Readings::new(cells).unwrap(), Interaction::Kept)
        };
        prop_assert_eq!(study(height), study(0));
    }
}

#[test]
fn a_hundred_thousand_readings_at_the_ends_of_the_range_have_an_exact_scatter() {
    // Half at −1 km and half at 1 km: Σ (x − mean)² = n × 10^30, s = 10^15 √(n/(n − 1)).
    let n = 100_000_usize;
    let readings: Vec<i64> = (0..n)
        .map(|at| if at % 2 == 0 { 1 } else { -1 } * shared_types::LENGTH_MAX_PM)
        .collect();
    let summary = Summary::of(&readings).unwrap();
    assert_eq!(summary.mean, 0.0);
    let right = 1e15 * (n as f64 / (n - 1) as f64).sqrt();
    assert!(crate::digits(summary.sd.unwrap(), right) > 15.0 - 1e-9);
    // A bare number beyond any quantity is refused before a sum could wrap.
    let wild = vec![i64::MAX, i64::MIN, i64::MAX, i64::MIN];
    assert!(matches!(
        Summary::of(&wild),
        Err(TrendsError::TooSpread { .. })
    ));
}

#[test]
fn lengths_and_angles_are_never_mixed() {
    let length = Quantity::Length(Length::from_pm(7).unwrap());
    let angle = Quantity::Angle(Angle::from_mas(7).unwrap());
    assert_eq!(grains(&[length, length]), Ok(vec![7, 7]));
    assert_eq!(
        grains(&[length, angle]).unwrap_err().to_string(),
        "computing a statistic: found a length and an angle, expected one kind"
    );
    assert_eq!(quantity(6.5, angle), angle.with_raw(6));
    assert_eq!(quantity(-7.5, length), length.with_raw(-8));
    assert_eq!(
        (quantity(1e16, length), quantity(f64::NAN, length)),
        (None, None)
    );
}
