//! Capability and tolerance intervals.

use shared_types::{Length, Limits, Quantity};
use trends::{
    Summary, TrendsError, Within, capability, howe_factor, one_sided_factor, ratio_interval,
    tolerance_interval, two_sided_factor,
};

use crate::near;

fn limits(lower: Option<i64>, upper: Option<i64>) -> Limits {
    let quantity = |pm: i64| Quantity::Length(Length::from_pm(pm).unwrap());
    Limits::new(lower.map(quantity), upper.map(quantity)).unwrap()
}

fn summary(n: usize, mean: f64, sd: f64) -> Summary {
    Summary {
        n,
        mean,
        sd: Some(sd),
        least: 0,
        most: 0,
    }
}

#[test]
fn the_process_of_the_handbook_6_1_6() {
    // USL 20, LSL 8, mean 16, s 2: Cp 1.0, Cpk 0.6667, Cpu 0.6667, Cpl 1.3333.
    let within = Within {
        sigma: 2.0,
        freedom: 49.0,
    };
    let found = capability(
        &summary(50, 16.0, 2.0),
        &limits(Some(8), Some(20)),
        &within,
        0.95,
    )
    .unwrap();
    near(found.cp.unwrap().value, 1.0, 1e-12);
    near(found.cpk.value, 0.666_7, 0.000_05);
    near(found.cpu.unwrap(), 0.666_7, 0.000_05);
    near(found.cpl.unwrap(), 1.333_3, 0.000_05);
    assert_eq!(found.pp, found.cp);
    assert_eq!(found.ppk, found.cpk);
}

#[test]
fn the_interval_of_montgomery() {
    // USL 62, LSL 38, s 1.75, n 20: Cp 2.2857, 95 % interval 1.565 to 3.006 (the book's χ² has four digits).
    let within = Within {
        sigma: 1.75,
        freedom: 19.0,
    };
    let found = capability(
        &summary(20, 50.0, 1.75),
        &limits(Some(38), Some(62)),
        &within,
        0.95,
    )
    .unwrap();
    let cp = found.cp.unwrap();
    near(cp.value, 2.285_7, 0.000_05);
    near(cp.lower, 1.565, 0.005);
    near(cp.upper, 3.006, 0.005);
    near(ratio_interval(1.0, 1e6, 0.95).lower, 1.0, 0.002);
}

#[test]
fn with_one_limit_there_is_no_width_and_the_index_is_that_of_the_limit() {
    let within = Within {
        sigma: 1.0,
        freedom: 24.0,
    };
    let found = capability(
        &summary(25, 10.0, 1.0),
        &limits(Some(4), None),
        &within,
        0.9,
    )
    .unwrap();
    assert_eq!((found.cp, found.pp, found.cpu), (None, None, None));
    near(found.cpk.value, 2.0, 1e-12);
    // Bissell: 2 ± 1.6449 √(1/225 + 4/48)
    near(
        found.cpk.lower,
        2.0 - 1.644_854 * (1.0 / 225.0 + 4.0 / 48.0_f64).sqrt(),
        1e-6,
    );
    // A mean beyond its limit is a negative index.
    let out = capability(
        &summary(25, 10.0, 1.0),
        &limits(None, Some(7)),
        &within,
        0.9,
    )
    .unwrap();
    near(out.cpk.value, -1.0, 1e-12);
}

#[test]
fn too_few_readings_are_said_aloud() {
    let within = Within {
        sigma: 1.0,
        freedom: 4.0,
    };
    let words = |n: usize| {
        let found = capability(
            &summary(n, 10.0, 1.0),
            &limits(Some(6), Some(14)),
            &within,
            0.95,
        );
        found.unwrap().enough.to_string()
    };
    // 4/3 ± 1.95996 √(1/45 + (4/3)²/8) = 1.3333 ± 0.9688
    assert_eq!(
        words(5),
        "5 readings are too few to mean anything: Ppk may be anything from 0.36 to 2.30 (95 % confidence)"
    );
    assert!(words(10).starts_with("10 readings are few, take this as a hint: "));
    assert!(words(30).starts_with("30 readings are fair, mind the interval: "));
    assert!(words(100).starts_with("100 readings are enough to go by: "));
    assert!(matches!(
        capability(
            &summary(5, 10.0, 0.0),
            &limits(Some(6), None),
            &within,
            0.95
        ),
        Err(TrendsError::NoScatter { .. })
    ));
}

