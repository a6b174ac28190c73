//! Round holes, alone or in rows of fasteners, as every family writes them.
//!
//! ```toml
//! [[plate.hole]]
//! name = "lightening"
//! diameter = "50 mm"
//! x = "95 mm"
//! y = "55 mm"
//! fastener = true            # a rivet or bolt goes through it: edge distance and pitch are looked at
//! [[plate.rivets]]           # holes shared out evenly from one place to another, both included
//! diameter = "3/32 in"
//! from = ["12 mm", "12 mm"]
//! to = ["78 mm", "12 mm"]
//! count = 5
//! ```

use shared_types::{Dimension, DimensionShape, Length, PM_PER_MM, Stage};

use crate::draft::{Draft, Nominal, mm};
use crate::form::{At, Table};
use crate::measure::Measure;
use crate::part::{DIMENSION_MAX_MM, dimension};
use crate::pen::{self, length, linear, point};
use crate::polygon::Polygon;

/// Most holes of one part: each takes three characteristics, and numbers go to four digits.
const HOLES_MAX: usize = 200;

/// What to do about a hole in the wrong place.
pub(crate) const NOT_MOVED: &str = "The hole cannot be moved: ask what the plan allows.";
/// What to do about a hole that is too large.
const NOT_BACK: &str = "It cannot be put back: ask what the plan allows.";

/// A round hole at a place of the plan.
#[derive(Debug)]
pub(crate) struct Hole {
    /// `hole.1`, or `rivets.1` for all of a row: how its ids begin after their stage.
    pub(crate) group: String,
    /// `lightening hole 1`, `hole 1`, `the first hole of rivets 1`.
    pub(crate) called: String,
    pub(crate) diameter: Length,
    pub(crate) x: Length,
    pub(crate) y: Length,
    /// A rivet or bolt goes through it, so that edge distance and pitch matter.
    pub(crate) fastener: bool,
    pub(crate) row: Row,
    pub(crate) at: At,
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

    /// Its radius in picometres.
    pub(crate) fn radius(&self) -> f64 {
        self.diameter.pm() as f64 / 2.0
    }

