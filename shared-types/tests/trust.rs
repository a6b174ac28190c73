//! What a gauge can be trusted with: limits of error, days.
#![allow(clippy::unwrap_used, reason = "whatever fails here fails the test")]

use proptest::prelude::*;
use shared_types::{Day, Faces, GaugeKind, LimitOfError, Quantity, Trust};

fn q(text: &str) -> Quantity {
    Quantity::parse(text).unwrap()
}

fn trust(limit: Option<&str>, step: Option<&str>) -> Trust {
    Trust {
        limit_of_error: limit.map(|limit| limit.parse().unwrap()),
        resolution: step.map(q),
        ..Trust::default()
    }
}

/// DIN 862 for digital calipers, second-hand (the standard itself was not read): 20 µm to 100 mm, 30 µm to
/// 600 mm, 40 µm to 1000 mm, 20 µm more for inside and depth; the digital step floors the limit.
#[test]
fn a_digital_caliper_has_the_limits_of_din_862_and_never_less_than_its_step() {
    let fine = trust(Some("DIN 862"), Some("0.01 mm"));
    for (size, faces, limit) in [
        ("0 mm", Faces::Outside, Some("20 um")),
        ("100 mm", Faces::Outside, Some("20 um")),
        ("100.01 mm", Faces::Outside, Some("30 um")),
        ("600 mm", Faces::Outside, Some("30 um")),
        ("600.01 mm", Faces::Outside, Some("40 um")),
        ("1000 mm", Faces::Outside, Some("40 um")),
        ("1000.01 mm", Faces::Outside, None),
        ("100 mm", Faces::Inside, Some("40 um")),
        ("101 mm", Faces::Depth, Some("50 um")),
        ("-150 mm", Faces::Outside, Some("30 um")),
        ("4 in", Faces::Outside, Some("30 um")),
        ("90 deg", Faces::Outside, None),
    ] {
        assert_eq!(
            fine.limit_at(q(size), faces),
            limit.map(q),
            "{size} {faces:?}"
        );
    }
    let coarse = trust(Some("DIN 862"), Some("0.1 mm"));
    assert_eq!(
        coarse.limit_at(q("25 mm"), Faces::Outside),
        Some(q("0.1 mm"))
    );
    let inches = trust(Some("DIN 862"), Some("0.001 in"));
    assert_eq!(
        inches.limit_at(q("1 in"), Faces::Outside),
        Some(q("0.001 in"))
    );
}

#[test]
fn a_stated_limit_holds_everywhere_and_a_step_alone_only_at_zero() {
    let stated = trust(Some("0.2 deg"), Some("0.1 deg"));
    assert_eq!(
        stated.limit_at(q("90 deg"), Faces::Outside),
        Some(q("0.2 deg"))
    );
    assert_eq!(stated.limit_at(q("25 mm"), Faces::Outside), None);
    let step = trust(None, Some("0.01 mm"));
    assert_eq!(step.limit_at(q("0 mm"), Faces::Outside), Some(q("0.01 mm")));
    assert_eq!(step.limit_at(q("25 mm"), Faces::Outside), None);
    assert_eq!(trust(None, None).limit_at(q("0 mm"), Faces::Outside), None);
}

#[test]
fn a_limit_of_error_is_the_rule_or_a_quantity_above_zero() {
    assert_eq!("din 862".parse(), Ok(LimitOfError::Din862));
    assert_eq!("±0.03 mm".parse(), Ok(LimitOfError::Stated(q("0.03 mm"))));
    for wrong in ["", "DIN 863", "0.03", "0 mm", "-0.03 mm", "good"] {
        assert!(wrong.parse::<LimitOfError>().is_err(), "{wrong}");
    }
}

#[test]
fn every_instrument_can_be_compared_with_zero() {
    let none = Trust::default();
    let zero = none.reference("zero", GaugeKind::AngleGauge).unwrap();
    assert_eq!(zero.value, q("0 deg"));
    assert!(
        none.reference("gauge block 25", GaugeKind::Caliper)
            .is_none()
    );
}

#[test]
fn a_day_is_one_of_the_calendar() {
    for good in ["2024-02-29", "2000-02-29", "2027-12-31", "0001-01-01"] {
        assert_eq!(good.parse::<Day>().unwrap().to_string(), good);
    }
    for wrong in [
        "2023-02-29",
        "1900-02-29",
        "2027-04-31",
        "2027-13-01",
        "2027-00-10",
        "0000-01-01",
        "2027-3-31",
        "+027-03-31",
        "2027/03/31",
        "2027-03-31 ",
        "",
    ] {
        assert!(wrong.parse::<Day>().is_err(), "{wrong}");
    }
}

proptest! {
    #[test]
    fn days_compare_as_their_texts_do(a in (1_u16..=9999, 1_u8..=12, 1_u8..=28), b in (1_u16..=9999, 1_u8..=12, 1_u8..=28)) {
        let day = |(y, m, d)| Day::new(y, m, d).unwrap();
        prop_assert_eq!(day(a).cmp(&day(b)), day(a).to_string().cmp(&day(b).to_string()));
    }
}
