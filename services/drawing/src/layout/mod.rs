//! A part laid out at full size: blank and form block as PDF pages to tape together, as SVG, and as DXF.
//!
//! All three draw the same sheets, whose places are the plan's own coordinates, exact to the picometre.

mod blank;
mod blocks;
mod canvas;
mod dxf;
mod font;
mod foot;
mod ink;
mod measured;
mod notes;
mod page;
mod pdf;
mod svg;
mod tiles;

use shared_types::{DisplayUnits, Hand, Length, PartPlan, Stage};

use canvas::Canvas;
pub use font::FONT;
use notes::Line;
pub use tiles::Paper;

/// Between the blank and the block in one file.
const APART_MM: f64 = 20.0;

/// What is laid out, and how.
#[derive(Clone, Copy, Debug)]
pub struct Wanted {
    /// Only this stage: blank or blocks. Both where none is named.
    pub stage: Option<Stage>,
    /// Which piece of a pair; none for a part that is not made in pairs.
    pub hand: Option<Hand>,
    /// Units of what is written.
    pub units: DisplayUnits,
    /// Width of the pen's line, for the washers.
    pub pen: Length,
}

/// Why there is no layout.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LayoutError {
    /// The plan has no flat view of what was asked for.
    #[error(
        "laying out {part}: found nothing flat at {stage}, expected a part with a blank or a form block"
    )]
    Nothing {
        /// The part.
        part: String,
        /// The stages asked for.
        stage: String,
    },
    /// A part made in pairs, and no hand.
    #[error(
        "laying out {part}: it is made in pairs, expected a hand: left or right; a blank turned over is the other hand's"
    )]
    WhichHand {
        /// The part.
        part: String,
    },
    /// A hand, and a part that has none.
    #[error("laying out {part}: found a hand, expected none: it is not made in pairs")]
    NoHand {
        /// The part.
        part: String,
    },
    /// More pages than anyone tapes together.
    #[error(
        "laying out the {sheet}: found a sheet wider than {} pages, expected a smaller one; lay it out as SVG or DXF",
        tiles::SIDE_MAX
    )]
    TooLarge {
        /// The sheet's title.
        sheet: String,
    },
    /// The PDF library refused.
    #[error("writing the layout as PDF: {why}")]
    Pdf {
        /// What it said.
        why: String,
    },
}

/// A part laid out at full size.
pub struct Layout {
    plan: PartPlan,
    canvases: Vec<Canvas>,
    notes: Vec<Line>,
}

impl Layout {
    /// Lays a part out.
    ///
    /// # Errors
    /// [`LayoutError::Nothing`] where the plan has no flat view at the stages asked for, and where a hand is
    /// missing or too many.
    pub fn new(plan: &PartPlan, wanted: &Wanted) -> Result<Self, LayoutError> {
        let part = plan.part.to_string();
        match (&plan.mirrored, wanted.hand) {
            (Some(_), None) => return Err(LayoutError::WhichHand { part }),
            (None, Some(_)) => return Err(LayoutError::NoHand { part }),
            _ => {}
        }
        let mut plan = plan.of_hand(wanted.hand).into_owned();
        if let Some(hand) = wanted.hand {
            // Everything that is written says which of the two it is.
            plan.title = format!("{}, {} piece", plan.title, hand.word());
        }
        let plan = &plan;
        let stages = [Stage::Blank, Stage::Blocks];
        let asked: Vec<Stage> = stages
            .into_iter()
            .filter(|stage| wanted.stage.is_none_or(|only| only == *stage))
            .collect();
        let units = wanted.units;
        let mut canvases = Vec::new();
        for stage in &asked {
            match stage {
                Stage::Blank => {
                    let blanks = plan.views.iter().filter(|v| v.stage == Stage::Blank);
                    canvases.extend(blanks.map(|view| blank::canvas(plan, view, units)));
                }
                _ => canvases.extend(blocks::canvases(plan, units)),
            }
        }
        if canvases.is_empty() {
            let words: Vec<&str> = asked.iter().map(|stage| stage.word()).collect();
            return Err(LayoutError::Nothing {
                part,
                stage: words.join(" and "),
            });
        }
        Ok(Self {
            plan: plan.clone(),
            canvases,
            notes: notes::lines(plan, units, wanted.pen),
        })
    }

    /// As a PDF of pages that can be taped together.
    ///
    /// # Errors
    /// [`LayoutError::TooLarge`], and [`LayoutError::Pdf`] where the library refuses.
    pub fn pdf(&self, paper: Paper) -> Result<Vec<u8>, LayoutError> {
        pdf::write(self, paper)
    }

    /// As SVG: one unit is one millimetre; the group `blank-cut` is what is cut of the blank, and so on.
    #[must_use]
    pub fn svg(&self) -> String {
        svg::write(&self.spread())
    }

    /// As DXF: one unit is one millimetre; layers `CUT`, `BEND`, `SCRIBE`, `CENTRE` and what explains them.
    #[must_use]
    pub fn dxf(&self) -> String {
        dxf::write(&self.spread())
    }

    /// All sheets in one drawing: the first where the plan has it, each next one whole millimetres below.
    fn spread(&self) -> Vec<Canvas> {
        let mut spread: Vec<Canvas> = Vec::new();
        for canvas in &self.canvases {
            let mut canvas = canvas.clone();
            if let Some(above) = spread.last() {
                let ([_, _, floor, _], [_, _, _, top]) = (above.bounds(), canvas.bounds());
                canvas.shift([0.0, (floor - APART_MM - top).floor()]);
            }
            spread.push(canvas);
        }
        spread
    }
}
