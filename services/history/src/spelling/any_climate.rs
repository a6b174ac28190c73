//! Any temperature and whatever can be made of it, for the property tests of the spelling.

use proptest::prelude::*;
use proptest::sample::select;
use shared_types::{
    Climate, Correction, EXPANSION_MAX_E9, Expansion, Length, NotCorrected, Seq, Temperature,
    TemperatureOf, Warmth,
};

pub(super) fn expansion() -> impl Strategy<Value = Expansion> {
    (0..=EXPANSION_MAX_E9).prop_map(|e9| Expansion::from_e9(e9).unwrap())
}

pub(super) fn temperature() -> impl Strategy<Value = Temperature> {
    prop_oneof![
        (-400_000_i32..=600_000).prop_map(|c| (c, 'C')),
        (-400_000_i32..=1_400_000).prop_map(|f| (f, 'F')),
    ]
    .prop_map(|(places, unit)| {
        let (sign, size) = (if places < 0 { "-" } else { "" }, places.abs());
        let text = format!("{sign}{}.{:04} {unit}", size / 10_000, size % 10_000);
        text.parse().unwrap()
    })
}

pub(super) fn temperature_of() -> impl Strategy<Value = TemperatureOf> {
    select(vec![
        TemperatureOf::Piece,
        TemperatureOf::Gauge,
        TemperatureOf::Both,
    ])
}

pub(super) fn climate() -> impl Strategy<Value = Climate> {
    let shop = prop::option::of((temperature(), temperature()));
    (any::<bool>(), shop, any::<[u32; 4]>()).prop_map(
        |(correct, shop, [off, apart, typed, sensor])| Climate {
            correct,
            shop,
            off_mk: off,
            apart_mk: apart,
            typed_holds_s: typed,
            sensor_holds_s: sensor,
        },
    )
}

pub(super) fn correction() -> impl Strategy<Value = Correction> {
    let warmth = || {
        (temperature(), any::<u64>(), expansion()).prop_map(|(temperature, from, expansion)| {
            Warmth {
                temperature,
                from: Seq(from),
                expansion,
            }
        })
    };
    let not = select(vec![
        NotCorrected::NoTemperature,
        NotCorrected::NoPieceTemperature,
        NotCorrected::NoGaugeTemperature,
        NotCorrected::NoExpansion,
        NotCorrected::OutOfRange,
    ]);
    let read = (-1_000_000_000_000_000_i64..=1_000_000_000_000_000)
        .prop_map(|pm| Length::from_pm(pm).unwrap());
    prop_oneof![
        not.prop_map(Correction::Not),
        (read, warmth(), warmth()).prop_map(|(read, piece, gauge)| Correction::Made {
            read,
            piece,
            gauge
        }),
    ]
}
