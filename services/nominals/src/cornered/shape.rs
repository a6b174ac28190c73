//! A panel of corners solved: its flat web, and the contradictions only that shows.

use shared_types::{Angle, Length};

use super::{Bent, Cornered};
use crate::draft::mm;
use crate::flange::{Contradictions, bent};
use crate::form::Table;
use crate::hole;
use crate::measure::Measure;
use crate::panel::Given;
use crate::polygon::{self, Polygon};
use crate::{AllowanceRule, BuildRules};

/// The solved panel. Edges and corners are numbered from 0; an edge begins at the corner of its number.
pub(super) struct Shape<'p> {
    pub(super) panel: &'p Cornered,
    pub(super) rule: AllowanceRule,
    pub(super) bents: Vec<Option<Bent<'p>>>,
    /// Corners of the flat web: where tangent lines and plain edges cross.
    pub(super) corners: Vec<[f64; 2]>,
    /// Outward of each edge, of unit length.
    pub(super) outward: Vec<[f64; 2]>,
    /// From an edge's line of the flat web out to its outside mold line, or plain edge.
    pub(super) mold: Vec<Measure>,
    /// The flat web once more, for finding what lies where.
    pub(super) web: Polygon,
}

impl<'p> Shape<'p> {
    /// Solves a panel; tells every contradiction.
    pub(super) fn solve(
        panel: &'p Cornered,
        thickness: Length,
        rules: &BuildRules,
        root: &Table<'_>,
    ) -> Option<Self> {
        let mut wrong = Contradictions { root, found: false };
        let count = panel.polygon.count();
        let bents: Vec<Option<Bent<'_>>> = (0..count)
            .map(|edge| {
                let flange = panel.flanges.iter().find(|f| f.edges.contains(&edge))?;
                bent(flange, thickness, rules.allowance, &mut wrong)
            })
            .collect();
        if wrong.found {
            return None;
        }
        let outward = outward(&panel.polygon);
        let inward: Vec<f64> = bents
            .iter()
            .map(|bent| {
                let setback = bent.as_ref().map_or(0.0, |bent| bent.setback.pm());
                let offset = bent
                    .as_ref()
                    .map_or(0.0, |bent| bent.bend.mold_line_offset().pm());
                match panel.given {
                    Given::Outside => setback,
                    Given::Inside => setback - offset,
                    Given::Opening(clearance) => setback + clearance.pm() as f64,
                }
            })
            .collect();
        let corners = offset(&panel.polygon, &outward, &inward);
        for edge in 0..count {
            let [a, b] = [corners[edge], corners[(edge + 1) % count]];
            let [dx, dy] = panel.polygon.along(edge).map(|pm| pm as f64);
            if (b[0] - a[0]) * dx + (b[1] - a[1]) * dy <= 0.0 {
                wrong.tell(panel.places[edge], format!(
                    "panel.outline: the bends leave no flat web along {}, expected a longer edge or smaller radii",
                    panel.polygon.edge_name(edge)
                ));
            }
        }
        if wrong.found {
            return None;
        }
        let whole = |corner: &[f64; 2]| corner.map(nearest_pm);
        let web = match Polygon::new(corners.iter().map(whole).collect()) {
            Ok(web) => web,
            Err(_) => {
                wrong.tell(panel.at, "panel.outline: the flat web that the bends leave crosses itself, expected a wider \
                     panel or smaller radii".to_owned());
                return None;
            }
        };
        let shape = Self {
            panel,
            rule: rules.allowance,
            mold: bents
                .iter()
                .map(|bent| bent.as_ref().map_or(Measure::ZERO, |bent| bent.setback))
                .collect(),
            bents,
            corners,
            outward,
            web,
        };
        shape.check_ends(&mut wrong);
        shape.check_relief(&mut wrong);
        for (at, what) in hole::contradictions("panel", &shape.web, &panel.holes, |edge| {
            shape.web.edge_name(edge)
        }) {
            wrong.tell(at, what);
        }
        if !wrong.found {
            shape.check_blank(&mut wrong);
        }
        (!wrong.found).then_some(shape)
    }

    pub(super) fn count(&self) -> usize {
        self.corners.len()
    }

    /// The edges at a corner: the one that ends there and the one that begins there.
    pub(super) fn edges_at(&self, corner: usize) -> [usize; 2] {
        [(corner + self.count() - 1) % self.count(), corner]
    }

    /// The flanged edges in order.
    pub(super) fn bent(&self) -> impl Iterator<Item = (usize, &Bent<'p>)> {
        let bents = self.bents.iter().enumerate();
        bents.filter_map(|(edge, bent)| Some((edge, bent.as_ref()?)))
    }

