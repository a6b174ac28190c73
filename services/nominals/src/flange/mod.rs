//! A flange: the strip beyond a bend, the same whatever panel it stands on.

mod draft;
mod read;
pub(crate) mod row;
mod section;

use shared_types::{Angle, BendWay, Length, Springback, Stage};

use crate::AllowanceRule;
use crate::bend::Bend;
use crate::draft::mm;
use crate::form::{At, Table};
use crate::measure::Measure;
use crate::pen;

pub(crate) use draft::{Label, angle, height, line};
pub(crate) use read::{read, tell_repeated_edges};
use row::Row;
pub(crate) use section::{Shown, view as section};

/// One `[[panel.flange]]`: the same flange on one or more edges, `E` being how the panel names them.
#[derive(Debug)]
pub(crate) struct Flange<E> {
    pub(crate) edges: Vec<E>,
    pub(crate) formed: Length,
    pub(crate) finished: Option<Length>,
    pub(crate) angle: Angle,
    pub(crate) radius: Length,
    pub(crate) direction: Direction,
    /// Diameter of the rivets or bolts that go through it.
    pub(crate) fastener: Option<Length>,
    /// Rows of fasteners in each of its edges.
    pub(crate) rivets: Vec<Row>,
    pub(crate) at: At,
    pub(crate) formed_at: At,
    pub(crate) finished_at: At,
}

/// Which way a flange is turned from the web, whose outside face lies down.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Direction {
    /// Away from the outside face.
    #[default]
    Up,
    /// Past the outside face.
    Down,
}

impl Direction {
    /// The face of the web whose mold line the flange begins at: the one it is turned away from.
    pub(crate) const fn face(self) -> &'static str {
        match self {
            Self::Up => "outside",
            Self::Down => "inside",
        }
    }

    /// What is said of a flange that does not go the usual way.
    pub(crate) const fn note(self) -> &'static str {
        match self {
            Self::Up => "",
            Self::Down => ", turned down past the web's outside face",
        }
    }
}

/// A flange on one edge.
#[derive(Debug)]
pub(crate) struct Bent<'p, E> {
    pub(crate) flange: &'p Flange<E>,
    pub(crate) bend: Bend,
    pub(crate) setback: Measure,
    pub(crate) allowance: Measure,
}

impl<E> Bent<'_, E> {
    /// From the blank's edge to the first bend tangent line: h − SB.
    pub(crate) fn line(&self) -> Measure {
        Measure::exact(self.flange.formed) - self.setback
    }

    /// How far the blank goes beyond the bend tangent line on the web: BA + (h − SB).
    pub(crate) fn extent(&self) -> Measure {
        self.allowance + self.line()
    }

    /// As it is laid out on the blank, which lies with the web's outside face up.
    pub(crate) fn laid_out(
        &self,
        id: &str,
        springback: Option<Springback>,
    ) -> Option<shared_types::Bend> {
        let bend = &self.bend;
        let line = pen::line_of(id)?;
        let trim = self.flange.finished.map(|finished| {
            let off = Measure::exact(self.flange.formed) - Measure::exact(finished);
            off.length()
        });
        Some(shared_types::Bend {
            line,
            angle: bend.angle,
            radius: bend.radius,
            allowance: self.allowance.length()?,
            way: match self.flange.direction {
                Direction::Up => BendWay::Down,
                Direction::Down => BendWay::Up,
            },
            trim: trim.flatten(),
            springback,
        })
    }

    /// The height of the flange at a stage, along its outer face from the mold line.
    pub(crate) fn height(&self, stage: Stage) -> Length {
        match stage {
            Stage::Trimmed => self.flange.finished.unwrap_or(self.flange.formed),
            _ => self.flange.formed,
        }
    }

    /// From the web's outside face to the farthest point of a flange edge at height `h`.
    pub(crate) fn overall(&self, h: Length) -> Measure {
        let slope = Measure::exact(h).times(self.bend.sin());
        let thickness = Measure::exact(self.bend.thickness).times(self.bend.cos().max(0.0));
        slope + thickness
    }
}

pub(crate) fn bent<'p, E>(
    flange: &'p Flange<E>,
    thickness: Length,
    rule: AllowanceRule,
    wrong: &mut Contradictions<'_, '_>,
) -> Option<Bent<'p, E>> {
    let bend = Bend {
        thickness,
        radius: flange.radius,
        angle: flange.angle,
    };
    let setback = bend.setback_measure();
    let heights = [
        ("formed", Some(flange.formed), flange.formed_at),
        ("finished", flange.finished, flange.finished_at),
    ];
    for (key, height, at) in heights {
        if let Some(height) = height
            && (Measure::exact(height) - setback).pm() <= 0.0
        {
            wrong.tell(at, format!(
                "panel.flange.{key}: found {height}, which ends within the bend, expected more than its setback of {}",
                mm(setback)
            ));
        }
    }
    let Some(allowance) = bend.allowance_measure(rule) else {
        wrong.tell(flange.at, format!(
            "panel.flange.radius: {rule} has no bend allowance for a radius of {} on sheet of {}, expected a larger \
             radius or another rule for the build",
            mm(flange.radius.into()), mm(thickness.into())
        ));
        return None;
    };
    Some(Bent {
        flange,
        bend,
        setback,
        allowance,
    })
}

/// Where contradictions are told, and whether there were any.
pub(crate) struct Contradictions<'t, 'f> {
    pub(crate) root: &'t Table<'f>,
    pub(crate) found: bool,
}

impl Contradictions<'_, '_> {
    pub(crate) fn tell(&mut self, at: At, what: String) {
        self.found = true;
        self.root.tell(at, what);
    }
}
