//! Lengths at 20 °C, the temperature at which every dimension is meant (ISO 1), where a build asks for it.
//!
//! A gauge that is warm shows too little and a piece that is warm is too long:
//! L20 = L (1 + αg (tg − 20 °C)) / (1 + αp (tp − 20 °C)), exact but for one rounding to the picometre. Angles stay
//! as they are: a piece that is warm all over keeps its shape.

use crate::known::instrument;
use shared_types::{
    Correction, Expansion, Felt, GaugeId, Length, NotCorrected, PieceId, Quantity, Shop,
    TEMPERATURE_GRAINS_PER_K, Temperature, Temperatures, Warmth,
};

/// A value as a gauge said it, and how warm it was said to be then.
pub(crate) struct AsRead<'a> {
    pub(crate) value: Quantity,
    /// When it came.
    pub(crate) at_us: i64,
    pub(crate) gauge: &'a GaugeId,
    pub(crate) temperatures: &'a Temperatures,
}

impl AsRead<'_> {
    /// The value to judge as one of `piece`; and how it was corrected, or why not, where that is asked for.
    pub(crate) fn at_20(&self, shop: &Shop, piece: &PieceId) -> (Quantity, Option<Correction>) {
        let Quantity::Length(read) = self.value else {
            return (self.value, None);
        };
        if !shop.climate().correct {
            return (self.value, None);
        }
        let made = self.warmths(shop, piece).and_then(|(piece, gauge)| {
            let value = at_20(read, &piece, &gauge).ok_or(NotCorrected::OutOfRange)?;
            Ok((value, piece, gauge))
        });
        match made {
            Ok((value, piece, gauge)) => (
                Quantity::Length(value),
                Some(Correction::Made { read, piece, gauge }),
            ),
            Err(why) => (self.value, Some(Correction::Not(why))),
        }
    }

    fn warmths(&self, shop: &Shop, piece: &PieceId) -> Result<(Warmth, Warmth), NotCorrected> {
        let climate = shop.climate();
        let of_piece = self.temperatures.of_piece(self.at_us, &climate);
        let of_gauge = self.temperatures.of_gauge(self.at_us, &climate);
        let (of_piece, of_gauge) = match (of_piece, of_gauge) {
            (Some(of_piece), Some(of_gauge)) => (of_piece, of_gauge),
            (None, None) => return Err(NotCorrected::NoTemperature),
            (None, Some(_)) => return Err(NotCorrected::NoPieceTemperature),
            (Some(_), None) => return Err(NotCorrected::NoGaugeTemperature),
        };
        let adopted = shop.parts.get(piece.part());
        let sheet = adopted.and_then(|adopted| adopted.plan.sheet.expansion.as_ref());
        let sheet = sheet.ok_or(NotCorrected::NoExpansion)?.value;
        // What is typed was read off another instrument.
        let gauge = instrument(shop, self.gauge, self.value);
        let steel = gauge
            .and_then(|gauge| gauge.trust.expansion)
            .unwrap_or(Expansion::STEEL);
        Ok((warmth(of_piece, sheet), warmth(of_gauge, steel)))
    }
}

fn warmth(felt: &Felt, expansion: Expansion) -> Warmth {
    Warmth {
        temperature: felt.value,
        from: felt.seq,
        expansion,
    }
}

/// A length at 20 °C, as read on a piece with a gauge that are as warm as given; `None` beyond the range of a length.
#[must_use]
pub fn at_20(read: Length, piece: &Warmth, gauge: &Warmth) -> Option<Length> {
    read.scaled(growth(gauge), growth(piece))
}

/// 1 + α (t − 20 °C), in 1 / (1e9 × the grains of a kelvin).
fn growth(warmth: &Warmth) -> i128 {
    let above = warmth.temperature.above(Temperature::REFERENCE);
    1_000_000_000 * i128::from(TEMPERATURE_GRAINS_PER_K)
        + i128::from(warmth.expansion.e9()) * i128::from(above)
}
