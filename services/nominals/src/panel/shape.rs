//! A panel solved: bends, flats and extents, and the contradictions only they show.

use shared_types::Length;

use super::formed;
use super::{AXES, Axis, Bent, CORNERS, Corner, EDGES, Edge, Given, Panel};
use crate::draft::mm;
use crate::flange::row;
use crate::flange::{Contradictions, bent};
use crate::form::Table;
use crate::hole::{Hole, Row};
use crate::measure::Measure;
use crate::{AllowanceRule, BuildRules};

/// One edge of the web with what is bent there.
#[derive(Debug)]
pub(super) struct Side<'p> {
    pub(super) bent: Option<Bent<'p>>,
}

impl Side<'_> {
    /// From the mold line, or the plain edge, back to the bend tangent line.
    pub(super) fn setback(&self) -> Measure {
        self.bent
            .as_ref()
            .map_or(Measure::ZERO, |bent| bent.setback)
    }

    /// How far the blank goes beyond the bend tangent line on the web: BA + (h − SB).
    pub(super) fn extent(&self) -> Measure {
        self.bent.as_ref().map_or(Measure::ZERO, Bent::extent)
    }
}

/// The solved panel.
#[derive(Debug)]
pub(super) struct Shape<'p> {
    pub(super) panel: &'p Panel,
    pub(super) rule: AllowanceRule,
    sides: [Side<'p>; 4],
    outside: [Measure; 2],
}

impl<'p> Shape<'p> {
    /// Solves a panel; tells every contradiction.
    pub(super) fn solve(
        panel: &'p Panel,
        thickness: Length,
        rules: &BuildRules,
        root: &Table<'_>,
    ) -> Option<Self> {
        let mut wrong = Contradictions { root, found: false };
        let sides = EDGES.map(|edge| {
            let flange = panel
                .flanges
                .iter()
                .find(|flange| flange.edges.contains(&edge));
            let bent =
                flange.and_then(|flange| bent(flange, thickness, rules.allowance, &mut wrong));
            Side { bent }
        });
        let mut shape = Self {
            panel,
            rule: rules.allowance,
            sides,
            outside: [Measure::ZERO; 2],
        };
        shape.outside = AXES.map(|axis| shape.outside_of(axis));
        if !wrong.found {
            shape.check_flats(&mut wrong);
        }
        // Without a flat web nothing that lies on it can be judged.
        if !wrong.found {
            shape.check_relief(&mut wrong);
            shape.check_diagonals(&mut wrong);
            shape.check_leaning(&mut wrong);
            shape.check_holes(&mut wrong);
            for run in formed::runs(&shape) {
                row::check(&run, &mut wrong);
            }
        }
        (!wrong.found).then_some(shape)
    }

