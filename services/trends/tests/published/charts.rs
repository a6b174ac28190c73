//! Charts against the NIST/SEMATECH e-Handbook, constants against published tables.

use trends::TrendsError;
use trends::charts::{
    Baseline, Spread, c4, ewma, individuals, individuals_against, range_constants, subgroups,
    subgroups_against,
};
use trends::distribution::{Distribution, Normal};

use crate::{data, near};

#[test]
fn individuals_of_the_handbook_6_3_2_2() {
    let chart = individuals(&data::column("individuals_6_3_2_2.csv", 1, 1)).unwrap();
    // In tenths. Limits 55.8041 and 45.8159 with d2 = 1.128: the exact d2 moves them by 0.0017.
    near(chart.readings.centre / 10.0, 50.81, 1e-12);
    near(chart.moving_ranges.centre / 10.0, 1.8778, 0.000_05);
    let width = 3.0 * 1.877_777_777_8 / 1.128;
    near(50.81 + width, 55.804_1, 0.000_1);
    near(50.81 - width, 45.815_9, 0.000_1);
    near(chart.readings.upper / 10.0, 55.804_1, 0.002);
    near(chart.readings.lower / 10.0, 45.815_9, 0.002);
    assert_eq!(chart.readings.outside().count(), 0);
    assert_eq!(chart.moving_ranges.points.len(), 9);
}

#[test]
fn weighted_averages_of_the_handbook_6_3_2_4() {
    let readings = data::column("ewma_6_3_2_4.csv", 1, 1);
    // Target 50, s 2.0539, λ 0.3: limits 52.5884 and 47.4115.
    let baseline = Baseline {
        centre: 500.0,
        sigma: 20.539,
        readings: 100,
    };
    let chart = ewma(&readings, &baseline, 0.3).unwrap();
    near(chart.chart.upper / 10.0, 52.588_4, 0.000_1);
    near(chart.chart.lower / 10.0, 47.411_5, 0.000_1);
    let averages = data::text("ewma_6_3_2_4.csv");
    let averages: Vec<f64> = averages
        .lines()
        .skip(2)
        .map(|line| line.rsplit(',').next().unwrap().parse().unwrap())
        .collect();
    assert_eq!(averages.len(), chart.chart.points.len());
    for (found, right) in chart.chart.points.iter().zip(averages) {
        near(found / 10.0, right, 1e-9);
    }
    // At the first point the average is the target and 0.3 of one reading: its limits are 3 × 0.3 s.
    near(chart.limits[0].1 / 10.0, 50.0 + 3.0 * 0.3 * 2.053_9, 1e-9);
    near(chart.limits[19].1, chart.chart.upper, 0.1);
    assert_eq!(chart.outside().count(), 0);
    assert!(ewma(&readings, &baseline, 0.0).is_err());
}

#[test]
fn means_and_ranges_of_silicon_wafers() {
    // CCXBAR.DAT of the handbook: grand mean 23.726, R-bar 2.05, limits 22.543 15 and 24.908 85 with the
    // printed A2 = 0.577; A2 to five places gives 0.576 82.
    let groups = data::ccxbar();
    assert_eq!((groups.len(), groups[19].len()), (20, 5));
    let groups: Vec<&[i64]> = groups.iter().map(Vec::as_slice).collect();
    let chart = subgroups(&groups, Spread::Range).unwrap();
    near(chart.means.centre / 10.0, 23.726, 1e-9);
    near(chart.spreads.centre / 10.0, 2.05, 1e-9);
    near(chart.means.lower / 10.0, 22.543_15, 0.000_5);
    near(chart.means.upper / 10.0, 24.908_85, 0.000_5);
    // S in place of R looks at the same scatter.
    let by_deviation = subgroups(&groups, Spread::Deviation).unwrap();
    near(
        by_deviation.baseline.sigma / chart.baseline.sigma,
        1.0,
        0.05,
    );
    near(by_deviation.means.centre, chart.means.centre, 1e-9);
    // Its own readings against its own baseline are the same chart.
    assert_eq!(
        subgroups_against(&groups, Spread::Range, &chart.baseline).unwrap(),
        chart
    );
}

