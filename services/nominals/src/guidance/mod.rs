//! Guidance from published tables: not acceptance limits, only what a builder should know before
//! cutting.

mod curved;

use shared_types::{Length, PM_PER_INCH, PM_PER_MM, Sheet, Warning};

use crate::bend::Bend;
use crate::draft::mm;
use crate::hole::Hole;
use crate::measure::Measure;

pub(crate) use curved::{Curve, shrink, stretch};

/// Thickness of the columns, in 64ths of an inch.
const COLUMNS_64THS: [i64; 6] = [1, 2, 4, 8, 12, 16];

/// Minimum inside radii for 90° cold bends in halves of the thickness, by column.
/// Aluminum Design Manual 2005, part VII, table 3-1.
const RADII_HALF_T: [(&str, [i64; 6]); 10] = [
    ("2024-O", [0, 0, 0, 1, 2, 2]),
    ("2024-T3", [5, 6, 8, 10, 10, 12]),
    ("3003-O", [0, 0, 0, 0, 1, 2]),
    ("3003-H14", [0, 0, 0, 2, 2, 3]),
    ("5052-O", [0, 0, 0, 1, 2, 2]),
    ("5052-H32", [0, 0, 2, 3, 3, 3]),
    ("5052-H34", [0, 2, 3, 4, 4, 5]),
    ("6061-O", [0, 0, 0, 2, 2, 2]),
    ("6061-T4", [0, 0, 2, 3, 5, 6]),
    ("6061-T6", [2, 2, 3, 5, 6, 7]),
];

/// Sheet up to and including (thousandths of an inch), and the smallest relief hole (64ths of an inch).
/// FAA-H-8083-31 chapter 4 names 0.072 to 0.128 in for the second row; between 0.064 and 0.072 in, where
/// it says nothing, the larger hole is taken.
const RELIEF: [(i64, i64); 2] = [(64, 8), (128, 12)];

/// Aluminium sheet as it is sold: thousandths of an inch from handbooks of sheet stock, and tenths of a
/// millimetre by common practice, no source.
const STOCK_MIL: [i64; 15] = [
    12, 16, 20, 25, 32, 40, 50, 63, 71, 80, 90, 100, 125, 160, 190,
];
const STOCK_TENTHS_MM: [i64; 11] = [4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40];

/// Warns of a radius below the published minimum for the alloy, temper and thickness. Between two
/// columns the thicker one counts, which asks for more. No answer for an alloy that is not in the table.
pub(crate) fn radius(what: &str, radius: Length, sheet: &Sheet) -> Option<Warning> {
    let (_, row) = RADII_HALF_T
        .iter()
        .find(|(alloy, _)| sheet.alloy.trim().eq_ignore_ascii_case(alloy))?;
    let t_pm = sheet.thickness.pm();
    let column = COLUMNS_64THS
        .iter()
        .position(|sixtyfourths| t_pm * 64 <= sixtyfourths * PM_PER_INCH)?;
    let half_t = row[column];
    if radius.pm() * 2 >= half_t * t_pm {
        return None;
    }
    let minimum = Measure::exact(sheet.thickness).times(half_t as f64 / 2.0);
    Some(Warning {
        what: format!(
            "{what}: the inside bend radius of {} is below {}, the published minimum for {} of {}; bend it \
             over a larger radius or use a softer temper",
            mm(radius.into()),
            mm(minimum),
            sheet.alloy.trim(),
            mm(sheet.thickness.into()),
        ),
        source: "Aluminum Design Manual 2005, part VII, table 3-1 (90° cold bends)".to_owned(),
    })
}

/// Warns of a relief hole below the handbook's minimum for aluminium sheet.
pub(crate) fn relief(diameter: Length, sheet: &Sheet) -> Option<Warning> {
    let t_pm = sheet.thickness.pm();
    let (_, sixtyfourths) = RELIEF
        .iter()
        .find(|(up_to_mil, _)| t_pm * 1000 <= up_to_mil * PM_PER_INCH)?;
    let minimum = Length::from_pm(sixtyfourths * PM_PER_INCH / 64)?;
    (diameter < minimum).then(|| Warning {
        what: format!(
            "relief holes: a diameter of {} is below {}, the handbook's minimum for sheet of {}; drill them larger, \
             so that no crack starts at the corners",
            mm(diameter.into()),
            mm(minimum.into()),
            mm(sheet.thickness.into()),
        ),
        source: "FAA-H-8083-31, chapter 4, relief holes".to_owned(),
    })
}

