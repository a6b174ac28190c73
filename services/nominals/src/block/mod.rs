//! Form blocks, whatever panel is worked over them: edges rounded to the bend radius, sides bevelled by the
//! springback.
//!
//! A block lies on the web. Flanges turned up are worked over one on its inside face; where others are turned down,
//! they are worked over a second one on its outside face.

mod draft;
mod read;
mod section;

use shared_types::{Angle, CharacteristicId, Length, Sheet};

use crate::bend::Bend;
use crate::draft::{both, deg, mm};
use crate::flange::{Bent, Direction, Flange};
use crate::form::{At, Table};
use crate::measure::Measure;
use crate::springback::{Basis, Springback};

pub(crate) use draft::{bevel, draft, radius, trust};
pub(crate) use read::read;
pub(crate) use section::view as section;

/// `[panel.block]`: the panel is formed over a block.
#[derive(Debug)]
pub(crate) struct Block {
    /// Instead of the prediction.
    springback: Option<Angle>,
    pub(crate) at: At,
}

/// How an edge of a block is named.
pub(crate) struct Named {
    pub(crate) id: String,
    /// `left edge`, `edge 1–2`.
    pub(crate) edge: String,
    /// `left side`, `side at edge 1–2`.
    pub(crate) side: String,
}

/// One edge of a block.
pub(crate) struct Side<E> {
    pub(crate) edge: E,
    pub(crate) named: Named,
    pub(crate) direction: Direction,
    /// As high as the flange is worked.
    formed: Length,
    bend: Bend,
    /// The bend the sheet makes over it before it springs back.
    pub(crate) tool: Bend,
    springback: Springback,
}

impl<E> Side<E> {
    /// What the history is to know of it, where both angles are characteristics.
    pub(crate) fn springback(&self) -> Option<shared_types::Springback> {
        let id = |text: String| CharacteristicId::new(&text).ok();
        Some(shared_types::Springback {
            block: id(format!(
                "{}.angle.{}",
                self.direction.block_id(),
                self.named.id
            ))?,
            formed: id(format!("formed.angle.{}", self.named.id))?,
            back: self.springback.back,
            stated: self.springback.basis == Basis::Stated,
        })
    }

    /// From the web's tangent line out to where face and side of the block would meet unrounded.
    pub(crate) fn overhang(&self) -> Measure {
        Measure::exact(self.tool.radius).times(self.tool.k())
    }
}

/// The sides of all blocks in the order of `bents`; tells every flange that no block can be made for.
pub(crate) fn sides<'p, E: Copy + 'p>(
    block: &Block,
    sheet: &Sheet,
    bents: &[(E, &Bent<'p, E>)],
    named: impl Fn(E) -> Named,
    words: impl Fn(&[E]) -> String,
    root: &Table<'_>,
) -> Option<Vec<Side<E>>> {
    if bents.is_empty() {
        let what = "panel.block: no edge has a flange, expected no form block";
        root.tell(block.at, what);
        return None;
    }
    let mut sides = Vec::new();
    // One flange on several edges is one cause.
    let mut refused: Vec<&Flange<E>> = Vec::new();
    for (edge, bent) in bents {
        let bend = &bent.bend;
        let springback = match block.springback {
            Some(back) => Springback::stated(bend, back),
            None => Springback::predict(bend, sheet),
        };
        match springback {
            Some(springback) => sides.push(Side {
                edge: *edge,
                named: named(*edge),
                direction: bent.flange.direction,
                formed: bent.flange.formed,
                bend: *bend,
                tool: Bend {
                    angle: springback.tool,
                    ..*bend
                },
                springback,
            }),
            None if refused
                .iter()
                .any(|flange| std::ptr::eq(*flange, bent.flange)) => {}
            None => {
                refused.push(bent.flange);
                let same = |other: &&(E, &Bent<'p, E>)| std::ptr::eq(other.1.flange, bent.flange);
                let alike: Vec<E> = bents.iter().filter(same).map(|(edge, _)| *edge).collect();
                root.tell(block.at, cannot(&words(&alike), bend, block, sheet));
            }
        }
    }
    refused.is_empty().then_some(sides)
}

fn cannot(edges: &str, bend: &Bend, block: &Block, sheet: &Sheet) -> String {
    match block.springback {
        Some(back) => format!(
            "panel.block.springback: {edges}: the sheet would have to be turned through {} and {} more, which is past 170°, \
             expected less",
            deg(bend.angle),
            deg(back)
        ),
        None => format!(
            "panel.block: {edges}: there is no springback to predict for {}, {}, over a radius of {}, expected \
             springback = \"3 deg\" or the like, as a strip of the sheet bent over that radius shows it",
            sheet.alloy.trim(),
            both(bend),
            mm(bend.radius.into())
        ),
    }
}