#[test]
fn constants_are_those_of_the_tables() {
    // Montgomery, appendix VI, n 2 to 5: d2, D4, A2 and c4.
    let table = [
        // d2 for two is 2/√π; the table has 1.128 38.
        (
            std::f64::consts::FRAC_2_SQRT_PI,
            3.266_53,
            1.879_97,
            0.797_88,
        ),
        (1.692_57, 2.574_59, 1.023_33, 0.886_23),
        (2.058_75, 2.282_05, 0.728_60, 0.921_32),
        (2.325_93, 2.114_50, 0.576_82, 0.939_99),
    ];
    for (n, (d2, upper, a2, c)) in (2..).zip(table) {
        let (found, d3) = range_constants(n).unwrap();
        near(found, d2, 0.000_005_1);
        near(1.0 + 3.0 * d3 / found, upper, 0.000_005_1);
        near(3.0 / (found * (n as f64).sqrt()), a2, 0.000_005_1);
        near(c4(n), c, 0.000_005_1);
    }
    // The same table from memory: D3 and D4, A3, B3 and B4 for 7 and 10.
    for (n, lower, upper, a3, b3, b4) in [
        (7, 0.076, 1.924, 1.182, 0.118, 1.882),
        (10, 0.223, 1.777, 0.975, 0.284, 1.716),
    ] {
        let ((d2, d3), c) = (range_constants(n).unwrap(), c4(n));
        let off = 3.0 * (1.0 - c * c).sqrt() / c;
        near(1.0 - 3.0 * d3 / d2, lower, 0.000_51);
        near(1.0 + 3.0 * d3 / d2, upper, 0.000_51);
        near(3.0 / (c * (n as f64).sqrt()), a3, 0.000_51);
        near(1.0 - off, b3, 0.000_51);
        near(1.0 + off, b4, 0.000_51);
    }
    // ISO 7870-2 and others: c4(25) = 0.9896 (from memory).
    near(c4(25), 0.989_6, 0.000_05);
    assert_eq!(range_constants(1), None);
    assert_eq!(range_constants(26), None);
}

#[test]
fn the_range_of_normal_samples_integrates_to_the_table() {
    // E W = ∫ 1 − Φⁿ − (1 − Φ)ⁿ, and E W² = ∫ 2w (1 − F(w)) with F(w) = n ∫ φ(x) (Φ(x+w) − Φ(x))ⁿ⁻¹. The
    // trapezoid rule is right to the last digits where an integrand and all its slopes vanish at both ends.
    let step = 0.1;
    let grid: Vec<f64> = (-90..=90).map(|at| f64::from(at) * step).collect();
    for n in [2, 3, 5, 10, 25] {
        let (d2, d3) = range_constants(usize::try_from(n).unwrap()).unwrap();
        let inside = |x: &f64| 1.0 - Normal.lower(*x).powi(n) - Normal.upper(*x).powi(n);
        let mean = grid.iter().map(inside).sum::<f64>() * step;
        near(mean, d2, 1e-9);
        let above = |w: f64| {
            let weight = |x: &f64| {
                let between = Normal.lower(x + w) - Normal.lower(*x);
                Normal::density(*x) * between.powi(n - 1)
            };
            1.0 - f64::from(n) * grid.iter().map(weight).sum::<f64>() * step
        };
        // w = e^v, so that the lower end is smooth as well.
        let square: f64 = (-300..=60)
            .map(|at| f64::from(at) * 0.05)
            .map(|v| 2.0 * (2.0 * v).exp() * above(v.exp()) * 0.05)
            .sum();
        near((square - d2 * d2).sqrt(), d3, 1e-8);
    }
}

#[test]
fn a_chart_with_old_limits_sees_the_shift_that_new_limits_follow() {
    let steady = [10, 12, 9, 11, 10, 8, 11, 9, 12, 10];
    let shifted: Vec<i64> = steady.iter().map(|x| x + 12).collect();
    let before = individuals(&steady).unwrap();
    let against = individuals_against(&shifted, &before.baseline);
    assert_eq!(against.readings.outside().count(), 10);
    assert_eq!(individuals(&shifted).unwrap().readings.outside().count(), 0);
}

#[test]
fn a_chart_of_too_little_says_what_it_needs() {
    assert_eq!(
        individuals(&[5]).unwrap_err().to_string(),
        "computing a chart of individuals: found 1, expected at least 2, measure more"
    );
    assert!(matches!(
        individuals(&[5, 5, 5]),
        Err(TrendsError::NoScatter { .. })
    ));
    let uneven: [&[i64]; 2] = [&[1, 2], &[1, 2, 3]];
    assert!(matches!(
        subgroups(&uneven, Spread::Range),
        Err(TrendsError::Uneven {
            found: 3,
            expected: 2,
            ..
        })
    ));
    let eleven: Vec<i64> = (0..11).collect();
    let wide: [&[i64]; 2] = [&eleven, &eleven];
    assert!(matches!(
        subgroups(&wide, Spread::Range),
        Err(TrendsError::TooMany { most: 10, .. })
    ));
    assert!(subgroups(&wide, Spread::Deviation).is_ok());
}
