//! What of the temperature goes into the uncertainty of a length.
//!
//! Where a length is judged as read, all of it: how far from 20 °C it was, or may have been, is a part like the others,
//! rectangular, though an offset that is known and left alone is no chance. Where it was corrected, only what is not
//! known: how far the thermometers may be off, and the coefficients.

use shared_types::{
    Climate, Correction, Expansion, GaugeId, GaugeSetup, PieceId, Quantity, Shop,
    TEMPERATURE_GRAINS_PER_K, Temperature, Temperatures,
};

use crate::correction::AsRead;
use crate::uncertainty;

/// For sheet of which it is not known: no usual one grows more.
const SHEET_MOST_E9: u32 = 24_000;
/// Of a correction, one part in so many is uncertain with the coefficients: ISO 3650 allows gauge steel ± 1.0e-6 on
/// 11.5e-6, and tables of sheet differ less.
const COEFFICIENT_PART: u32 = 10;

/// The temperature's part in the uncertainty of a length that `gauge` reads on `piece`, by what was given at its
/// bench and holds at a time; `None` where nothing is known of the temperature.
#[must_use]
pub fn thermal(
    shop: &Shop,
    (temperatures, at_us): (&Temperatures, i64),
    (piece, gauge): (&PieceId, &GaugeId),
    correction: Option<&Correction>,
) -> Option<uncertainty::Temperature> {
    let climate = shop.climate();
    let is_corrected = matches!(correction, Some(Correction::Made { .. }));
    let given = given(temperatures, at_us, &climate, is_corrected);
    let (off_20_mk, apart_mk, mut source) = given.or_else(|| stated(&climate))?;
    let adopted = shop.parts.get(piece.part());
    let sheet = adopted.and_then(|adopted| adopted.plan.sheet.expansion.as_ref());
    if sheet.is_none() {
        source.push_str("; the sheet's expansion is not known, 24e-6 / K supposed");
    }
    let gauge = shop.gauge_setup(gauge);
    let gauge = gauge.and_then(|gauge| gauge.trust.expansion);
    Some(uncertainty::Temperature {
        off_20_mk,
        apart_mk,
        piece_e9: sheet.map_or(SHEET_MOST_E9, |stated| stated.value.e9()),
        gauge_e9: gauge.unwrap_or(Expansion::STEEL).e9(),
        source,
    })
}

/// The same for a reading that came now, of what lies on the gauge's bench.
pub(crate) fn now(
    shop: &Shop,
    gauge: &GaugeSetup,
    size: Quantity,
) -> Option<uncertainty::Temperature> {
    let bench = shop.benches.get(&gauge.bench)?;
    let (piece, _) = bench.on_bench.as_ref()?;
    let felt = (&bench.temperatures, when_given(&bench.temperatures));
    let as_read = AsRead {
        value: size,
        at_us: felt.1,
        gauge: &gauge.id,
        temperatures: felt.0,
    };
    let (_, correction) = as_read.at_20(shop, piece);
    thermal(shop, felt, (piece, &gauge.id), correction.as_ref())
}

/// The moment at which all that was given last still holds: for a reading of which nobody remembers when it came.
pub(crate) fn when_given(temperatures: &Temperatures) -> i64 {
    let Temperatures { piece, gauge, both } = temperatures;
    let given = [piece, gauge, both].into_iter().flatten();
    given.map(|felt| felt.at_us).max().unwrap_or_default()
}

/// How far off 20 °C, how far apart, and by what.
type Spread = (u32, u32, String);

/// By temperatures that were given and hold.
fn given(
    temperatures: &Temperatures,
    at_us: i64,
    climate: &Climate,
    is_corrected: bool,
) -> Option<Spread> {
    let piece = temperatures.of_piece(at_us, climate)?;
    let gauge = temperatures.of_gauge(at_us, climate)?;
    let apart_mk = if piece.seq == gauge.seq {
        climate.apart_mk
    } else {
        // Each may be off, one the other way than the other.
        2 * climate.off_mk
    };
    let (off, kelvins) = (climate.off_mk, kelvins(climate.off_mk));
    let source = format!(
        "piece {} (entry {}), gauge {} (entry {}), each ± {kelvins} K",
        piece.value, piece.seq, gauge.value, gauge.seq
    );
    Some(if is_corrected {
        let moved_mk = mk(piece.value, Temperature::REFERENCE);
        let apart_mk = apart_mk + moved_mk.div_ceil(COEFFICIENT_PART);
        let source = format!("{source}; corrected, but for a tenth: the coefficients");
        (off, apart_mk, source)
    } else {
        let off_20_mk = mk(gauge.value, Temperature::REFERENCE) + off;
        let apart_mk = mk(piece.value, gauge.value) + apart_mk;
        (
            off_20_mk,
            apart_mk,
            format!("{source}; not corrected to 20 °C (ISO 1)"),
        )
    })
}

/// By what is stated of the shop.
fn stated(climate: &Climate) -> Option<Spread> {
    let (from, to) = climate.shop?;
    let [from_mk, to_mk] = [from, to].map(|end| mk(end, Temperature::REFERENCE));
    let source = format!("shop stated as {from} to {to}, against 20 °C (ISO 1)");
    Some((from_mk.max(to_mk), climate.apart_mk, source))
}

/// How far apart two temperatures are, in thousandths of a kelvin, rounded up.
fn mk(one: Temperature, other: Temperature) -> u32 {
    let grains = one.above(other).unsigned_abs();
    grains.div_ceil(TEMPERATURE_GRAINS_PER_K.unsigned_abs() / 1000)
}

/// Thousandths of a kelvin in kelvins: `1`, `0.5`.
fn kelvins(mk: u32) -> String {
    let text = format!("{}.{:03}", mk / 1000, mk % 1000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