#[test]
fn what_a_mean_range_is_worth_in_degrees_of_freedom() {
    // One step between two readings is nearly an ordinary deviation of two readings; long runs of overlapping
    // steps are worth 0.605 a step (0.5/0.8264).
    near(Within::from_moving_ranges(1.0, 2).freedom, 0.876, 0.001);
    near(
        Within::from_moving_ranges(1.0, 100_001).freedom / 100_000.0,
        0.605,
        0.000_5,
    );
    // Twenty ranges of five: P. B. Patnaik's table gives 72.7 for its own matching (from memory); matching the
    // coefficient of variation alone gives 72.5.
    near(Within::from_ranges(1.0, 20, 5).unwrap().freedom, 72.5, 0.1);
    assert_eq!(Within::from_ranges(1.0, 20, 26), None);
    // Deviations lose little against the pooled 80.
    let freedom = Within::from_deviations(1.0, 20, 5).freedom;
    assert!((72.5..80.0).contains(&freedom), "{freedom}");
}

#[test]
fn the_tolerance_interval_of_the_handbook_7_2_6_3() {
    // N 43, mean 97.07, s 0.0268, p 0.90, confidence 0.99: k2 2.2173 by Howe, 97.0106 to 97.1294.
    let howe = howe_factor(43, 0.90, 0.99).unwrap();
    near(howe, 2.217_315_9, 0.000_000_05);
    near(97.07 - howe * 0.0268, 97.010_576, 0.000_000_5);
    near(97.07 + howe * 0.0268, 97.129_424, 0.000_000_5);
    // Howe's factor for many readings is the normal quantile.
    near(howe_factor(10_000_000, 0.95, 0.5).unwrap(), 1.959_964, 1e-5);
    // The exact factor is a little larger.
    let found = tolerance_interval(&summary(43, 97.07, 0.0268), 0.90, 0.99).unwrap();
    near(found.factor, 2.222_8, 0.000_05);
    near(
        found.upper - found.lower,
        2.0 * found.factor * 0.0268,
        1e-12,
    );
}

#[test]
fn two_sided_factors_are_exact() {
    // Integrated with scipy 1.17.1 (brentq, chi2.sf on 801 places of the mean); the first is 8.306 in ISO 16269-6 (from
    // memory).
    let table = [
        (3, 0.9, 0.95, 8.3059),
        (3, 0.99, 0.99, 28.5857),
        (5, 0.95, 0.95, 5.0769),
        (10, 0.9, 0.95, 2.8563),
        (20, 0.99, 0.95, 3.6210),
        (43, 0.9, 0.99, 2.2228),
        (100, 0.95, 0.95, 2.2339),
    ];
    for (n, coverage, confidence, k2) in table {
        near(
            two_sided_factor(n, coverage, confidence).unwrap(),
            k2,
            0.000_051,
        );
    }
}

#[test]
fn one_sided_factors_are_those_of_the_noncentral_t() {
    // scipy 1.17.1: nct.ppf(confidence, n − 1, z √n)/√n. The first is 20.581 in Natrella, table A-7 (from memory).
    let table = [
        (2, 0.9, 0.95, 20.581_467_624_244_947),
        (3, 0.95, 0.95, 7.655_900_133_153_338),
        (5, 0.9, 0.95, 3.406_633_262_800_808),
        (20, 0.99, 0.95, 3.295_156_936_170_854_8),
        (43, 0.9, 0.99, 1.873_953_605_851_198_7),
        (100, 0.95, 0.9, 1.861_251_648_896_646),
        (1000, 0.9, 0.95, 1.353_817_471_225_262_4),
        (5, 0.9, 0.05, 0.518_779_791_408_520_6),
    ];
    for (n, coverage, confidence, k1) in table {
        near(
            one_sided_factor(n, coverage, confidence).unwrap(),
            k1,
            1e-8 * k1,
        );
    }
    assert!(one_sided_factor(1, 0.9, 0.95).is_err());
    assert!(one_sided_factor(5, 1.0, 0.95).is_err());
}