    /// The corners where two flanges meet.
    pub(super) fn relieved(&self) -> impl Iterator<Item = usize> {
        (0..self.count()).filter(|corner| {
            self.edges_at(*corner)
                .iter()
                .all(|edge| self.bents[*edge].is_some())
        })
    }

    /// How far the blank goes beyond an edge of the flat web.
    pub(super) fn extent(&self, edge: usize) -> Measure {
        self.bents[edge]
            .as_ref()
            .map_or(Measure::ZERO, Bent::extent)
    }

    /// From where to where an edge of the flat web runs.
    pub(super) fn edge(&self, edge: usize) -> [[f64; 2]; 2] {
        [self.corners[edge], self.corners[(edge + 1) % self.count()]]
    }

    /// The length of an edge of the flat web, which is the length of its flange.
    pub(super) fn length(&self, edge: usize) -> Measure {
        let [a, b] = self.edge(edge);
        Measure::computed((b[0] - a[0]).hypot(b[1] - a[1]))
    }

    /// A place of an edge, `part` of its length along and `out` beyond it.
    pub(super) fn place(&self, edge: usize, part: f64, out: f64) -> [f64; 2] {
        let ([a, b], n) = (self.edge(edge), self.outward[edge]);
        [0, 1].map(|axis| a[axis] + part * (b[axis] - a[axis]) + out * n[axis])
    }

    /// How far a place lies inside the line of an edge of the flat web.
    pub(super) fn inside(&self, place: [f64; 2], edge: usize) -> f64 {
        let (a, n) = (self.corners[edge], self.outward[edge]);
        (a[0] - place[0]) * n[0] + (a[1] - place[1]) * n[1]
    }

    /// The angle of the plan at a corner, of the metal or of the gap.
    pub(super) fn angle(&self, corner: usize) -> Option<Angle> {
        self.panel.polygon.angle(corner)
    }

    /// Pairs of parallel edges that face each other, the lower number first.
    pub(super) fn facing(&self) -> Vec<[usize; 2]> {
        let polygon = &self.panel.polygon;
        let facing = |a: usize, b: usize| {
            let ([ax, ay], [bx, by]) = (polygon.along(a), polygon.along(b));
            let wide = |x: i64, y: i64| i128::from(x) * i128::from(y);
            let parallel = wide(ax, by) == wide(ay, bx) && wide(ax, bx) + wide(ay, by) < 0;
            // Some line square to both must meet both.
            parallel && self.inside(self.place(b, 0.5, 0.0), a) > 0.0 && self.shared(a, b).is_some()
        };
        (0..self.count())
            .flat_map(|a| (a + 1..self.count()).map(move |b| [a, b]))
            .filter(|[a, b]| facing(*a, *b))
            .collect()
    }

    /// Where along edge `a` a line square to it best meets the parallel edge `b` too, as a part of its length.
    pub(super) fn shared(&self, a: usize, b: usize) -> Option<f64> {
        let [from, to] = self.edge(a);
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let part = |place: [f64; 2]| {
            ((place[0] - from[0]) * dx + (place[1] - from[1]) * dy) / (dx * dx + dy * dy)
        };
        let [c, d] = self.edge(b).map(part);
        let (low, high) = (c.min(d).max(0.0), c.max(d).min(1.0));
        // Off the middle, where holes are.
        (low < high).then_some(low + 0.35 * (high - low))
    }

    fn check_ends(&self, wrong: &mut Contradictions<'_, '_>) {
        for (edge, bent) in self.bent() {
            for corner in [edge, (edge + 1) % self.count()] {
                if self.panel.polygon.is_reentrant(corner) {
                    wrong.tell(self.panel.places[corner], format!(
                        "panel.outline: the flange on {} ends at corner {}, round which the metal goes, and would run into \
                         it, expected no flange beside such a corner",
                        self.web.edge_name(edge), corner + 1
                    ));
                }
            }
            // How far the flange leans in over the web beyond its tangent line.
            let (h, t) = (
                bent.flange.formed.pm() as f64,
                bent.bend.thickness.pm() as f64,
            );
            let lean = -h * bent.bend.cos() + t * bent.bend.sin() - bent.setback.pm();
            if bent.bend.cos() < 0.0 && lean > 0.0 {
                let neighbours = [
                    (edge + self.count() - 1) % self.count(),
                    (edge + 1) % self.count(),
                ];
                for neighbour in neighbours {
                    if self.bents[neighbour].is_some() {
                        wrong.tell(bent.flange.formed_at, format!(
                            "panel.flange.formed: the flange on {} leans inward by {} past its bend, where the flange on {} \
                             may stand, expected a lower flange, a smaller bend angle or a plain neighbour",
                            self.web.edge_name(edge), mm(Measure::computed(lean)), self.web.edge_name(neighbour)
                        ));
                    }
                }
            }
        }
    }

