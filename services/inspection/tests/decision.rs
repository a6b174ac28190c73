//! Decision rules: which readings prove what.
#![allow(missing_docs)]
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]
#![expect(
    clippy::float_arithmetic,
    reason = "probabilities are compared with what was claimed"
)]

use inspection::InspectionError;
use inspection::decision::{LENGTH_GRAIN_PM, REPEATS_MAX, Zones, settle, uncertainty_of_mean};
use inspection::judge;
use inspection::uncertainty::chances;
use proptest::prelude::*;
use shared_types::{Length, Limits, Probability, Quantity, Rule, Settle, Verdict};

const GUARDED: Rule = Rule::Guarded(Probability::DEFAULT);

fn mm(text: &str) -> Quantity {
    Quantity::Length(Length::parse(&format!("{text} mm")).unwrap())
}

fn pm(pm: i64) -> Quantity {
    Quantity::Length(Length::from_pm(pm).unwrap())
}

fn limits(lower: &str, upper: &str) -> Limits {
    Limits::new(Some(mm(lower)), Some(mm(upper))).unwrap()
}

#[test]
fn a_guarded_reading_passes_fails_or_stays_undecided_by_the_picometre() {
    // 10 ± 0.1 mm, u 0.02 mm, g = 1.65 u = 0.033 mm (ISO 14253-1:2017).
    let zones = Zones::new(GUARDED, &limits("9.9", "10.1"), mm("0.02")).unwrap();
    assert_eq!(zones.accept(), Some(&limits("9.933", "10.067")));
    assert_eq!(zones.reject(), &limits("9.867", "10.133"));
    let table = [
        ("9.866999999", Verdict::TooSmall),
        ("9.867", Verdict::Undecided),
        ("9.932999999", Verdict::Undecided),
        ("9.933", Verdict::Pass),
        ("10.067", Verdict::Pass),
        ("10.067000001", Verdict::Undecided),
        ("10.133", Verdict::Undecided),
        ("10.133000001", Verdict::TooLarge),
    ];
    for (value, ruling) in table {
        assert_eq!(zones.ruling(mm(value)), Some(ruling), "{value}");
    }
    assert_eq!(zones.ruling(Quantity::parse("10 deg").unwrap()), None);
}

#[test]
fn acceptance_limits_are_rounded_to_the_side_that_claims_less() {
    // u 0.01000003 mm: g = 0.0165000495 mm.
    let zones = Zones::new(GUARDED, &limits("9.9", "10.1"), mm("0.01000003")).unwrap();
    assert_eq!(zones.accept(), Some(&limits("9.9166", "10.0834")));
    assert_eq!(zones.reject(), &limits("9.8834", "10.1166"));
    let below_zero = Limits::new(Some(mm("-10.1")), Some(mm("-9.9"))).unwrap();
    let zones = Zones::new(GUARDED, &below_zero, mm("0.01000003")).unwrap();
    assert_eq!(zones.accept(), Some(&limits("-10.0834", "-9.9166")));
    let angle = |text: &str| Quantity::parse(text).unwrap();
    let bend = Limits::new(Some(angle("89 deg")), Some(angle("91 deg"))).unwrap();
    let zones = Zones::new(GUARDED, &bend, angle("0.1 deg")).unwrap();
    assert_eq!(zones.accept().unwrap().lower(), Some(angle("89.165 deg")));
}

#[test]
fn where_no_reading_can_reach_the_probability_none_passes() {
    // 90 ± 0.1, u 0.06: Cm 0.83, and 90.0 itself conforms with 90.4 % only.
    let zones = Zones::new(GUARDED, &limits("89.9", "90.1"), mm("0.06")).unwrap();
    assert_eq!(zones.accept(), None);
    assert_eq!(zones.ruling(mm("90")), Some(Verdict::Undecided));
    assert_eq!(zones.ruling(mm("90.2")), Some(Verdict::TooLarge));
}

#[test]
fn one_limit_alone_is_guarded_alone() {
    let least = Limits::new(Some(mm("10")), None).unwrap();
    let zones = Zones::new(GUARDED, &least, mm("0.02")).unwrap();
    assert_eq!(zones.accept().unwrap().lower(), Some(mm("10.033")));
    assert_eq!(zones.accept().unwrap().upper(), None);
    assert_eq!(zones.ruling(mm("1000")), Some(Verdict::Pass));
    assert_eq!(zones.ruling(mm("9.9669")), Some(Verdict::TooSmall));
}

