//! The families of parts: which one a part file defines, and what every one makes of it.

use shared_types::{Bend, View, Warning};

use crate::BuildRules;
use crate::cornered::{self, Cornered};
use crate::derived::DerivedDraft;
use crate::draft::Draft;
use crate::fit::Rim;
use crate::form::Table;
use crate::hole::Ground;
use crate::panel::{self, Panel};
use crate::plate::{self, Plate};
use crate::section::{self, Section};
use crate::stock::Stock;

/// What a family makes of its definition.
#[derive(Default)]
pub(crate) struct Family {
    /// In route order within each stage.
    pub(crate) drafts: Vec<Draft>,
    pub(crate) views: Vec<View>,
    pub(crate) warnings: Vec<Warning>,
    pub(crate) bends: Vec<Bend>,
    pub(crate) derived: Vec<DerivedDraft>,
    /// Its edges, as gaps are measured from them.
    pub(crate) rims: Vec<Rim>,
}

/// The definition of a part, each value checked by itself.
pub(crate) enum Definition {
    Panel(Panel),
    Cornered(Cornered),
    Plate(Plate),
    Section(Section),
    /// Nothing but characteristics stated outright.
    Free,
}

/// The tables that define a family.
pub(crate) const FAMILIES: [&str; 3] = ["panel", "plate", "section"];

impl Definition {
    /// Reads the one family that the file defines.
    pub(crate) fn read(root: &Table<'_>, ground: Ground) -> Option<Self> {
        let defined: Vec<&str> = FAMILIES.into_iter().filter(|name| root.has(name)).collect();
        if let [first, second, ..] = defined[..] {
            root.wrong(
                second,
                format!("found [{second}] beside [{first}], expected one family for each part"),
            );
        }
        match defined.first().copied() {
            Some("plate") => plate::read(&root.need("plate").table()?, ground).map(Self::Plate),
            Some("section") => {
                section::read(&root.need("section").table()?, ground).map(Self::Section)
            }
            Some(_) => {
                let table = root.need("panel").table()?;
                if table.has("outline") || table.has("trapezoid") {
                    cornered::read(&table, ground).map(Self::Cornered)
                } else {
                    panel::read(&table, ground).map(Self::Panel)
                }
            }
            None if root.has("characteristic") => Some(Self::Free),
            None => {
                root.missing_any(
                    "nothing says what the part is, expected one of [panel], [plate] and [section], or characteristics \
                     stated outright in [[characteristic]]",
                );
                None
            }
        }
    }

    /// Whether an opening can give its width and height.
    fn takes_openings(&self) -> bool {
        match self {
            Self::Panel(_) => true,
            Self::Plate(plate) => plate.is_rectangle(),
            Self::Cornered(_) | Self::Section(_) | Self::Free => false,
        }
    }

    /// Everything the house wants to know of the part. Nothing where a contradiction has been told.
    pub(crate) fn family(
        &self,
        stock: &Stock,
        rules: &BuildRules,
        ground: Ground,
        root: &Table<'_>,
    ) -> Option<Family> {
        if let Some(key) = ground.openings.key()
            && !self.takes_openings()
        {
            root.tell(
                root.at_of("fit"),
                format!(
                    "fit.{key}: found it for a part whose size it cannot give, expected a [panel] or a [plate] with width \
                     and height"
                ),
            );
            return None;
        }
        match self {
            Self::Panel(panel) => panel::family(panel, stock, rules, root),
            Self::Cornered(panel) => cornered::family(panel, stock, rules, root),
            Self::Plate(plate) => plate::family(plate, stock, rules, root),
            Self::Section(section) => section::family(section, stock, rules, root),
            Self::Free => Some(Family::default()),
        }
    }
}
