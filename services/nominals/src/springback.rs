//! How far a bend springs back, predicted from published formulas and tables.
//!
//! A bend over a tool of radius Ri and through the angle αi relaxes to Rf and αf. The length of the middle
//! surface stays, so that Ks = αf/αi = (Ri + T/2)/(Rf + T/2). Both ways give Ks; the tool then turns the
//! sheet through A/Ks.
//!
//! It is a prediction to begin with, and good to a degree or two. The cubic is derived for a sheet that
//! yields without hardening, is bent to one radius all along and touches the tool; hand work over a block
//! does none of this exactly, and the yield strength of one sheet differs from the typical one. The table
//! does not state its tempers. A strip of the same sheet, bent over the same radius and measured, is worth more.

use shared_types::{Angle, Length, Sheet};

use crate::bend::{BEND_ANGLE_MAX_DEG, Bend};
use crate::measure;

/// Yield strength and modulus of elasticity in ksi: typical values of wrought aluminium, the yield
/// strengths from handbook tables of typical properties; 6061-O from memory.
const MATERIALS_KSI: [(&str, f64, f64); 6] = [
    ("2024-T3", 50.0, 10_600.0),
    ("3003-H14", 21.0, 10_000.0),
    ("3003-O", 6.0, 10_000.0),
    ("5052-H32", 28.0, 10_200.0),
    ("6061-O", 8.0, 10_000.0),
    ("6061-T6", 40.0, 10_000.0),
];

/// Ratios of finished inside radius to thickness of the table's columns (from memory) and its factors kR in
/// hundredths, Tabellenbuch Metall; the tempers are not stated.
const RATIOS: [f64; 11] = [1.0, 1.6, 2.5, 4.0, 6.3, 10.0, 16.0, 25.0, 40.0, 63.0, 100.0];
const FACTORS: [(&str, [u8; 11]); 2] = [
    ("1200", [99, 99, 99, 99, 98, 98, 97, 97, 96, 95, 93]),
    ("6082", [98, 98, 97, 96, 95, 93, 90, 86, 82, 76, 72]),
];

/// What a prediction rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Basis {
    /// Ri/Rf = 4x³ − 3x + 1.
    Cubic,
    /// kR of the Tabellenbuch.
    Table,
    /// Stated in the part file.
    Stated,
}

/// A springback, and the angle through which the tool turns the sheet for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Springback {
    pub(crate) tool: Angle,
    pub(crate) back: Angle,
    pub(crate) basis: Basis,
}

impl Springback {
    /// Predicted for a bend in a sheet; nothing where no strength or factor is known for its alloy, or
    /// where the tool would have to turn it further than any.
    pub(crate) fn predict(bend: &Bend, sheet: &Sheet) -> Option<Self> {
        let (ks, basis) = match factor(bend, &sheet.alloy) {
            Some(kr) => (kr, Basis::Table),
            None => (cubic(bend, &sheet.alloy)?, Basis::Cubic),
        };
        let tool = measure::angle(bend.radians().to_degrees() / ks)?;
        Self::to(bend, tool, basis)
    }

    /// As the part file states it.
    pub(crate) fn stated(bend: &Bend, back: Angle) -> Option<Self> {
        let tool = Angle::from_mas(bend.angle.mas() + back.mas())?;
        Self::to(bend, tool, Basis::Stated)
    }

    fn to(bend: &Bend, tool: Angle, basis: Basis) -> Option<Self> {
        let most = Angle::from_mas(BEND_ANGLE_MAX_DEG * 3_600_000)?;
        let back = Angle::from_mas(tool.mas() - bend.angle.mas())?;
        (tool <= most).then_some(Self { tool, back, basis })
    }
}

/// An alloy as tables name it: upper case, without the European prefix.
fn plain(alloy: &str) -> String {
    let alloy = alloy.trim().to_ascii_uppercase();
    let alloy = alloy.strip_prefix("EN AW-").unwrap_or(&alloy);
    if alloy.starts_with("AL99.0") {
        "1200".to_owned()
    } else {
        alloy.to_owned()
    }
}