    pub(super) fn side(&self, edge: Edge) -> &Side<'p> {
        &self.sides[edge.index()]
    }

    /// The flanged edges in route order.
    pub(super) fn bent(&self) -> impl Iterator<Item = (Edge, &Bent<'p>)> {
        EDGES
            .into_iter()
            .filter_map(|edge| Some((edge, self.side(edge).bent.as_ref()?)))
    }

    /// Between outside mold lines or plain edges.
    pub(super) fn outside(&self, axis: Axis) -> Measure {
        self.outside[axis as usize]
    }

    /// The flat web between its bend tangent lines or plain edges.
    pub(super) fn flat(&self, axis: Axis) -> Measure {
        let [a, b] = axis.edges();
        self.outside(axis) - self.side(a).setback() - self.side(b).setback()
    }

    /// The blank over everything.
    pub(super) fn blank(&self, axis: Axis) -> Measure {
        let [a, b] = axis.edges();
        self.flat(axis) + self.side(a).extent() + self.side(b).extent()
    }

    /// The corners where two flanges meet, in route order.
    pub(super) fn relieved(&self) -> impl Iterator<Item = Corner> {
        CORNERS.into_iter().filter(|corner| {
            self.side(corner.upright).bent.is_some() && self.side(corner.level).bent.is_some()
        })
    }

    /// A hole's centre along an axis, from the blank's left or bottom edge.
    pub(super) fn hole_on_blank(&self, hole: &Hole, axis: Axis) -> Measure {
        let [first, _] = axis.edges();
        self.side(first).extent() + self.hole_on_flat(hole, axis)
    }

    /// A hole's centre along an axis, from the bend tangent line or plain edge.
    pub(super) fn hole_on_flat(&self, hole: &Hole, axis: Axis) -> Measure {
        let [first, _] = axis.edges();
        let along = match axis {
            Axis::Width => hole.x,
            Axis::Height => hole.y,
        };
        Measure::exact(along) - self.side(first).setback()
    }

    fn outside_of(&self, axis: Axis) -> Measure {
        let given = Measure::exact(match axis {
            Axis::Width => self.panel.width,
            Axis::Height => self.panel.height,
        });
        match self.panel.given {
            Given::Outside => given,
            Given::Opening(clearance) => {
                given - Measure::exact(clearance) - Measure::exact(clearance)
            }
            Given::Inside => {
                let offsets = axis.edges().map(|edge| {
                    let bent = self.side(edge).bent.as_ref();
                    bent.map_or(Measure::ZERO, |bent| bent.bend.mold_line_offset())
                });
                given + offsets.into_iter().sum()
            }
        }
    }

    fn check_flats(&self, wrong: &mut Contradictions<'_, '_>) {
        for (axis, at) in [
            (Axis::Width, self.panel.width_at),
            (Axis::Height, self.panel.height_at),
        ] {
            let flat = self.flat(axis);
            if flat.pm() <= 0.0 {
                wrong.tell(at, format!(
                    "panel.{}: the bends leave a flat web of {}, expected more than 0 mm: a larger {}, or smaller radii",
                    axis.word(), mm(flat), axis.word()
                ));
            }
        }
    }

    fn check_relief(&self, wrong: &mut Contradictions<'_, '_>) {
        let Some(relief) = &self.panel.relief else {
            if let Some(corner) = self.relieved().next() {
                wrong.tell(self.panel.at, format!(
                    "panel.relief: missing, expected [panel.relief] with a diameter: flanges meet at the {corner} corner"
                ));
            }
            return;
        };
        if self.relieved().next().is_none() {
            wrong.tell(
                relief.at,
                "panel.relief: no two flanged edges meet, expected no relief holes".to_owned(),
            );
        }
        let radius = Measure::exact(relief.diameter).half();
        let mut edges = self
            .relieved()
            .flat_map(|corner| [corner.upright, corner.level]);
        if let Some(edge) = edges.find(|edge| (self.side(*edge).extent() - radius).pm() <= 0.0) {
            wrong.tell(relief.at, format!(
                "panel.relief.diameter: the holes break through the {edge} edge of the blank, expected less than {}",
                mm(self.side(edge).extent() + self.side(edge).extent())
            ));
        }
        for axis in AXES {
            let both = axis
                .edges()
                .iter()
                .all(|edge| self.side(*edge).bent.is_some());
            if both && (self.flat(axis) - Measure::exact(relief.diameter)).pm() <= 0.0 {
                wrong.tell(relief.at, format!(
                    "panel.relief.diameter: holes run into each other across the {}, expected less than {}",
                    axis.word(), mm(self.flat(axis))
                ));
            }
        }
    }

    fn check_diagonals(&self, wrong: &mut Contradictions<'_, '_>) {
        let flanged = self.bent().count();
        if self.panel.diagonals && !matches!(flanged, 0 | 4) {
            wrong.tell(self.panel.at, format!(
                "panel.diagonals: found {flanged} flanged edges, expected all four or none, so that both diagonals have \
                 corners to measure from"
            ));
        }
    }

    /// Flanges turned past square lean over the web: they must not run into one another.
    fn check_leaning(&self, wrong: &mut Contradictions<'_, '_>) {
        let lean = |edge: Edge| {
            self.side(edge).bent.as_ref().map_or(0.0, |bent| {
                let (h, t) = (
                    bent.flange.formed.pm() as f64,
                    bent.bend.thickness.pm() as f64,
                );
                (-h * bent.bend.cos() + t * bent.bend.sin()).max(0.0)
            })
        };
        // Flanges on opposite sides of the web pass each other.
        let same_side = |a: Edge, b: Edge| {
            let way = |edge: Edge| {
                self.side(edge)
                    .bent
                    .as_ref()
                    .map(|bent| bent.flange.direction)
            };
            way(a).is_none() || way(b).is_none() || way(a) == way(b)
        };
        for axis in AXES {
            let [a, b] = axis.edges();
            if same_side(a, b)
                && lean(a) + lean(b) >= self.outside(axis).pm()
                && let Some(bent) = self.side(a).bent.as_ref().or(self.side(b).bent.as_ref())
            {
                wrong.tell(bent.flange.formed_at, format!(
                    "panel.flange.formed: the {a} and {b} flanges lean inward over the whole {}, expected lower flanges",
                    axis.word()
                ));
            }
        }
        // Beside a corner a flange begins at its neighbour's tangent line: both must lean past theirs to meet.
        let over = |edge: Edge| {
            let past = self
                .side(edge)
                .bent
                .as_ref()
                .is_some_and(|bent| bent.bend.cos() < 0.0);
            past && lean(edge) > self.side(edge).setback().pm()
        };
        let meeting = self.relieved().find(|corner| {
            let (a, b) = (corner.upright, corner.level);
            over(a) && over(b) && same_side(a, b)
        });
        if let Some(corner) = meeting
            && let Some(bent) = &self.side(corner.upright).bent
        {
            wrong.tell(bent.flange.formed_at, format!(
                "panel.flange.formed: the {} and {} flanges lean inward and run into each other at the {corner} corner, \
                 expected lower flanges or a smaller bend angle",
                corner.upright, corner.level
            ));
        }
    }

    fn check_holes(&self, wrong: &mut Contradictions<'_, '_>) {
        let centre = |hole: &Hole| AXES.map(|axis| self.hole_on_flat(hole, axis).pm());
        let setbacks = AXES.map(|axis| self.side(axis.edges()[0]).setback().pm());
        let flat = AXES.map(|axis| self.flat(axis).pm());
        for (index, hole) in self.panel.holes.iter().enumerate() {
            let at = centre(hole);
            for (axis, (along, flat)) in AXES.into_iter().zip(at.into_iter().zip(flat)) {
                let r = hole.room_along(axis.way());
                if along - r <= 0.0 || along + r >= flat {
                    let from = Measure::computed(r) + self.side(axis.edges()[0]).setback();
                    let to = from + self.flat(axis) - Measure::computed(2.0 * r);
                    wrong.tell(hole.at, format!(
                        "panel.hole: along the {} the hole leaves the flat web, expected its centre above {} and below {}",
                        axis.word(), mm(from), mm(to)
                    ));
                }
            }
            for earlier in &self.panel.holes[..index] {
                // Of a row that is too close only its first two holes are told.
                if earlier.group == hole.group && !matches!(earlier.row, Row::First { .. }) {
                    continue;
                }
                if hole.clear_of_hole(earlier) <= 0.0 {
                    let what = format!(
                        "panel.hole: it runs into {}, expected metal between them",
                        earlier.called
                    );
                    wrong.tell(hole.at, what);
                }
            }
            for corner in self.relieved() {
                let corner_at = [
                    if corner.upright == Edge::Left {
                        0.0
                    } else {
                        flat[0]
                    },
                    if corner.level == Edge::Bottom {
                        0.0
                    } else {
                        flat[1]
                    },
                ];
                // As the plan measures the hole: from the mold lines.
                let corner_at = [0, 1].map(|axis| corner_at[axis] + setbacks[axis]);
                let relief = self.panel.relief.as_ref();
                if relief.is_some_and(|relief| {
                    hole.clear_of(corner_at) <= relief.diameter.pm() as f64 / 2.0
                }) {
                    let what = format!(
                        "panel.hole: it runs into the relief hole at the {corner} corner, expected metal between them"
                    );
                    wrong.tell(hole.at, what);
                }
            }
        }
    }
}
