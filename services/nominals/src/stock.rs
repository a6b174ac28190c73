//! The sheet a part is cut from, as `[sheet]` gives it.

use shared_types::{Expansion, Sheet, StatedExpansion};

use crate::expansion;
use crate::form::Table;
use crate::part::dimension;

/// The sheet, and which way its grain is laid.
#[derive(Clone, Debug)]
pub(crate) struct Stock {
    pub(crate) sheet: Sheet,
    /// `grain = "width"`: along the width of the part.
    pub(crate) grain: Option<Grain>,
}

/// Along which dimension of the part the grain of the sheet runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Grain {
    /// Left to right; across the bends of a section.
    Width,
    /// Bottom to top, or along the length of a section.
    Height,
}

/// Reads `[sheet]`.
pub(crate) fn read(table: &Table<'_>) -> Option<Stock> {
    table.only(&["alloy", "thickness", "grain", "expansion"]);
    let alloy = table.need("alloy").text();
    let thickness = dimension(table, "thickness", true);
    let grain = table.may("grain").word(&[
        ("width", Grain::Width),
        ("height", Grain::Height),
        ("length", Grain::Height),
    ]);
    let stated = table
        .may("expansion")
        .parsed::<Expansion>("a coefficient such as \"23.6e-6 / K\"");
    let sound = grain.is_some() == table.has("grain") && stated.is_some() == table.has("expansion");
    let alloy = alloy?;
    let expansion = match stated {
        Some(value) => Some(StatedExpansion {
            value,
            source: "stated in the part file".to_owned(),
        }),
        None => expansion::of(&alloy),
    };
    sound.then_some(Stock {
        sheet: Sheet {
            alloy,
            expansion,
            thickness: thickness?,
        },
        grain,
    })
}
