//! Uncertainty budgets and probabilities against published values.
#![allow(missing_docs)]
#![expect(
    clippy::float_arithmetic,
    reason = "uncertainties are compared here; no verdict comes from them"
)]
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

use inspection::InspectionError;
use inspection::uncertainty::{
    Budget, Coverage, GaugeFacts, Part, Repeatability, Spread, Temperature, chances, guard_factor,
};
use shared_types::{Length, Limits, Probability, Quantity};

#[track_caller]
fn near(found: f64, right: f64, within: f64) {
    assert!(
        (found - right).abs() <= within,
        "found {found}, expected {right} ± {within}"
    );
}

fn mm(text: &str) -> Quantity {
    Quantity::Length(Length::parse(&format!("{text} mm")).unwrap())
}

fn budget(parts: impl IntoIterator<Item = Part>) -> Budget {
    Budget {
        parts: parts.into_iter().collect(),
    }
}

/// In micrometres.
fn rectangular(name: &str, half: f64) -> Part {
    Part::new(name, Spread::Rectangular { half }, "EA-4/02")
}

#[test]
fn the_vernier_caliper_of_ea_4_02_s10() {
    // EA-4/02 M:2022 S10 (from memory): ±0.8 µm block, ±2 K at 1.725 µm/K, ±25 µm resolution, ±50 µm mechanical, all
    // rectangular; u 33 µm (its printed parts, 15 and 29, are rounded up), trapezoid β 0.33, k 1.83, U 0.06 mm.
    let found = budget([
        rectangular("block", 0.8),
        rectangular("temperature", 2.0).with_sensitivity(1.725),
        rectangular("resolution", 25.0),
        rectangular("mechanical", 50.0),
    ])
    .combine()
    .unwrap();
    let printed = budget(
        [0.46, 2.0, 15.0, 29.0].map(|u| Part::new("printed", Spread::Standard(u), "EA-4/02")),
    );
    near(printed.combine().unwrap().standard, 33.0, 0.5);
    near(found.standard, 32.34, 0.005);
    let Coverage::Trapezoid { beta } = found.coverage else {
        panic!("{:?}", found.coverage);
    };
    near(beta, 0.33, 0.005);
    let expanded = found.expand(0.95);
    near(expanded.k, 1.83, 0.005);
    near(expanded.half / 1000.0, 0.06, 0.005);
    assert_eq!(found.freedom, None);
    near(found.shares[3].percent, 79.7, 0.1);
    near(
        found.shares.iter().map(|share| share.percent).sum(),
        100.0,
        1e-9,
    );
}

#[test]
fn the_end_gauge_of_gum_h_1() {
    // JCGM 100:2008 H.1, in nanometres: uc 32 nm; ν 16, t99 2.92, U99 93 nm (the last three from memory).
    let part = |name: &str, u: f64, freedom: Option<f64>| {
        let part = Part::new(name, Spread::Standard(u), "GUM H.1");
        Part { freedom, ..part }
    };
    let found = budget([
        part("standard", 25.0, Some(18.0)),
        part("comparator, repeated", 5.8, Some(24.0)),
        part("comparator, random", 3.9, Some(5.0)),
        part("comparator, systematic", 6.7, Some(8.0)),
        part("difference in expansion", 2.9, Some(50.0)),
        part("difference in temperature", 16.6, Some(2.0)),
    ])
    .combine()
    .unwrap();
    near(found.standard, 32.0, 0.5);
    assert_eq!(
        (found.freedom, found.coverage),
        (Some(16), Coverage::Student(16))
    );
    let expanded = found.expand(0.99);
    near(expanded.k, 2.92, 0.005);
    near(expanded.half, 93.0, 0.7);
}

#[test]
fn coverage_factors_are_those_of_the_tables() {
    // GUM table G.2: t for 95 %, 95.45 % and 99 %; k = √3 p for a rectangle (EA-4/02 S9: 1.65 for 95 %).
    let table = [
        (1, 12.71, 13.97, 63.66),
        (2, 4.30, 4.53, 9.92),
        (3, 3.18, 3.31, 5.84),
        (10, 2.23, 2.28, 3.17),
        (25, 2.06, 2.11, 2.79),
        (100, 1.984, 2.025, 2.626),
    ];
    for (freedom, t95, t9545, t99) in table {
        for (p, t) in [(0.95, t95), (0.9545, t9545), (0.99, t99)] {
            near(Coverage::Student(freedom).factor(p), t, 0.005_1);
        }
    }
    // scipy 1.17.1, t.ppf(0.975, ν): 6 and 7 degrees, and the last that is told apart.
    near(
        Coverage::Student(6).factor(0.95),
        2.446_911_851_144_969,
        1e-12,
    );
    near(
        Coverage::Student(7).factor(0.95),
        2.364_624_251_592_785_2,
        1e-12,
    );
    near(
        Coverage::Student(1000).factor(0.95),
        1.962_339_080_829_340_5,
        1e-10,
    );
    assert_eq!(
        Coverage::Student(5000).factor(0.9),
        Coverage::Student(1000).factor(0.9)
    );
    near(Coverage::Normal.factor(0.9545), 2.0, 0.000_1);
    near(Coverage::Rectangular.factor(0.95), 1.65, 0.005);
    // A trapezoid that is all top is a rectangle; one that has none is a triangle: 1 − (1 − k/√6)² within k.
    near(
        Coverage::Trapezoid { beta: 1.0 }.factor(0.95),
        0.95 * 3_f64.sqrt(),
        1e-12,
    );
    near(
        Coverage::Trapezoid { beta: 0.0 }.factor(0.95),
        6_f64.sqrt() * (1.0 - 0.05_f64.sqrt()),
        1e-12,
    );
    // Within its top the probability grows evenly, and no step lies at the top's end.
    let at = |p: f64| Coverage::Trapezoid { beta: 0.5 }.factor(p);
    near(at(2.0 / 3.0 - 1e-9), at(2.0 / 3.0 + 1e-9), 1e-6);
    near(2.0 * at(0.2), at(0.4), 1e-12);
}