#[test]
fn the_ratio_refuses_a_gauge_too_coarse_by_the_picometre() {
    // ASME B89.7.3.1: N = T/(2U), U = 2u. T 0.2 mm at 4 to 1: u 0.0125 mm at most.
    let limits = limits("9.9", "10.1");
    let zones = Zones::new(Rule::Ratio(4), &limits, mm("0.0125")).unwrap();
    assert_eq!((zones.accept(), zones.reject()), (Some(&limits), &limits));
    assert_eq!(
        Zones::new(Rule::Ratio(4), &limits, mm("0.012500001"))
            .unwrap_err()
            .to_string(),
        "judging by a ratio: this gauge has 3.9 to 1 for this tolerance, expected at least 4 to 1, take a finer gauge"
    );
    let least = Limits::new(Some(mm("10")), None).unwrap();
    assert_eq!(
        Zones::new(Rule::Ratio(4), &least, mm("0.01")),
        Err(InspectionError::OneLimit)
    );
    assert_eq!(
        Zones::new(Rule::Ratio(0), &limits, mm("0.01")),
        Err(InspectionError::NoRatio)
    );
}

#[test]
fn an_uncertainty_of_nothing_or_of_the_other_kind_is_refused() {
    let limits = limits("9.9", "10.1");
    let refused = |u: Quantity| Zones::new(GUARDED, &limits, u).unwrap_err();
    assert!(matches!(
        refused(pm(0)),
        InspectionError::NoUncertainty { .. }
    ));
    assert!(matches!(
        refused(pm(-5)),
        InspectionError::NoUncertainty { .. }
    ));
    assert_eq!(
        refused(Quantity::parse("1 deg").unwrap()),
        InspectionError::WrongKind
    );
    let km = Quantity::parse("900 m").unwrap();
    assert!(matches!(refused(km), InspectionError::OutOfRange { .. }));
}

#[test]
fn an_undecided_reading_says_what_would_decide_it() {
    let limits = limits("9.9", "10.1");
    // 10.06 lies 0.04 mm inside. u lasting 0.02, repeating 0.03: u 0.0361, g 0.0595. 0.04/1.65 = 0.0242424: repeating/√n
    // must come to √(0.0242424² − 0.02²) = 0.0137: n = 4.8.
    let found = settle(GUARDED, &limits, mm("10.06"), mm("0.02"), mm("0.03")).unwrap();
    assert_eq!((found.repeats, found.to), (Some(5), Verdict::Pass));
    let u = found.uncertainty.unwrap().raw();
    assert!((24_242_000..=24_242_425).contains(&u), "{u}");
    // Where what stays is too large, no repeating helps; a better gauge would.
    let found = settle(GUARDED, &limits, mm("10.12"), mm("0.02"), mm("0.03")).unwrap();
    assert_eq!((found.repeats, found.to), (None, Verdict::TooLarge));
    assert!(found.uncertainty.unwrap().raw() > 12_000_000);
    // On the limit itself no gauge decides more than that it lies there.
    let found = settle(GUARDED, &limits, mm("10.1"), mm("0.02"), mm("0.03"));
    assert_eq!(
        found,
        Some(Settle {
            repeats: None,
            uncertainty: None,
            to: Verdict::Pass
        })
    );
    // What is decided needs nothing.
    assert_eq!(
        settle(GUARDED, &limits, mm("10"), mm("0.02"), mm("0.001")),
        None
    );
    assert_eq!(
        settle(Rule::Plain, &limits, mm("10.1"), mm("0.02"), mm("0.03")),
        None
    );
}

#[test]
fn the_uncertainty_of_a_mean_is_rounded_up() {
    let of = |lasting: i64, repeating: i64, n: u32| {
        uncertainty_of_mean(pm(lasting), pm(repeating), n).map(Quantity::raw)
    };
    // √(9 + 16) = 5; √(9 + 8) = 4.12…; √(9 + 16/3) = 3.79…; what does not repeat stays.
    assert_eq!(
        [of(3, 4, 1), of(3, 4, 2), of(3, 4, 3), of(3, 0, 9)],
        [5, 5, 4, 3].map(Some)
    );
    assert_eq!(of(3, 4, 0), None);
    let degree = Quantity::parse("1 deg").unwrap();
    assert_eq!(uncertainty_of_mean(pm(3), degree, 2), None);
}

