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
//! [section.finished]               # what the part keeps after trimming: free edges of the end legs, and the
//! first = "7/8 in"                 # strip's length; each only where more was laid out
//! length = "23 3/4 in"
//! [[section.hole]]                 # as in every family, and on which leg: x from the leg's beginning, its free
//! leg = 2                          # edge or outer mold line whatever `given` is, y from the bottom end of the strip
//! diameter = "1/8 in"
//! x = "1 in"
//! y = "3 in"
//! ```
//!
//! A leg runs from its free edge or from bend to bend. `mold-line`: to the crossing of the outer faces.
//! `outside`: over the outside as jaws take it, which is the same up to square; past square it is the bulge
//! of the bend, as DIN 6935 has it. `inside`: to the crossing of the inner faces.

mod blank;
mod drawn;
mod formed;
mod hole;
mod profile;
mod read;
mod solved;

use shared_types::{Angle, Length, Stage, Warning};

use crate::family::Family;
use crate::form::{At, Table};
use crate::hole::Hole;
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
    /// By leg.
    holes: Vec<Hole>,
    finished: Finished,
    /// Under which key its legs stand, for mistakes.
    key: &'static str,
    at: At,
}

/// `[section.finished]`: what the part keeps of what was laid out, and where that stands.
#[derive(Clone, Copy, Debug, Default)]
struct Finished {
    first: Option<(Length, At)>,
    last: Option<(Length, At)>,
    length: Option<(Length, At)>,
}

impl Section {
    /// The section after trimming, where anything is trimmed.
    fn kept(&self) -> Option<Self> {
        let Finished {
            first,
            last,
            length,
        } = self.finished;
        first.or(last).or(length)?;
        let mut legs = self.legs.clone();
        if let (Some(first), Some(leg)) = (first, legs.first_mut()) {
            *leg = first;
        }
        if let (Some(last), Some(leg)) = (last, legs.last_mut()) {
            *leg = last;
        }
        let (length, length_at) = length.unwrap_or((self.length, self.length_at));
        Some(Self {
            length,
            length_at,
            legs,
            bends: self.bends.clone(),
            holes: Vec::new(),
            key: "finished",
            ..*self
        })
    }
}

/// One `[[section.bend]]`.
#[derive(Clone, Debug)]
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
    let thickness = stock.sheet.thickness;
    let solved = Solved::solve(section, Stage::Formed, thickness, rules, root)?;
    let kept = section.kept();
    let trimmed = match &kept {
        Some(kept) => Some(Solved::solve(kept, Stage::Trimmed, thickness, rules, root)?),
        None => None,
    };
    if !hole::are_sound(&solved, root) {
        return None;
    }
    let mut drafts = blank::drafts(&solved);
    drafts.extend(hole::drafts(&solved));
    drafts.extend(formed::drafts(&solved));
    let mut views = drawn::views(&solved);
    views.extend(section.holes.iter().filter_map(Hole::section));
    if let Some(trimmed) = &trimmed {
        drafts.extend(formed::trimmed(trimmed));
        views.push(drawn::formed(trimmed));
        views.extend(drawn::length(trimmed));
    }
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
    warnings.extend(hole::warnings(&solved, stock));
    Some(Family {
        drafts,
        views,
        warnings,
        bends: blank::bends(&solved),
        ..Family::default()
    })
}
