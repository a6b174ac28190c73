//! Round holes, as every family writes them.

use shared_types::{Length, Stage};

use crate::draft::{Draft, Nominal, mm};
use crate::form::{At, Table};
use crate::measure::Measure;
use crate::part::dimension;
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
    pub(crate) name: Option<String>,
    pub(crate) diameter: Length,
    pub(crate) x: Length,
    pub(crate) y: Length,
    /// A rivet or bolt goes through it, so that edge distance and pitch matter.
    pub(crate) fastener: bool,
    pub(crate) at: At,
}

impl Hole {
    /// `lightening hole 1`, or `hole 1`.
    pub(crate) fn called(&self, number: usize) -> String {
        match &self.name {
            Some(name) => format!("{name} hole {number}"),
            None => format!("hole {number}"),
        }
    }

    /// Its centre in picometres, where the family measures from.
    pub(crate) fn centre(&self) -> [f64; 2] {
        [self.x.pm() as f64, self.y.pm() as f64]
    }

    /// Its radius in picometres.
    pub(crate) fn radius(&self) -> f64 {
        self.diameter.pm() as f64 / 2.0
    }

    /// `blank.hole.1.diameter`.
    pub(crate) fn diameter_draft(&self, number: usize) -> Draft {
        let called = self.called(number);
        Draft {
            id: format!("blank.hole.{number}.diameter"),
            name: format!("diameter of {called}"),
            stage: Stage::Blank,
            nominal: Nominal::Length(Measure::exact(self.diameter)),
            rule: "as the plan gives it".to_owned(),
            how: format!("Inside jaws across {called}, turned until the reading is largest."),
            if_small: "Open it up to size.".into(),
            if_large: NOT_BACK.into(),
            own: None,
            at: self.at,
        }
    }

    /// From an edge to the near side of the hole: `blank.hole.1.x`.
    pub(crate) fn place_draft(
        &self,
        number: usize,
        letter: &str,
        from: &str,
        centre: Measure,
        rule: &str,
    ) -> Draft {
        let called = self.called(number);
        let diameter = Measure::exact(self.diameter);
        Draft {
            id: format!("blank.hole.{number}.{letter}"),
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
}

/// Every hole that leaves an outline or runs into another, and where it stands in the file.
pub(crate) fn contradictions(
    family: &str,
    polygon: &Polygon,
    holes: &[Hole],
    named: impl Fn(usize) -> String,
) -> Vec<(At, String)> {
    let mut found = Vec::new();
    for (index, hole) in holes.iter().enumerate() {
        let (centre, r) = (hole.centre(), hole.radius());
        let cut = (0..polygon.count()).find(|edge| polygon.distance(centre, *edge).0 <= r);
        if !polygon.contains(centre) {
            found.push((
                hole.at,
                format!("{family}.hole: its centre lies outside the outline, expected it inside"),
            ));
        } else if let Some(edge) = cut {
            let away = mm(Measure::computed(polygon.distance(centre, edge).0));
            found.push((
                hole.at,
                format!(
                    "{family}.hole: its centre lies {away} from {}, so that it breaks through, expected more than its \
                     radius of {}",
                    named(edge),
                    mm(Measure::computed(r))
                ),
            ));
        }
        for (other, earlier) in holes[..index].iter().enumerate() {
            let [a, b] = [centre, earlier.centre()];
            if (a[0] - b[0]).hypot(a[1] - b[1]) <= r + earlier.radius() {
                found.push((
                    hole.at,
                    format!(
                        "{family}.hole: it runs into hole {}, expected metal between them",
                        other + 1
                    ),
                ));
            }
        }
    }
    found
}

/// Reads all `hole` of a family's table; nothing where one of them is wrong.
pub(crate) fn read(table: &Table<'_>) -> Option<Vec<Hole>> {
    let tables = table.may("hole").tables();
    if let Some(beyond) = tables.get(HOLES_MAX) {
        beyond.wrong_here(format!("one hole too many, expected at most {HOLES_MAX}"));
    }
    let holes: Vec<Option<Hole>> = tables.iter().map(hole).collect();
    holes.into_iter().collect()
}

fn hole(table: &Table<'_>) -> Option<Hole> {
    table.only(&["name", "diameter", "x", "y", "fastener"]);
    let name = table.may("name").text();
    let diameter = dimension(table, "diameter", true);
    let x = dimension(table, "x", true);
    let y = dimension(table, "y", true);
    let fastener = table.may("fastener").boolean();
    Some(Hole {
        name,
        diameter: diameter?,
        x: x?,
        y: y?,
        fastener: fastener.unwrap_or(false),
        at: table.at(),
    })
}