proptest! {
    #[test]
    fn the_plain_rule_is_the_plain_verdict(value in -99_i64..99, lower in -50_i64..50, width in 0_i64..50) {
        let limits = Limits::new(Some(pm(lower)), Some(pm(lower + width))).unwrap();
        let zones = Zones::new(Rule::Plain, &limits, pm(7)).unwrap();
        prop_assert_eq!(zones, Zones::plain(&limits));
        let plain = zones.ruling(pm(value)).unwrap();
        let expected = judge(pm(value), &limits).unwrap();
        prop_assert_eq!(plain, expected);
    }

    /// What is said to decide does, and nothing less than it would.
    #[test]
    fn what_would_decide_decides_and_no_less_does(
        value in 9_850_000_000_i64..10_150_000_000,
        lasting in 1_000_i64..100_000_000,
        repeating in 0_i64..100_000_000,
        two in any::<bool>(),
    ) {
        let limits = Limits::new(Some(mm("9.9")), two.then(|| mm("10.1"))).unwrap();
        let decides = |u: i64| {
            let ruling = Zones::new(GUARDED, &limits, pm(u)).unwrap().ruling(pm(value)).unwrap();
            ruling != Verdict::Undecided
        };
        // The root of the variance of a mean, found by counting up from just below it.
        let of_mean = |n: i128| {
            let (lasting, repeating) = (i128::from(lasting), i128::from(repeating));
            let enough = |u: i128| n * u * u >= n * lasting * lasting + repeating * repeating;
            let start = (lasting as f64).hypot(repeating as f64 / (n as f64).sqrt());
            #[expect(clippy::cast_possible_truncation, reason = "below 2^53")]
            let start = start as i128 - 4;
            i64::try_from((start..).find(|u| enough(*u)).unwrap()).unwrap()
        };
        let Some(found) = settle(GUARDED, &limits, pm(value), pm(lasting), pm(repeating)) else {
            prop_assert!(decides(of_mean(1)));
            return Ok(());
        };
        prop_assert!(!decides(of_mean(1)));
        match found.uncertainty {
            Some(u) => prop_assert!(decides(u.raw()) && !decides(u.raw() + 1)),
            None => prop_assert!(!decides(1)),
        }
        match found.repeats {
            Some(n) => prop_assert!(decides(of_mean(n.into())) && !decides(of_mean(i128::from(n) - 1))),
            None => prop_assert!(!decides(of_mean(REPEATS_MAX.into()))),
        }
    }

    /// Whatever limits, uncertainty and probability: what is claimed has at least the probability, and a reading just one
    /// grain outside the acceptance limits would not be undecided for want of trying: the guard band is not wider than
    /// the factor and one grain ask for.
    #[test]
    fn a_claim_always_has_its_probability(
        lower in -1_000_000_000_i64..1_000_000_000,
        width in 1_000_000_i64..1_000_000_000,
        u in 1_000_i64..400_000_000,
        in_10_000 in 5001_u16..10_000,
        place in 0.0_f64..1.0,
        two in any::<bool>(),
    ) {
        let p = Probability::new(in_10_000).unwrap();
        let limits = Limits::new(Some(pm(lower)), two.then(|| pm(lower + width))).unwrap();
        let zones = Zones::new(Rule::Guarded(p), &limits, pm(u)).unwrap();
        let wanted = f64::from(in_10_000) / 1e4;
        let mut values: Vec<i64> = [zones.accept(), Some(zones.reject())]
            .into_iter()
            .flatten()
            .flat_map(|limits| [limits.lower(), limits.upper()])
            .flatten()
            .flat_map(|end| [end.raw() - 1, end.raw(), end.raw() + 1])
            .collect();
        #[expect(clippy::cast_possible_truncation, reason = "a place to try")]
        values.push(lower - width + (place * 3.0 * width as f64) as i64);
        for value in values {
            let found = chances(pm(value), &limits, pm(u)).unwrap();
            match zones.ruling(pm(value)).unwrap() {
                Verdict::Pass => prop_assert!(found.within >= wanted, "{value} {found:?}"),
                Verdict::TooSmall => prop_assert!(found.below >= wanted, "{value} {found:?}"),
                Verdict::TooLarge => prop_assert!(found.above >= wanted, "{value} {found:?}"),
                Verdict::Undecided => {}
            }
        }
        // Not wider than needed: the one-sided factor is rounded up by less than 0.01 u.
        if let Some(accept) = zones.accept() {
            let end = accept.lower().unwrap().raw();
            let outside = chances(pm(end - LENGTH_GRAIN_PM - u / 50), &limits, pm(u)).unwrap();
            prop_assert!(outside.within < wanted, "{outside:?}");
        }
    }
}
