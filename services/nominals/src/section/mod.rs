//! The family `section`: a strip formed by a sequence of legs and bends, the same all along its length:
//! angles, channels, zees, hats.
//!
//! ```toml
//! [section]
//! given = "outside"                # what the legs run to, see below
//! length = "24 in"                 # along the bends
//! legs = ["1 in", "2 in", "1 in"]
//! [[section.bend]]                 # between the first leg and the second
//! turn = "up"
//! angle = "90 deg"                 # turned through: 0° is flat
//! radius = "1/8 in"                # inside
//! [[section.bend]]
//! turn = "up"
//! angle = "90 deg"
//! radius = "1/8 in"
//! ```
//!
//! A leg runs from its free edge or from bend to bend. `mold-line`: to the crossing of the outer faces.
//! `outside`: over the outside as jaws take it, which is the same up to square; past square it is the bulge
//! of the bend, as DIN 6935 has it. `inside`: to the crossing of the inner faces.

mod blank;
mod drawn;
mod formed;
mod profile;
mod read;
mod solved;

use shared_types::{Angle, Length, Warning};

use crate::family::Family;
use crate::form::{At, Table};
use crate::stock::{Grain, Stock};
use crate::{BuildRules, guidance};

pub(crate) use read::read;
use solved::Solved;

/// What the plan's legs run to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Given {
    Outside,
    Inside,
    MoldLine,
}

/// Which way the strip turns, laid flat with the first leg to the left.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Turn {
    Up,
    Down,
}

/// A section as its file defines it, each value checked by itself.
#[derive(Debug)]
pub(crate) struct Section {
    given: Given,
    length: Length,
    length_at: At,
    /// One more than bends.
    legs: Vec<(Length, At)>,
    bends: Vec<Turned>,
    at: At,
}

/// One `[[section.bend]]`.
#[derive(Debug)]
struct Turned {
    turn: Turn,
    angle: Angle,
    radius: Length,
    at: At,
}

/// Everything the house wants to know of a section. Nothing where a contradiction has been told.
pub(crate) fn family(
    section: &Section,
    stock: &Stock,
    rules: &BuildRules,
    root: &Table<'_>,
) -> Option<Family> {
    let solved = Solved::solve(section, stock.sheet.thickness, rules, root)?;
    let mut drafts = blank::drafts(&solved);
    drafts.extend(formed::drafts(&solved));
    let mut warnings: Vec<Warning> = Vec::new();
    for (index, bend) in section.bends.iter().enumerate() {
        let what = format!("bend {}", index + 1);
        warnings.extend(guidance::radius(&what, bend.radius, &stock.sheet));
    }
    for (leg, solid) in [
        (0, solved.bends.first()),
        (section.bends.len(), solved.bends.last()),
    ] {
        let kept = solved.mold_line(leg).length();
        if let (Some(kept), Some(solid)) = (kept, solid) {
            let what = format!("leg {}", leg + 1);
            warnings.extend(guidance::short_flange(&what, kept, &solid.bend));
        }
    }
    if stock.grain == Some(Grain::Height) {
        warnings.push(guidance::along_grain("all bends"));
    }
    Some(Family {
        drafts,
        views: drawn::views(&solved),
        warnings,
        bends: blank::bends(&solved),
    })
}