#[test]
fn each_spread_has_its_divisor() {
    // GUM 4.3.7, 4.3.9 and F.2.2.1; arcsine √2.
    let table = [
        (Spread::Standard(1.0), 1.0),
        (Spread::Expanded { half: 1.0, k: 2.0 }, 2.0),
        (Spread::Rectangular { half: 1.0 }, 1.732_050_8),
        (Spread::Triangular { half: 1.0 }, 2.449_489_7),
        (Spread::UShaped { half: 1.0 }, std::f64::consts::SQRT_2),
        (Spread::Step { step: 1.0 }, 3.464_101_6),
        (Spread::TwoSteps { step: 1.0 }, 2.449_489_7),
    ];
    for (spread, divisor) in table {
        near(1.0 / spread.standard(), divisor, 1e-7);
    }
}

#[test]
fn a_part_that_rules_alone_is_a_rectangle_and_many_alike_are_normal() {
    let one = budget([rectangular("limit", 30.0), rectangular("step", 5.0)]);
    assert_eq!(one.combine().unwrap().coverage, Coverage::Rectangular);
    let many = budget(["a", "b", "c", "d"].map(|name| rectangular(name, 10.0)));
    assert_eq!(many.combine().unwrap().coverage, Coverage::Normal);
}

#[test]
fn a_caliper_in_a_cold_shop() {
    // ±30 µm (DIN 862 to 600 mm), 0.01 mm step zeroed before use, at 500 mm; both 10 K from 20 °C: 500 × (23.6 − 11.5)e-6
    // × 10 = 60.5 µm; piece and gauge 2 K apart: 500 × 23.6e-6 × 2 = 23.6 µm.
    let gauge = GaugeFacts {
        limit_of_error: Some(mm("0.03")),
        limit_source: "DIN 862".to_owned(),
        resolution: Some(mm("0.01")),
        zeroed: true,
        repeatability: Some(Repeatability {
            sd: mm("0.012"),
            freedom: 9,
            source: "gauge study".to_owned(),
        }),
        temperature: Some(Temperature {
            off_20_mk: 10_000,
            apart_mk: 2_000,
            piece_e9: 23_600,
            gauge_e9: 11_500,
            source: "a shop at 10 °C to 30 °C".to_owned(),
        }),
        more: Vec::new(),
    };
    let budget = gauge.budget(mm("500")).unwrap();
    let found = budget.combine().unwrap();
    let right = [
        30.0 / 3_f64.sqrt(),
        10.0 / 6_f64.sqrt(),
        12.0,
        60.5 / 3_f64.sqrt(),
        23.6 / 3_f64.sqrt(),
    ];
    for (share, right) in found.shares.iter().zip(right) {
        near(share.standard / 1e6, right, 1e-9);
    }
    let all: f64 = right.iter().map(|u| u * u).sum();
    near(found.standard / 1e6, all.sqrt(), 1e-9);
    near(found.repeating / 1e6, 12.0, 1e-9);
    near(found.lasting.hypot(found.repeating), found.standard, 1e-3);
    // Rounded up to the picometre.
    let whole = found.quantity(mm("1")).unwrap().raw() as f64;
    assert!(whole >= found.standard && whole < found.standard + 1.0);
    let twice = found.expand(0.9545).quantity(mm("1")).unwrap().raw() as f64;
    assert!(twice >= 2.0 * whole - 3.0, "{twice}");
    let degree = Quantity::parse("1 deg").unwrap();
    assert_eq!(gauge.budget(degree), Err(InspectionError::WrongKind));
    // A display cannot keep a limit of error finer than its step.
    let coarse = GaugeFacts {
        resolution: Some(mm("0.1")),
        ..gauge
    };
    near(
        coarse.budget(mm("500")).unwrap().parts[0].standard() / 1e6,
        100.0 / 3_f64.sqrt(),
        1e-9,
    );
}

