//! The NIST Statistical Reference Datasets. The readings are decimals, and so whole numbers in the grain of
//! their last place; the certified values stand in the files' heads.

use trends::{Summary, autocorrelation, one_way};

use crate::data;
use crate::digits;

/// Name, decimal places, certified mean, standard deviation and lag-1 autocorrelation.
const UNIVARIATE: [(&str, usize, f64, f64, f64); 8] = [
    (
        "Lew",
        0,
        -177.435,
        277.332_168_044_316,
        -0.307_304_800_605_679,
    ),
    (
        "Lottery",
        0,
        518.958_715_596_330,
        291.699_727_470_969,
        -0.120_948_622_967_393,
    ),
    (
        "Mavro",
        5,
        2.001_856,
        0.000_429_123_454_003_053,
        0.937_989_183_438_248,
    ),
    (
        "Michelso",
        2,
        299.852_4,
        0.079_010_547_819_051_8,
        0.535_199_668_621_283,
    ),
    ("NumAcc1", 0, 10_000_002.0, 1.0, -0.5),
    ("NumAcc2", 1, 1.2, 0.1, -0.999),
    ("NumAcc3", 1, 1_000_000.2, 0.1, -0.999),
    ("NumAcc4", 1, 10_000_000.2, 0.1, -0.999),
];

#[test]
fn every_univariate_set_comes_out_to_the_last_certified_digits() {
    let mut report = String::new();
    let mut worst = f64::INFINITY;
    for (name, places, mean, sd, r1) in UNIVARIATE {
        let readings = data::strd(&format!("{name}.dat"), places);
        let scale = 10_f64.powi(i32::try_from(places).unwrap());
        let summary = Summary::of(&readings).unwrap();
        let found = [
            digits(summary.mean / scale, mean),
            digits(summary.sd.unwrap() / scale, sd),
            digits(autocorrelation(&readings).unwrap(), r1),
        ];
        report += &format!("{name}: {found:.1?}\n");
        worst = found.into_iter().fold(worst, f64::min);
    }
    // The certified values have 15 digits; their own last digit leaves 14.5 in the worst case.
    assert!(
        worst >= 14.3,
        "correct digits of mean, s and r(1):\n{report}"
    );
    println!("{report}");
}

/// What a float gives when squares are summed as they come: the twin that shows the sets can fail.
#[test]
fn sums_of_squares_in_floats_fail_the_hard_sets() {
    let readings = data::strd("NumAcc4.dat", 1);
    let n = readings.len() as f64;
    let values = || readings.iter().map(|x| *x as f64 / 10.0);
    let naive = ((values().map(|x| x * x).sum::<f64>() - values().sum::<f64>().powi(2) / n)
        / (n - 1.0))
        .sqrt();
    assert!(naive.is_nan() || digits(naive, 0.1) < 3.0, "{naive}");
}

#[test]
fn the_analysis_of_variance_of_silicon_comes_out_to_the_last_certified_digits() {
    // SiRstvt.dat: five instruments, five replicates.
    let text = data::text("SiRstvt.dat");
    let (_, table) = text
        .split_once("1          2          3          4          5")
        .unwrap();
    let rows: Vec<Vec<i64>> = table
        .lines()
        .filter(|line| !line.trim().is_empty())
        .map(|line| {
            line.split_whitespace()
                .map(|word| data::whole(word, 4))
                .collect()
        })
        .collect();
    let groups: Vec<Vec<i64>> = (0..5)
        .map(|at| rows.iter().map(|row| row[at]).collect())
        .collect();
    let groups: Vec<&[i64]> = groups.iter().map(Vec::as_slice).collect();
    let table = one_way(&groups).unwrap();
    assert_eq!((table.between_freedom, table.within_freedom), (4, 20));
    let found = [
        digits(table.between / 1e8, 5.114_626_160_000_00E-02),
        digits(table.within / 1e8, 2.166_365_600_000_00E-01),
        digits(table.f, 1.180_462_374_402_55E+00),
        digits(table.r_squared, 1.909_990_390_511_29E-01),
        digits(table.residual_sd / 1e4, 1.040_760_683_346_56E-01),
    ];
    println!("SiRstv: {found:.1?}");
    assert!(found.iter().all(|digits| *digits >= 14.3), "{found:.1?}");
}

/// The sets of S. D. Simon and J. P. Lesage (1989), which the StRD took over as SmLs01 to SmLs09; construction
/// and certified values from memory. Nine treatments of means 1.4, 1.3, 1.5, 1.3, 1.5 …, each with one value at
/// its mean and the rest 0.1 below and above by turns, upon 0, 10^6 or 10^12.
#[test]
fn the_sets_of_simon_and_lesage_come_out_upon_any_height() {
    for (repeats, f) in [(21, 21.0), (201, 201.0), (2001, 2001.0)] {
        for height in [0, 10_000_000, 10_000_000_000_000] {
            let group = |treatment: usize| -> Vec<i64> {
                let mean =
                    height + [14, 13, 15][if treatment == 0 { 0 } else { 2 - treatment % 2 }];
                let others = (1..repeats).map(|at| mean + if at % 2 == 1 { -1 } else { 1 });
                std::iter::once(mean).chain(others).collect()
            };
            let groups: Vec<Vec<i64>> = (0..9).map(group).collect();
            let groups: Vec<&[i64]> = groups.iter().map(Vec::as_slice).collect();
            let table = one_way(&groups).unwrap();
            let squares = 0.08 * f64::from(repeats);
            assert!(digits(table.between / 100.0, squares) > 14.0, "{table:?}");
            let within = 0.09 * f64::from(repeats - 1);
            assert!(digits(table.within / 100.0, within) > 14.0, "{table:?}");
            assert!(digits(table.f, f) > 14.0, "{table:?}");
        }
    }
}