    /// Whether its place is measured.
    pub(crate) fn is_placed(&self) -> bool {
        self.row != Row::Between
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

    /// What is measured of it wherever it lies: its diameter, and what stands between the holes of its row.
    pub(crate) fn own_drafts(&self) -> Vec<Draft> {
        let (called, how) = match self.row {
            Row::Alone => (
                self.called.clone(),
                format!(
                    "Inside jaws across {}, turned until the reading is largest.",
                    self.called
                ),
            ),
            Row::First { .. } => (
                format!("the holes of {}", self.row_called()),
                format!(
                    "Inside jaws across each hole of {}; the worst one counts.",
                    self.row_called()
                ),
            ),
            Row::Between | Row::Last => return Vec::new(),
        };
        let diameter = Draft {
            id: format!("blank.{}.diameter", self.group),
            name: format!("diameter of {called}"),
            stage: Stage::Blank,
            nominal: Nominal::Length(Measure::exact(self.diameter)),
            rule: "as the plan gives it".to_owned(),
            how,
            if_small: "Open it up to size.".into(),
            if_large: NOT_BACK.into(),
            own: None,
            at: self.at,
        };
        let Row::First { step } = self.row else {
            return vec![diameter];
        };
        let pitch = Measure::computed(step[0].hypot(step[1]));
        let row = self.row_called();
        let between = Draft {
            id: format!("blank.{}.between", self.group),
            name: format!("between neighbouring holes of {row}"),
            nominal: Nominal::Length(pitch - Measure::exact(self.diameter)),
            rule: format!(
                "pitch {}, the row shared out evenly, less the diameter {}",
                mm(pitch),
                mm(self.diameter.into())
            ),
            how: format!(
                "Tips of the outside jaws in two neighbouring holes of {row}, over the metal between them; the worst pair \
                 counts."
            ),
            if_small: NOT_MOVED.into(),
            if_large: NOT_MOVED.into(),
            ..diameter.clone()
        };
        vec![diameter, between]
    }

    /// From an edge to the near side of the hole: `blank.hole.1.x`.
    pub(crate) fn place_draft(
        &self,
        letter: &str,
        from: &str,
        centre: Measure,
        rule: &str,
    ) -> Draft {
        let called = &self.called;
        let diameter = Measure::exact(self.diameter);
        Draft {
            id: self.place_id(letter),
            name: format!("{from} to {called}"),
            stage: Stage::Blank,
            nominal: Nominal::Length(centre - diameter.half()),
            rule: format!("{rule}; less half the diameter {}", mm(diameter)),
            how: format!(
                "From the {from} of the blank to the near side of {called}: one outside jaw there, the tip of the \
                 other in the hole."
            ),
            if_small: NOT_MOVED.into(),
            if_large: NOT_MOVED.into(),
            own: None,
            at: self.at,
        }
    }

    /// Its own dimensions drawn, its centre being drawn at `centre`.
    pub(crate) fn own_dimensions(&self, centre: [f64; 2]) -> Vec<Option<Dimension>> {
        if matches!(self.row, Row::Between | Row::Last) {
            return Vec::new();
        }
        let [x, y] = centre;
        let across = DimensionShape::Diameter {
            centre: point(x, y),
            radius: length(self.radius()),
        };
        let mut dimensions = vec![pen::dimension(
            &format!("blank.{}.diameter", self.group),
            across,
        )];
        if let Row::First { step } = self.row {
            let off = self.radius() / step[0].hypot(step[1]);
            let along = |part: f64| [x + part * step[0], y + part * step[1]];
            let id = format!("blank.{}.between", self.group);
            dimensions.push(linear(&id, along(off), along(1.0 - off), 0.0));
        }
        dimensions
    }

    /// `rivets 1`, of a hole in a row.
    fn row_called(&self) -> String {
        self.group.replace('.', " ")
    }
}

/// Every hole that leaves an outline or runs into another, and where it stands in the file.
pub(crate) fn contradictions(
    family: &str,
    polygon: &Polygon,
    holes: &[Hole],
    named: impl Fn(usize) -> String,
) -> Vec<(At, String)> {
    let mut found: Vec<(At, String)> = Vec::new();
    for (index, hole) in holes.iter().enumerate() {
        // What is wrong with a row is told once.
        if hole.row != Row::Alone && found.iter().any(|(at, _)| *at == hole.at) {
            continue;
        }
        let (centre, r) = (hole.centre(), hole.radius());
        let key = hole.group.split('.').next().unwrap_or_default();
        let cut = (0..polygon.count()).find(|edge| polygon.distance(centre, *edge).0 <= r);
        if !polygon.contains(centre) {
            found.push((
                hole.at,
                format!(
                    "{family}.{key}: the centre of {} lies outside the outline, expected it inside",
                    hole.called
                ),
            ));
        } else if let Some(edge) = cut {
            let away = mm(Measure::computed(polygon.distance(centre, edge).0));
            found.push((
                hole.at,
                format!(
                    "{family}.{key}: the centre of {} lies {away} from {}, so that it breaks through, expected more than its \
                     radius of {}",
                    hole.called,
                    named(edge),
                    mm(Measure::computed(r))
                ),
            ));
        }
        for earlier in &holes[..index] {
            let [a, b] = [centre, earlier.centre()];
            if (a[0] - b[0]).hypot(a[1] - b[1]) <= r + earlier.radius() {
                found.push((
                    hole.at,
                    format!(
                        "{family}.{key}: {} runs into {}, expected metal between them",
                        hole.called, earlier.called
                    ),
                ));
            }
        }
    }
    found
}

/// Reads all `hole` and `rivets` of a family's table; nothing where one of them is wrong.
pub(crate) fn read(table: &Table<'_>) -> Option<Vec<Hole>> {
    let single = table.may("hole").tables();
    let rows = table.may("rivets").tables();
    let holes: Vec<Option<Hole>> = single
        .iter()
        .zip(1..)
        .map(|(table, n)| hole(table, n))
        .collect();
    let rows: Vec<Option<Vec<Hole>>> = rows
        .iter()
        .zip(1..)
        .map(|(table, n)| row(table, n))
        .collect();
    let mut holes = holes.into_iter().collect::<Option<Vec<Hole>>>();
    for row in rows {
        if let (Some(holes), Some(row)) = (&mut holes, row) {
            holes.extend(row);
        } else {
            holes = None;
        }
    }
    let holes = holes?;
    if holes.len() > HOLES_MAX {
        let what = format!("found {} holes, expected at most {HOLES_MAX}", holes.len());
        table.wrong_here(what);
        return None;
    }
    Some(holes)
}

fn hole(table: &Table<'_>, number: usize) -> Option<Hole> {
    table.only(&["name", "diameter", "x", "y", "fastener"]);
    let name = table.may("name").text();
    let diameter = dimension(table, "diameter", true);
    let x = dimension(table, "x", true);
    let y = dimension(table, "y", true);
    let fastener = table.may("fastener").boolean();
    Some(Hole {
        group: format!("hole.{number}"),
        called: match name {
            Some(name) => format!("{name} hole {number}"),
            None => format!("hole {number}"),
        },
        diameter: diameter?,
        x: x?,
        y: y?,
        fastener: fastener.unwrap_or(false),
        row: Row::Alone,
        at: table.at(),
    })
}

/// Fastener holes shared out evenly from one place to another: `from`, `to` and `count`, both ends included.
fn row(table: &Table<'_>, number: usize) -> Option<Vec<Hole>> {
    table.only(&["diameter", "from", "to", "count"]);
    let diameter = dimension(table, "diameter", true);
    let from = end(table, "from");
    let to = end(table, "to");
    let count = table.need("count").integer(2..=100);
    let (diameter, from, to, count) = (diameter?, from?, to?, count?);
    if from == to {
        table.wrong(
            "to",
            "found the place that the row begins at, expected another",
        );
        return None;
    }
    let last = count - 1;
    let steps = [0, 1].map(|axis| (to[axis].pm() - from[axis].pm()) as f64 / last as f64);
    let hole = |at: i64| {
        let [x, y] = [0, 1].map(|axis| match at {
            0 => Some(from[axis]),
            at if at == last => Some(to[axis]),
            at => Measure::computed(from[axis].pm() as f64 + at as f64 * steps[axis]).length(),
        });
        let (which, row) = match at {
            0 => ("the first hole".to_owned(), Row::First { step: steps }),
            at if at == last => ("the last hole".to_owned(), Row::Last),
            at => (format!("hole {}", at + 1), Row::Between),
        };
        Some(Hole {
            group: format!("rivets.{number}"),
            called: format!("{which} of rivets {number}"),
            diameter,
            x: x?,
            y: y?,
            fastener: true,
            row,
            at: table.at(),
        })
    };
    (0..count).map(hole).collect()
}

fn end(table: &Table<'_>, name: &str) -> Option<[Length; 2]> {
    let place = table.need(name).place()?;
    let largest = Length::from_pm(DIMENSION_MAX_MM * PM_PER_MM)?;
    if place
        .iter()
        .any(|value| *value < Length::ZERO || *value > largest)
    {
        let what = format!(
            "found {} and {}, expected 0 mm to {largest} each",
            place[0], place[1]
        );
        table.wrong(name, what);
        return None;
    }
    Some(place)
}
