//! Rows of fasteners in flanges, drilled once the flanges have their final height.
//!
//! ```toml
//! [[panel.flange.rivets]]          # in every edge of its [[panel.flange]]
//! diameter = "3/32 in"
//! edge_distance = "1/4 in"         # centres to the free edge, the finished one where the flange is trimmed
//! first = "10 mm"                  # first centre to the flange's left or bottom end, or where its edge begins
//! pitch = "20 mm"
//! count = 6
//! ```

mod check;
mod draft;
mod read;
mod view;

use shared_types::{Length, Stage};

use super::{Bent, Label};
use crate::form::At;
use crate::measure::Measure;

pub(crate) use check::check;
pub(crate) use draft::drafts;
pub(super) use read::read;
pub(crate) use view::views;

/// One `[[panel.flange.rivets]]`.
#[derive(Debug)]
pub(crate) struct Row {
    pub(crate) diameter: Length,
    pub(crate) edge_distance: Length,
    first: Length,
    pub(crate) pitch: Length,
    count: i64,
    at: At,
    edge_distance_at: At,
}

impl Row {
    /// From the first centre to the last.
    fn span(&self) -> Measure {
        Measure::exact(self.pitch).times_whole(self.count - 1)
    }

    /// From a centre to its hole's side.
    fn radius(&self) -> Measure {
        Measure::exact(self.diameter).half()
    }

    /// The centres in picometres: along the flange from its start, and down from its free edge.
    fn centres(&self) -> impl Iterator<Item = [f64; 2]> {
        let [first, pitch, down] =
            [self.first, self.pitch, self.edge_distance].map(|length| length.pm() as f64);
        (0..self.count).map(move |n| [first + n as f64 * pitch, down])
    }
}

/// A straight flange from end to end, which rows run along.
pub(crate) struct Run<'b, 'p, E> {
    pub(crate) label: Label,
    /// The end that rows are laid out from: `left end`.
    pub(crate) start: String,
    pub(crate) length: Measure,
    /// Whether the start lies to the left of one who looks at the outer face, the free edge up.
    pub(crate) starts_left: bool,
    pub(crate) bent: &'b Bent<'p, E>,
}

impl<E> Run<'_, '_, E> {
    /// The stage at which the flange has its final height.
    pub(crate) fn stage(&self) -> Stage {
        match self.bent.flange.finished {
            Some(_) => Stage::Trimmed,
            None => Stage::Formed,
        }
    }

    /// From the free edge down to the bend tangent line.
    pub(crate) fn flat(&self) -> Measure {
        Measure::exact(self.bent.height(self.stage())) - self.bent.setback
    }

    /// From the last centre of a row to the end of the flange.
    pub(crate) fn left_over(&self, row: &Row) -> Measure {
        self.length - Measure::exact(row.first) - row.span()
    }

    /// The nearer of the two ends to a centre.
    pub(crate) fn end_distance(&self, row: &Row) -> Measure {
        let (first, last) = (Measure::exact(row.first), self.left_over(row));
        if first.pm() < last.pm() { first } else { last }
    }

    /// The rows with what tells their ids apart: nothing for the first, so that a second one renames none.
    fn rows(&self) -> impl Iterator<Item = (&Row, String)> {
        let rows = self.bent.flange.rivets.iter().enumerate();
        rows.map(|(index, row)| {
            let number = match index {
                0 => String::new(),
                _ => format!(".{}", index + 1),
            };
            (row, format!("{}{number}", self.label.id))
        })
    }

    /// The id of one dimension of a row.
    fn id(&self, kind: &str, row: &str) -> String {
        format!("{}.{kind}.{row}", self.stage())
    }
}
