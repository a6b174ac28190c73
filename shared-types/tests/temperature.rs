//! Temperatures and coefficients of expansion: exact, and told apart from what is none.
#![allow(clippy::unwrap_used, reason = "whatever fails here fails the test")]

use proptest::prelude::*;
use shared_types::{
    Climate, Expansion, Felt, Length, NoTemperature, Seq, TEMPERATURE_GRAINS_PER_K, Temperature,
};

fn t(text: &str) -> Temperature {
    text.parse().unwrap()
}

/// °C = (°F − 32) × 5/9 is the definition of the degree Fahrenheit.
#[test]
fn a_temperature_is_exact_in_celsius_and_in_fahrenheit() {
    for (text, other, shown) in [
        ("20 C", "68 F", "20 °C"),
        ("21.5 °C", "70.7°F", "21.5 °C"),
        ("-40 C", "-40 F", "-40 °C"),
        ("-0.05 C", "31.91 F", "-0.05 °C"),
        ("60C", "140 F", "60 °C"),
        ("70 F", "70.0 f", "70 °F"),
        ("21.0625 c", "21.06250 C", "21.0625 °C"),
    ] {
        assert_eq!(t(text), t(other), "{text}");
        assert_eq!(t(text).to_string(), shown);
    }
    // 38 × 5/9 of a kelvin above freezing, not a digit lost.
    let above = t("70 F").above(t("0 C"));
    assert_eq!(above * 9, 38 * 5 * TEMPERATURE_GRAINS_PER_K);
    assert_eq!(t("70 F").celsius_rounded(), "21.11 °C");
}

#[test]
fn what_is_no_temperature_of_a_shop_is_told() {
    use NoTemperature::{NotANumber, OutOfRange, Unit};
    for (text, wrong) in [
        ("21.5", Unit),
        ("21.5 K", Unit),
        ("", Unit),
        ("C", NotANumber),
        ("warm C", Unit),
        ("2.1.5 C", NotANumber),
        ("70 C", OutOfRange),
        ("60.0001 C", OutOfRange),
        ("-41 F", OutOfRange),
        ("999999999999999 F", OutOfRange),
        ("85 C", OutOfRange),
    ] {
        assert_eq!(text.parse::<Temperature>(), Err(wrong), "{text:?}");
    }
    let long = format!("{} C", "1".repeat(100));
    assert_eq!(long.parse::<Temperature>(), Err(NotANumber));
}

#[test]
fn a_coefficient_is_a_kelvins_or_a_degree_fahrenheits() {
    let e9 = |text: &str| text.parse::<Expansion>().map(Expansion::e9);
    assert_eq!(e9("23.6e-6 / K"), Ok(23_600));
    assert_eq!(e9("23.6e-6/°C"), Ok(23_600));
    assert_eq!(e9("13.2E-6 / F"), Ok(23_760));
    assert_eq!(Expansion::STEEL.to_string(), "11.5e-6 / K");
    for text in [
        "23.6",
        "23.6e-6",
        "23.6e-6 / m",
        "23.6 / K",
        "-1e-6 / K",
        "201e-6 / K",
        "1.00001e-6 / K",
    ] {
        assert!(e9(text).is_err(), "{text}");
    }
}

/// Ages of a typed temperature, which holds for a shift of eight hours, and of a sensor's, half an hour.
#[test]
fn a_temperature_holds_for_its_time_and_not_a_microsecond_more() {
    let climate = Climate::default();
    for (sensor, holds_s) in [(None, 8 * 3600), (Some("shelf"), 1800)] {
        let felt = Felt {
            seq: Seq(1),
            at_us: 1_000_000_000_000,
            value: t("20 C"),
            sensor: sensor.map(|name| name.parse().unwrap()),
        };
        let last_us = felt.at_us + holds_s * 1_000_000;
        assert!(felt.holds(last_us, &climate));
        assert!(!felt.holds(last_us + 1, &climate));
        // A clock set back by years does not keep it alive.
        assert!(!felt.holds(0, &climate));
        assert!(!felt.holds(i64::MIN, &climate));
    }
}

proptest! {
    #[test]
    fn a_temperature_is_read_as_it_is_written(places in -400_000_i32..=600_000, fahrenheit: bool) {
        let unit = if fahrenheit { "F" } else { "C" };
        let (sign, size) = (if places < 0 { "-" } else { "" }, places.abs());
        let once = t(&format!("{sign}{}.{:04} {unit}", size / 10_000, size % 10_000));
        prop_assert_eq!(t(&once.to_string()), once);
    }

    #[test]
    fn no_text_makes_reading_panic(text in "\\PC{0,70}", digits in "-?[0-9]{0,16}[.]?[0-9]{0,16} ?[CF/K]?") {
        for text in [text, digits] {
            if let Ok(once) = text.parse::<Temperature>() {
                prop_assert_eq!(t(&once.to_string()), once);
            }
            if let Ok(once) = text.parse::<Expansion>() {
                prop_assert_eq!(once.to_string().parse::<Expansion>(), Ok(once));
            }
        }
    }

    /// Against the same division in 1e-18 mm by hand: floor, then nearest, then even.
    #[test]
    fn a_scaled_length_is_the_nearest_picometre(pm in -1_000_000_000_000_i64..=1_000_000_000_000, over in 1_i128..1_000_000, under in 1_i128..1_000_000) {
        let Some(scaled) = Length::from_pm(pm).unwrap().scaled(over, under) else {
            let beyond = (i128::from(pm) * over).abs() / under >= 1_000_000_000_000_000 - 1;
            prop_assert!(beyond);
            return Ok(());
        };
        let off = i128::from(scaled.pm()) * under - i128::from(pm) * over;
        prop_assert!(2 * off.abs() <= under);
        prop_assert!(2 * off.abs() < under || scaled.pm() % 2 == 0);
    }
}