    fn check_relief(&self, wrong: &mut Contradictions<'_, '_>) {
        let relieved: Vec<usize> = self.relieved().collect();
        let Some(relief) = &self.panel.relief else {
            if let Some(corner) = relieved.first() {
                wrong.tell(self.panel.at, format!(
                    "panel.relief: missing, expected [panel.relief] with a diameter: flanges meet at corner {}",
                    corner + 1
                ));
            }
            return;
        };
        if relieved.is_empty() {
            wrong.tell(
                relief.at,
                "panel.relief: no two flanged edges meet, expected no relief holes".to_owned(),
            );
        }
        let radius = relief.diameter.pm() as f64 / 2.0;
        for corner in &relieved {
            let through = self
                .edges_at(*corner)
                .into_iter()
                .find(|edge| self.extent(*edge).pm() <= radius);
            if let Some(edge) = through {
                wrong.tell(relief.at, format!(
                    "panel.relief.diameter: the hole at corner {} breaks through {} of the blank, expected a smaller one",
                    corner + 1, self.web.edge_name(edge)
                ));
            }
            let at = self.corners[*corner];
            for other in relieved.iter().filter(|other| *other > corner) {
                let apart = [0, 1].map(|axis| at[axis] - self.corners[*other][axis]);
                if apart[0].hypot(apart[1]) <= 2.0 * radius {
                    wrong.tell(relief.at, format!(
                        "panel.relief.diameter: the holes at corners {} and {} run into each other, expected smaller ones",
                        corner + 1, other + 1
                    ));
                }
            }
            for hole in &self.panel.holes {
                if hole.clear_of(at) <= radius {
                    wrong.tell(hole.at, format!(
                        "panel.hole: {} runs into the relief hole at corner {}, expected metal between them",
                        hole.called, corner + 1
                    ));
                }
            }
        }
    }

    /// Flanges of other edges may run into each other on the flat blank.
    fn check_blank(&self, wrong: &mut Contradictions<'_, '_>) {
        let mut rim: Vec<([i64; 2], usize)> = Vec::new();
        for edge in 0..self.count() {
            let out = self.extent(edge).pm();
            for (part, out) in [(0.0, 0.0), (0.0, out), (1.0, out), (1.0, 0.0)] {
                rim.push((self.place(edge, part, out).map(nearest_pm), edge));
            }
        }
        // Of two edges that meet, a place belongs to the one that goes on from there.
        rim.dedup_by(|later, kept| {
            let same = later.0 == kept.0;
            if same {
                kept.1 = later.1;
            }
            same
        });
        if rim.len() > 1 && rim[0].0 == rim[rim.len() - 1].0 {
            rim.pop();
        }
        let corners: Vec<[i64; 2]> = rim.iter().map(|(corner, _)| *corner).collect();
        if let Some([a, b]) = polygon::crossing(&corners) {
            wrong.tell(self.panel.at, format!(
                "panel.flange: on the blank, {} and {} run into each other with their flanges, expected lower flanges",
                self.web.edge_name(rim[a].1), self.web.edge_name(rim[b].1)
            ));
        }
    }
}

/// Right of the way round counter-clockwise, left of it clockwise.
fn outward(polygon: &Polygon) -> Vec<[f64; 2]> {
    let sign = if polygon.is_counter_clockwise() {
        1.0
    } else {
        -1.0
    };
    (0..polygon.count())
        .map(|edge| {
            let [dx, dy] = polygon.along(edge).map(|pm| pm as f64);
            let long = dx.hypot(dy);
            [sign * dy / long, -sign * dx / long]
        })
        .collect()
}

/// The corners of a polygon whose edges were moved inward.
fn offset(polygon: &Polygon, outward: &[[f64; 2]], inward: &[f64]) -> Vec<[f64; 2]> {
    let count = polygon.count();
    (0..count)
        .map(|corner| {
            let before = (corner + count - 1) % count;
            let at = polygon.corner(corner);
            // Both moved lines are n · (p − at) = −inward.
            let ([ax, ay], [bx, by]) = (outward[before], outward[corner]);
            let (a, b) = (-inward[before], -inward[corner]);
            let det = ax * by - ay * bx;
            [
                at[0] + (a * by - b * ay) / det,
                at[1] + (ax * b - bx * a) / det,
            ]
        })
        .collect()
}

fn nearest_pm(pm: f64) -> i64 {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "places of a panel of at most 10 m stay far below 2^53 picometres, but for needle corners, which \
                  saturate and are then told as crossing"
    )]
    let whole = pm.clamp(-1e15, 1e15).round_ties_even() as i64;
    whole
}
