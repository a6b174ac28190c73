//! What of the temperature goes into the uncertainty of a length.
//!
//! Where a length is judged as read, all of it: how far from 20 °C it was, or may have been, is a part like the others,
//! rectangular, though an offset that is known and left alone is no chance (GUM F.2.4.5 allows it so where one does not
//! correct). Where it was corrected, only what is not known: how far the thermometers may be off, and the coefficients.

use shared_types::{
    Correction, Expansion, PieceId, Quantity, Shop, TEMPERATURE_GRAINS_PER_K, Temperature,
};

use crate::correction::AsRead;
use crate::uncertainty;

/// For sheet of which it is not known: no usual one grows more (tables of wrought aluminium end at 24e-6).
const SHEET_MOST_E9: u32 = 24_000;
/// Of a correction, one part in so many is uncertain with the coefficients: ISO 3650 allows gauge steel ± 1.0e-6 on
/// 11.5e-6, and tables of sheet differ less.
const COEFFICIENT_PART: u32 = 10;

impl AsRead<'_> {
    /// The temperature's part in the uncertainty; `None` of an angle, and where nothing is known of the temperature.
    pub(crate) fn thermal(
        &self,
        shop: &Shop,
        piece: &PieceId,
        correction: Option<&Correction>,
    ) -> Option<uncertainty::Temperature> {
        let Quantity::Length(_) = self.value else {
            return None;
        };
        let climate = shop.climate();
        let adopted = shop.parts.get(piece.part());
        let sheet = adopted.and_then(|adopted| adopted.plan.sheet.expansion.as_ref());
        let of_piece = self.temperatures.of_piece(self.at_us, &climate);
        let of_gauge = self.temperatures.of_gauge(self.at_us, &climate);
        let (off_20_mk, apart_mk, mut source) = match (of_piece, of_gauge, climate.shop) {
            (Some(of_piece), Some(of_gauge), _) => {
                let apart_mk = if of_piece.seq == of_gauge.seq {
                    climate.apart_mk
                } else {
                    // Two thermometers, or one read twice.
                    2 * climate.off_mk
                };
                let given = format!(
                    "piece {}, gauge {} as given, ± {} K",
                    of_piece.value,
                    of_gauge.value,
                    thousandths(climate.off_mk)
                );
                if matches!(correction, Some(Correction::Made { .. })) {
                    let moved_mk = mk(of_piece.value, Temperature::REFERENCE);
                    (
                        climate.off_mk,
                        apart_mk + moved_mk.div_ceil(COEFFICIENT_PART),
                        format!("{given}; corrected, but for a tenth (coefficients, ISO 3650)"),
                    )
                } else {
                    (
                        mk(of_gauge.value, Temperature::REFERENCE) + climate.off_mk,
                        mk(of_piece.value, of_gauge.value) + apart_mk,
                        format!("{given}; not corrected to 20 °C (ISO 1)"),
                    )
                }
            }
            (_, _, Some((from, to))) => {
                let [from_mk, to_mk] = [from, to].map(|end| mk(end, Temperature::REFERENCE));
                (
                    from_mk.max(to_mk),
                    climate.apart_mk,
                    format!("shop stated {from} to {to}, against 20 °C (ISO 1)"),
                )
            }
            _ => return None,
        };
        let piece_e9 = sheet.map_or(SHEET_MOST_E9, |stated| stated.value.e9());
        if sheet.is_none() {
            source.push_str("; the sheet's expansion is not known, 24e-6 / K supposed");
        }
        let gauge = shop.gauge_setup(self.gauge);
        let gauge = gauge.and_then(|gauge| gauge.trust.expansion);
        Some(uncertainty::Temperature {
            off_20_mk,
            apart_mk,
            piece_e9,
            gauge_e9: gauge.unwrap_or(Expansion::STEEL).e9(),
            source,
        })
    }
}

/// How far apart two temperatures are, in thousandths of a kelvin, rounded up.
fn mk(one: Temperature, other: Temperature) -> u32 {
    let grains = one.above(other).unsigned_abs();
    grains.div_ceil(TEMPERATURE_GRAINS_PER_K.unsigned_abs() / 1000)
}

/// Thousandths of a kelvin in kelvins: `1`, `0.5`.
fn thousandths(mk: u32) -> String {
    let text = format!("{}.{:03}", mk / 1000, mk % 1000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
