//! Holes: round, slotted and flanged, alone or in rows of fasteners, as every family writes them.
//!
//! ```toml
//! [[plate.hole]]
//! name = "lightening"
//! diameter = "50 mm"
//! x = "95 mm"
//! y = "55 mm"
//! fastener = true            # a rivet or bolt goes through it: edge distance and pitch are looked at
//!
//! [[plate.hole]]             # a slot with round ends: length and width instead of a diameter
//! length = "20 mm"           # over both ends
//! width = "6 mm"
//! angle = "30 deg"           # of its length from the x axis, counter-clockwise; left out, it lies along x
//! x = "40 mm"                # its middle
//! y = "20 mm"
//!
//! [[plate.hole]]             # a flanged lightening hole
//! diameter = "60 mm"         # the finished opening, where the flange leaves it narrowest
//! x = "95 mm"
//! y = "55 mm"
//! [plate.hole.flange]
//! height = "8 mm"            # along the outer face from the mold line, as of every flange
//! angle = "90 deg"           # turned through
//! radius = "1/8 in"
//!
//! [[plate.rivets]]           # holes shared out evenly from one place to another, both included
//! diameter = "3/32 in"
//! from = ["12 mm", "12 mm"]
//! to = ["78 mm", "12 mm"]
//! count = 5
//! ```

mod check;
mod draft;
mod drawn;
mod flanged;
mod read;

use shared_types::{Angle, Length};

use crate::form::At;
use crate::measure::Measure;
use crate::polygon::{self, Polygon};

pub(crate) use check::contradictions;
pub(crate) use draft::NOT_MOVED;
pub(crate) use flanged::{Flanged, warnings};
pub(crate) use read::{Ground, read};

/// A hole at a place of the plan.
#[derive(Debug)]
pub(crate) struct Hole {
    /// `hole.1`, or `rivets.1` for all of a row: how its ids begin after their stage.
    pub(crate) group: String,
    /// `lightening hole 1`, `hole 1`, `the first hole of rivets 1`.
    pub(crate) called: String,
    pub(crate) kind: Kind,
    /// The leg of a section it lies on, from 0.
    pub(crate) leg: usize,
    /// Its middle.
    pub(crate) x: Length,
    pub(crate) y: Length,
    /// A rivet or bolt goes through it, so that edge distance and pitch matter.
    pub(crate) fastener: bool,
    pub(crate) row: Row,
    pub(crate) at: At,
}

/// What is cut.
#[derive(Debug)]
pub(crate) enum Kind {
    Round {
        diameter: Length,
    },
    Slot {
        length: Length,
        width: Length,
        /// Of its length from the x axis.
        angle: Angle,
    },
    Flanged(Flanged),
}

/// Where a hole stands in a row: only both ends of a row are placed, and only its first hole speaks for all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Row {
    /// In none.
    Alone,
    /// With the steps to the next one in picometres.
    First {
        step: [f64; 2],
    },
    Between,
    Last,
}

impl Hole {
    /// Its centre in picometres, where the family measures from.
    pub(crate) fn centre(&self) -> [f64; 2] {
        [self.x.pm() as f64, self.y.pm() as f64]
    }

    /// What is cut in the blank: the diameter, or the width of a slot.
    pub(crate) fn diameter(&self) -> Measure {
        match &self.kind {
            Kind::Round { diameter } => Measure::exact(*diameter),
            Kind::Slot { width, .. } => Measure::exact(*width),
            Kind::Flanged(flanged) => flanged.cut,
        }
    }

    /// Half of that in picometres.
    pub(crate) fn radius(&self) -> f64 {
        self.diameter().pm() / 2.0
    }

    /// Whether its place is measured.
    pub(crate) fn is_placed(&self) -> bool {
        self.row != Row::Between
    }

    /// From its middle to its side in the blank, along a way of length one.
    pub(crate) fn reach(&self, way: [f64; 2]) -> Measure {
        let half = self.diameter().half();
        match &self.kind {
            Kind::Slot {
                length,
                width,
                angle,
            } => {
                let [x, y] = unit(*angle);
                let straight = (Measure::exact(*length) - Measure::exact(*width)).half();
                half + straight.times((x * way[0] + y * way[1]).abs())
            }
            Kind::Round { .. } | Kind::Flanged(_) => half,
        }
    }

    /// From its middle to its side as a place finds it, going straight to the nearest of it.
    pub(crate) fn reach_from(&self, place: [f64; 2]) -> Measure {
        let half = self.diameter().half();
        match &self.kind {
            Kind::Slot { .. } => {
                let [x, y] = self.centre();
                let whole = (place[0] - x).hypot(place[1] - y);
                half + Measure::computed(whole - polygon::apart([place, place], self.spine()))
            }
            Kind::Round { .. } | Kind::Flanged(_) => half,
        }
    }

    /// Its centre line: a single place unless it is a slot.
    pub(crate) fn spine(&self) -> [[f64; 2]; 2] {
        let [x, y] = self.centre();
        let Kind::Slot {
            length,
            width,
            angle,
        } = &self.kind
        else {
            return [[x, y]; 2];
        };
        let half = (length.pm() - width.pm()) as f64 / 2.0;
        let [ux, uy] = unit(*angle);
        [-half, half].map(|along| [x + along * ux, y + along * uy])
    }

    /// The room it takes up about its centre line: the bend of a flanged hole is wider than what is cut.
    pub(crate) fn room(&self) -> f64 {
        match &self.kind {
            Kind::Flanged(flanged) => flanged.tangent().pm() / 2.0,
            Kind::Round { .. } | Kind::Slot { .. } => self.radius(),
        }
    }

    /// The room it takes up from its middle, along a way of length one.
    pub(crate) fn room_along(&self, way: [f64; 2]) -> f64 {
        self.reach(way).pm() + self.room() - self.radius()
    }

    /// The metal between its room and a place; below zero where there is none.
    pub(crate) fn clear_of(&self, place: [f64; 2]) -> f64 {
        polygon::apart([place, place], self.spine()) - self.room()
    }

    /// The metal between its room and an edge of an outline that has its coordinates.
    pub(crate) fn clear_of_edge(&self, polygon: &Polygon, edge: usize) -> f64 {
        polygon::apart(polygon.edge(edge), self.spine()) - self.room()
    }

    /// The metal between its room and another hole's.
    pub(crate) fn clear_of_hole(&self, other: &Self) -> f64 {
        polygon::apart(other.spine(), self.spine()) - self.room() - other.room()
    }

    /// The id of one dimension of its place: `blank.hole.1.x`, `blank.rivets.1.last.x`.
    pub(crate) fn place_id(&self, letter: &str) -> String {
        let group = &self.group;
        match self.row {
            Row::First { .. } => format!("blank.{group}.first.{letter}"),
            Row::Last => format!("blank.{group}.last.{letter}"),
            Row::Alone | Row::Between => format!("blank.{group}.{letter}"),
        }
    }

    /// `rivets 1`, of a hole in a row.
    fn row_called(&self) -> String {
        self.group.replace('.', " ")
    }
}

/// The way of an angle from the x axis; the axes are exact.
fn unit(angle: Angle) -> [f64; 2] {
    match angle.mas() {
        0 => [1.0, 0.0],
        324_000_000 => [0.0, 1.0],
        mas => {
            let radians = (mas as f64 / 3_600_000.0).to_radians();
            [radians.cos(), radians.sin()]
        }
    }
}