/// kR between two columns in proportion; below the first column the first counts, beyond the last none does.
fn factor(bend: &Bend, alloy: &str) -> Option<f64> {
    let alloy = plain(alloy);
    let (_, row) = FACTORS
        .iter()
        .find(|(name, _)| alloy.split('-').next() == Some(name))?;
    let ratio = ratio(bend.radius, bend.thickness);
    let over = RATIOS.iter().position(|column| ratio <= *column)?;
    let high = f64::from(row[over]) / 100.0;
    let Some(under) = over.checked_sub(1) else {
        return Some(high);
    };
    let low = f64::from(row[under]) / 100.0;
    let part = (ratio - RATIOS[under]) / (RATIOS[over] - RATIOS[under]);
    Some(low + part * (high - low))
}

fn cubic(bend: &Bend, alloy: &str) -> Option<f64> {
    let alloy = plain(alloy);
    let (_, y, e) = MATERIALS_KSI.iter().find(|(name, ..)| alloy == *name)?;
    ks(ratio(bend.radius, bend.thickness), y / e)
}

/// Ks for a ratio of tool radius to thickness and of yield strength to modulus. Past x = 1/2 the whole sheet
/// stays elastic and keeps no bend.
fn ks(radius_to_t: f64, y_to_e: f64) -> Option<f64> {
    let x = radius_to_t * y_to_e;
    if x >= 0.5 {
        return None;
    }
    let finished = radius_to_t / relaxed(x);
    Some((2.0 * radius_to_t + 1.0) / (2.0 * finished + 1.0))
}

/// Ri/Rf = 4x³ − 3x + 1, MIT OCW 2.008; Gardiner 1957.
fn relaxed(x: f64) -> f64 {
    4.0 * x.powi(3) - 3.0 * x + 1.0
}

fn ratio(radius: Length, thickness: Length) -> f64 {
    radius.pm() as f64 / thickness.pm() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bend(radius: &str) -> Bend {
        Bend {
            thickness: Length::parse("1 mm").unwrap(),
            radius: Length::parse(radius).unwrap(),
            angle: Angle::parse("90 deg").unwrap(),
        }
    }

    #[test]
    fn the_steel_bend_of_kalpakjian_and_schmid_comes_out() {
        // T .0359, Ri .5, Y 40 000 psi, E 29e6 (inputs read): x = .01921, Ri/Rf = .9424, αi about 95° for 90°
        // (from memory).
        let (ri, t, y, e) = (0.5, 0.0359, 40_000.0, 29e6);
        let x: f64 = ri * y / (e * t);
        assert!((x - 0.019_21).abs() < 0.000_005, "{x}");
        assert!((relaxed(x) - 0.942_4).abs() < 0.000_05);
        let tool = 90.0 / ks(ri / t, y / e).unwrap();
        assert!((tool - 95.0).abs() < 0.5, "{tool}");
    }

    #[test]
    fn the_factors_of_the_tabellenbuch_are_met_at_every_column_and_lie_between_two_in_between() {
        // Rows read, header from memory.
        let row = [
            0.98, 0.98, 0.97, 0.96, 0.95, 0.93, 0.90, 0.86, 0.82, 0.76, 0.72,
        ];
        let columns = [
            "1", "1.6", "2.5", "4", "6.3", "10", "16", "25", "40", "63", "100",
        ];
        for (column, kr) in columns.into_iter().zip(row) {
            let found = factor(&bend(&format!("{column} mm")), "EN AW-6082").unwrap();
            assert!((found - kr).abs() < 1e-12, "{column}: {found}");
        }
        let between = factor(&bend("13 mm"), "6082-T6").unwrap();
        assert!((between - 0.915).abs() < 1e-12, "{between}");
        assert_eq!(factor(&bend("101 mm"), "6082-T6"), None);
        assert_eq!(factor(&bend("4 mm"), "6061-T6"), None);
    }

    #[test]
    fn a_sheet_that_stays_elastic_keeps_no_bend_and_a_sharp_bend_does_not_spring_back() {
        assert_eq!(ks(100.0, 0.005), None);
        assert_eq!(ks(0.0, 0.005), Some(1.0));
    }
}