/// Notes an aluminium sheet of a thickness that is not a usual size.
pub(crate) fn thickness(sheet: &Sheet) -> Option<Warning> {
    let t_pm = sheet.thickness.pm();
    let alloy = sheet.alloy.trim().trim_start_matches("EN AW-");
    // Wrought aluminium has four digits; other metals are sold by other gauges.
    let aluminium = alloy.len() >= 4 && alloy.bytes().take(4).all(|b| b.is_ascii_digit());
    let sold = STOCK_MIL.iter().any(|mil| t_pm * 1000 == mil * PM_PER_INCH)
        || STOCK_TENTHS_MM
            .iter()
            .any(|tenths| t_pm * 10 == tenths * PM_PER_MM);
    (aluminium && !sold).then(|| {
        let nearest = STOCK_MIL
            .iter()
            .map(|mil| mil * PM_PER_INCH / 1000)
            .min_by_key(|stock| (stock - t_pm).abs())
            .and_then(Length::from_pm)
            .unwrap_or(sheet.thickness);
        Warning {
            what: format!(
                "sheet: {} is not a usual thickness of aluminium sheet, the nearest in inches is {} in; check what the \
                 plan means, and measure the sheet",
                mm(sheet.thickness.into()),
                nearest.exact_inches().unwrap_or_default()
            ),
            source: "sheet sizes of aluminium handbooks; metric sizes by common practice, no source".to_owned(),
        }
    })
}

/// Warns of a flange that leaves a tool little to hold: less than 3 T flat beyond the bend, which at a square
/// bend is a height below R + 4 T.
pub(crate) fn short_flange(what: &str, formed: Length, bend: &Bend) -> Option<Warning> {
    let flat = Measure::exact(formed) - bend.setback_measure();
    let least = Measure::exact(bend.thickness).times(3.0);
    (flat.pm() < least.pm()).then(|| Warning {
        what: format!(
            "{what}: {} flat beyond the bend, below {}, three times the sheet, which leaves little to form it by; lay it \
             out higher and trim it, or bend it over a smaller radius",
            mm(flat),
            mm(least)
        ),
        source: "common practice, no source".to_owned(),
    })
}

/// Warns of a bend line along the grain.
pub(crate) fn along_grain(what: &str) -> Warning {
    Warning {
        what: format!(
            "{what}: the bend line runs along the grain of the sheet, where it cracks sooner; turn the part on the sheet, \
             or give these bends a larger radius"
        ),
        source: "FAA-H-8083-31, chapter 4: bend lines preferably across the grain".to_owned(),
    }
}

/// Warns of holes that begin within 2 T of a bend tangent line and will be drawn out of round: of a row, of the one
/// that lies nearest.
pub(crate) fn near_bend(
    holes: &[Hole],
    thickness: Length,
    away: impl Fn(&Hole) -> Option<f64>,
) -> Vec<Warning> {
    let least = Measure::exact(thickness) + Measure::exact(thickness);
    let mut near: Vec<(&Hole, f64)> = Vec::new();
    for hole in holes {
        let Some(away) = away(hole).filter(|away| *away < least.pm()) else {
            continue;
        };
        match near.iter_mut().find(|(other, _)| other.group == hole.group) {
            Some(nearest) if nearest.1 <= away => {}
            Some(nearest) => *nearest = (hole, away),
            None => near.push((hole, away)),
        }
    }
    near.into_iter()
        .map(|(hole, away)| Warning {
            what: format!(
                "{}: its side lies {} from a bend tangent line, below {}, twice the sheet, and the bend will draw it out \
                 of round; drill it after forming, or move it",
                hole.called,
                mm(Measure::computed(away)),
                mm(least)
            ),
            source: "common practice, no source".to_owned(),
        })
        .collect()
}
