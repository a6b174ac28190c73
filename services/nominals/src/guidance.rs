//! Guidance from published tables: not acceptance limits, only what a builder should know before
//! cutting.

use shared_types::{Length, PM_PER_INCH, Sheet, Warning};

use crate::draft::mm;
use crate::measure::Measure;

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