#[test]
fn what_is_no_budget_is_refused() {
    let refused = |part: Part| budget([part]).combine().unwrap_err().to_string();
    let step = |step: f64| Part::new("step", Spread::Step { step }, "display");
    assert_eq!(
        refused(step(-1.0)),
        "combining an uncertainty: the part \"step\" is negative or no number, expected zero or more"
    );
    assert!(refused(step(f64::NAN)).contains("no number"));
    assert!(refused(step(0.0)).contains("every part is zero"));
    assert!(refused(step(1.0).with_freedom(0.5)).contains("fewer than one degree of freedom"));
    // One part alone keeps its degrees of freedom.
    let freedom = |freedom: f64| {
        budget([step(0.1).with_freedom(freedom)])
            .combine()
            .unwrap()
            .freedom
    };
    assert_eq!((freedom(1.0), freedom(7.0)), (Some(1), Some(7)));
}

#[test]
fn conformance_probabilities_are_those_of_jcgm_106() {
    // JCGM 106:2012 7.3 and 7.4: pc = Φ((TU − y)/u) − Φ((TL − y)/u). The first is its oil viscosity, printed 0.66;
    // values computed with mpmath at 30 digits.
    let table = [
        ("13.6", "1.8", "12.5", "16.3", 0.662_629_786_495),
        ("10", "0.05", "9.9", "10.1", 0.954_499_736_104),
        ("10.067", "0.02", "9.9", "10.1", 0.950_528_531_966),
        ("10.06", "0.02", "9.9", "10.1", 0.977_249_868_052),
        ("10.133", "0.02", "9.9", "10.1", 0.049_471_468_033_6),
        ("90.62", "0.06", "89.5", "90.5", 0.022_750_131_948_2),
        ("90.0", "0.06", "89.9", "90.1", 0.904_419_295_454),
    ];
    for (y, u, lower, upper, pc) in table {
        let limits = Limits::new(Some(mm(lower)), Some(mm(upper))).unwrap();
        let found = chances(mm(y), &limits, mm(u)).unwrap();
        near(found.within, pc, 2e-12);
        near(found.below + found.within + found.above, 1.0, 1e-15);
    }
}

#[test]
fn the_risks_of_ilac_g8() {
    // ILAC-G8:09/2019 table 1 (from memory): a guard band of r U, with U = 2u, leaves a specific risk below 50 %, 5 %,
    // 2.5 % and 0.16 % for r = 0, 0.83, 1 and 1.5.
    let limits = Limits::new(None, Some(mm("10"))).unwrap();
    let risk = |y: &str| chances(mm(y), &limits, mm("0.01")).unwrap().above;
    near(risk("10"), 0.5, 1e-15);
    for (y, most) in [("9.9834", 0.05), ("9.98", 0.025), ("9.97", 0.0016)] {
        let found = risk(y);
        assert!(found < most && found > 0.8 * most, "{y}: {found}");
    }
    // Twenty u outside either of two limits, what is left within is Φ(−20) = 2.753624118606233e-89 (scipy 1.17.1).
    let two = Limits::new(Some(mm("9")), Some(mm("10"))).unwrap();
    for y in ["8.8", "10.2"] {
        let left = chances(mm(y), &two, mm("0.01")).unwrap().within;
        near(left / 2.753_624_118_606_233e-89, 1.0, 1e-12);
    }
    // Tails keep their digits: Φ(−10) = 7.619853024160526e-24 (scipy 1.17.1).
    near(risk("9.9") / 7.619_853_024_160_526e-24, 1.0, 1e-12);
}

#[test]
fn two_sided_guard_factors_are_exact_where_both_limits_count() {
    // The rule of ISO 14253-1:2017, 95 %, g = 1.65 u; exact two-sided factors by Cm = T/(4u), computed.
    let inside = |cm: f64| guard_factor(4.0 * cm, Probability::DEFAULT).inside;
    for (cm, factor) in [(0.98, 1.954), (1.0, 1.796), (1.1, 1.677)] {
        near(inside(cm).unwrap() as f64 / 1e4, factor, 0.000_6);
    }
    // From Cm 1.25 (1.649) on the rounded one-sided factor is the larger.
    assert_eq!(
        [inside(1.25), inside(2.0), inside(f64::INFINITY)],
        [Some(16_500); 3]
    );
    assert!(inside(1.2) > Some(16_500));
    // Below Cm 0.97998 no reading reaches 95 %.
    assert_eq!(inside(0.979_9), None);
    assert!(inside(0.98).is_some());
    let p = |in_10_000: u16| Probability::new(in_10_000).unwrap();
    assert_eq!(guard_factor(100.0, p(9750)).beyond, 19_600);
    assert_eq!(guard_factor(100.0, p(9900)).beyond, 23_300);
    assert_eq!(
        [p(9500), p(9750), p(9973)].map(|p| p.to_string()),
        ["95 %", "97.5 %", "99.73 %"]
    );
    assert!(Probability::new(5000).is_none() && Probability::new(10_000).is_none());
}
