//! A panel of corners solved: its flat web, and the contradictions only that shows.

use shared_types::Length;

use super::diagonals;
use super::facing::{Facing, facing};
use super::formed;
use super::outline::{Corner, Outline};
use super::{Bent, Cornered, Flange};
use crate::contour::{Contour, apart, nearest_pm};
use crate::draft::mm;
use crate::fit::Rim;
use crate::flange::row;
use crate::flange::{Contradictions, bent};
use crate::form::Table;
use crate::hole::{self, Hole};
use crate::measure::Measure;
use crate::panel::Given;
use crate::polygon::{self, Polygon};
use crate::{AllowanceRule, BuildRules};

/// The solved panel. Pieces of the outline are numbered from 0; each begins at the corner of its number.
pub(super) struct Shape<'p> {
    pub(super) panel: &'p Cornered,
    pub(super) rule: AllowanceRule,
    pub(super) bents: Vec<Option<Bent<'p>>>,
    /// The flat web: tangent lines and plain edges, each ending where it meets its neighbours.
    pub(super) web: Contour,
    /// From an edge's line of the flat web out to its outside mold line, or plain edge.
    pub(super) mold: Vec<Measure>,
    pub(super) facing: Vec<Facing>,
    /// The web in chords, and the piece that each belongs to.
    face: Polygon,
    pieces: Vec<usize>,
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
        let outline = &panel.outline;
        let count = outline.count();
        let bents: Vec<Option<Bent<'_>>> = (0..count)
            .map(|piece| {
                let flange = panel
                    .flanges
                    .iter()
                    .find(|flange| stands(flange, outline, piece))?;
                bent(flange, thickness, rules.allowance, &mut wrong)
            })
            .collect();
        if wrong.found {
            return None;
        }
        let outs: Vec<f64> = bents
            .iter()
            .map(|bent| {
                let setback = bent.as_ref().map_or(0.0, |bent| bent.setback.pm());
                let offset = bent
                    .as_ref()
                    .map_or(0.0, |bent| bent.bend.mold_line_offset().pm());
                match panel.given {
                    Given::Outside => -setback,
                    Given::Inside => offset - setback,
                    Given::Opening(clearance) => -setback - clearance.pm() as f64,
                }
            })
            .collect();
        check_smooth(outline, &bents, &mut wrong);
        if wrong.found {
            return None;
        }
        let moved = outline.contour.moved(&outs);
        for piece in moved.as_ref().err().into_iter().flatten() {
            wrong.tell(outline.at(*piece), format!(
                "panel.outline: the bends leave no flat web along {}, expected {} or smaller bend radii",
                outline.bare(*piece),
                if outline.is_rounding(*piece) { "a larger radius" } else { "a longer edge" }
            ));
        }
        let web = moved.ok()?;
        let Some((face, pieces)) = web.polygon() else {
            wrong.tell(panel.at, "panel.outline: the flat web that the bends leave crosses itself, expected a wider panel \
                 or smaller radii".to_owned());
            return None;
        };
        let shape = Self {
            panel,
            rule: rules.allowance,
            mold: bents
                .iter()
                .map(|bent| bent.as_ref().map_or(Measure::ZERO, |bent| bent.setback))
                .collect(),
            facing: facing(outline, &web),
            bents,
            web,
            face,
            pieces,
        };
        shape.check_ends(&mut wrong);
        shape.check_relief(&mut wrong);
        diagonals::check(&shape, &mut wrong);
        shape.check_rows(&mut wrong);
        let named = |chord: usize| shape.name(shape.pieces[chord]);
        for (at, what) in hole::contradictions("panel", &shape.face, &panel.holes, named) {
            wrong.tell(at, what);
        }
        if !wrong.found {
            shape.check_blank(&mut wrong);
        }
        (!wrong.found).then_some(shape)
    }

    pub(super) fn outline(&self) -> &'p Outline {
        &self.panel.outline
    }

    pub(super) fn count(&self) -> usize {
        self.web.count()
    }

    pub(super) fn id(&self, piece: usize) -> String {
        self.outline().id(piece)
    }

    /// The edges as gaps are measured from them: outside mold lines and plain edges.
    pub(super) fn rims(&self) -> Vec<Rim> {
        let outs: Vec<f64> = self.mold.iter().map(|out| out.pm()).collect();
        // Moved back out from where the bends moved it in, it loses no piece.
        let Ok(outside) = self.web.moved(&outs) else {
            return Vec::new();
        };
        (0..outside.count())
            .map(|piece| Rim {
                key: self.id(piece),
                words: self.name(piece),
                piece: *outside.piece(piece),
                outside_right: outside.is_counter_clockwise(),
                rounding: self.panel.outline.is_rounding(piece),
            })
            .collect()
    }

    pub(super) fn name(&self, piece: usize) -> String {
        self.outline().name(piece)
    }

    /// The pieces at a corner: the one that ends there and the one that begins there.
    pub(super) fn edges_at(&self, corner: usize) -> [usize; 2] {
        [self.web.before(corner), corner]
    }

    /// The flanged pieces in order.
    pub(super) fn bent(&self) -> impl Iterator<Item = (usize, &Bent<'p>)> {
        let bents = self.bents.iter().enumerate();
        bents.filter_map(|(piece, bent)| Some((piece, bent.as_ref()?)))
    }

    /// The pieces that one `[[panel.flange]]` stands on.
    pub(super) fn alike(&self, flange: &Flange) -> Vec<usize> {
        let of = |bent: &Bent<'_>| std::ptr::eq(bent.flange, flange);
        self.bent()
            .filter(|(_, bent)| of(bent))
            .map(|(piece, _)| piece)
            .collect()
    }

    /// `edge 1–2, edge 2–3`.
    pub(super) fn names(&self, pieces: &[usize]) -> String {
        let names: Vec<String> = pieces.iter().map(|piece| self.name(*piece)).collect();
        names.join(", ")
    }

    /// Whether a flange runs on round where a piece begins: no corner there, and metal on both sides.
    pub(super) fn runs_on(&self, corner: usize) -> bool {
        let both = self
            .edges_at(corner)
            .map(|piece| self.bents[piece].is_some());
        self.is_smooth(corner) && both == [true, true]
    }

    /// Whether the outline goes on without a corner where a piece begins.
    pub(super) fn is_smooth(&self, corner: usize) -> bool {
        self.outline().contour.is_smooth(corner)
    }

    /// The corners where two flanges meet, by the pieces that begin there.
    pub(super) fn relieved(&self) -> impl Iterator<Item = usize> {
        (0..self.count()).filter(|corner| {
            let both = self
                .edges_at(*corner)
                .map(|piece| self.bents[piece].is_some());
            !self.is_smooth(*corner) && both == [true, true]
        })
    }

    /// A corner of the plan as it is called, by the piece that begins there.
    pub(super) fn corner_name(&self, corner: usize) -> String {
        self.outline().corner_name(self.outline().corner_of(corner))
    }

    pub(super) fn corner_id(&self, corner: usize) -> String {
        self.outline().corner_id(self.outline().corner_of(corner))
    }

    /// How far the blank goes beyond an edge of the flat web.
    pub(super) fn extent(&self, piece: usize) -> Measure {
        self.bents[piece]
            .as_ref()
            .map_or(Measure::ZERO, Bent::extent)
    }

    /// From a hole's side to the nearest bend tangent line.
    pub(super) fn clear_of_bends(&self, hole: &Hole) -> Option<f64> {
        (0..self.face.count())
            .filter(|chord| self.bents[self.pieces[*chord]].is_some())
            .map(|chord| hole.clear_of_edge(&self.face, chord))
            .min_by(f64::total_cmp)
    }

    /// The shorter of the two edges at a corner, by which general tolerances of angles go.
    pub(super) fn shorter(&self, corner: &Corner) -> Length {
        let lengths = corner.edges.map(|piece| self.web.length(piece).length());
        lengths.into_iter().flatten().min().unwrap_or(Length::ZERO)
    }

    fn check_ends(&self, wrong: &mut Contradictions<'_, '_>) {
        for (edge, bent) in self.bent() {
            for corner in [edge, self.web.after(edge)] {
                let contour = &self.outline().contour;
                if contour.is_reentrant(corner) && !contour.is_smooth(corner) {
                    wrong.tell(self.outline().at(corner), format!(
                        "panel.outline: the flange on {} ends at {}, round which the metal goes, and would run into it, \
                         expected no flange beside such a corner, or the corner rounded",
                        self.name(edge), self.corner_name(corner)
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
                    (edge, self.web.before(edge)),
                    (self.web.after(edge), self.web.after(edge)),
                ];
                for (corner, neighbour) in neighbours {
                    let same_way = self.bents[neighbour]
                        .as_ref()
                        .is_some_and(|other| other.flange.direction == bent.flange.direction);
                    if same_way && !self.is_smooth(corner) {
                        wrong.tell(bent.flange.formed_at, format!(
                            "panel.flange.formed: the flange on {} leans inward by {} past its bend, where the flange on {} \
                             may stand, expected a lower flange, a smaller bend angle or a plain neighbour",
                            self.name(edge), mm(Measure::computed(lean)), self.name(neighbour)
                        ));
                    }
                }
            }
        }
    }

    fn check_rows(&self, wrong: &mut Contradictions<'_, '_>) {
        for run in formed::runs(self) {
            row::check(&run, wrong);
        }
        for flange in self
            .panel
            .flanges
            .iter()
            .filter(|flange| !flange.rivets.is_empty())
        {
            let mut endless = self.alike(flange);
            endless.retain(|edge| !formed::has_run(self, *edge));
            if !endless.is_empty() {
                wrong.tell(flange.at, format!(
                    "panel.flange.rivets: found a row on the flange on {}, which is curved or does not end at a sharp corner \
                     both ways, expected rows only in straight flanges with two ends: give the others a [[panel.flange]] of \
                     their own",
                    self.names(&endless)
                ));
            }
        }
    }

    fn check_relief(&self, wrong: &mut Contradictions<'_, '_>) {
        let relieved: Vec<usize> = self.relieved().collect();
        let Some(relief) = &self.panel.relief else {
            if let Some(corner) = relieved.first() {
                wrong.tell(self.panel.at, format!(
                    "panel.relief: missing, expected [panel.relief] with a diameter: flanges meet at {}",
                    self.corner_name(*corner)
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
                    "panel.relief.diameter: the hole at {} breaks through {} of the blank, expected a smaller one",
                    self.corner_name(*corner), self.name(edge)
                ));
            }
            let at = self.web.corner(*corner);
            for other in relieved.iter().filter(|other| *other > corner) {
                if apart(at, self.web.corner(*other)) <= 2.0 * radius {
                    wrong.tell(relief.at, format!(
                        "panel.relief.diameter: the holes at {} and {} run into each other, expected smaller ones",
                        self.corner_name(*corner), self.corner_name(*other)
                    ));
                }
            }
            for hole in &self.panel.holes {
                if hole.clear_of(at) <= radius {
                    wrong.tell(hole.at, format!(
                        "panel.hole: {} runs into the relief hole at {}, expected metal between them",
                        hole.called, self.corner_name(*corner)
                    ));
                }
            }
        }
    }

    /// Flanges of other edges may run into each other on the flat blank, and one that bows inward into itself.
    fn check_blank(&self, wrong: &mut Contradictions<'_, '_>) {
        let mut rim: Vec<([f64; 2], usize)> = Vec::new();
        for piece in 0..self.count() {
            let out = self.extent(piece).pm();
            let Some(beyond) = self.web.beyond(piece, out) else {
                let bent = self.bents[piece].as_ref();
                wrong.tell(bent.map_or(self.panel.at, |bent| bent.flange.formed_at), format!(
                    "panel.flange.formed: on the blank, the flange on {} reaches {} inward past the centre of its arc, which \
                     has a radius of {} there, expected a lower flange",
                    self.name(piece), mm(self.extent(piece)),
                    super::millimetres(self.web.bow(piece).unwrap_or_default().abs())
                ));
                return;
            };
            if !self.runs_on(piece) {
                rim.push((self.web.place(piece, 0.0, 0.0), piece));
            }
            rim.extend(beyond.chords().map(|at| (at, piece)));
            rim.push((self.web.place(piece, 1.0, out), piece));
            if !self.runs_on(self.web.after(piece)) {
                rim.push((self.web.place(piece, 1.0, 0.0), piece));
            }
        }
        // Of two pieces that meet, a place belongs to the one that goes on from there.
        rim.dedup_by(|later, kept| {
            let same = apart(later.0, kept.0) < SAME_PM;
            if same {
                kept.1 = later.1;
            }
            same
        });
        if rim.len() > 1 && apart(rim[0].0, rim[rim.len() - 1].0) < SAME_PM {
            rim.pop();
        }
        let corners: Vec<[i64; 2]> = rim.iter().map(|(at, _)| at.map(nearest_pm)).collect();
        if let Some([a, b]) = polygon::crossing(&corners) {
            wrong.tell(self.panel.at, format!(
                "panel.flange: on the blank, {} and {} run into each other with their flanges, expected lower flanges",
                self.name(rim[a].1), self.name(rim[b].1)
            ));
        }
    }
}

/// Places on the blank that lie nearer are one: the grain to which lengths are rounded.
const SAME_PM: f64 = 1e5;

/// Whether a flange stands on a piece: on its edge, or on both edges beside a rounding, round which it goes on.
fn stands(flange: &Flange, outline: &Outline, piece: usize) -> bool {
    let on = |piece: usize| flange.edges.contains(&outline.corner_of(piece));
    let contour = &outline.contour;
    if outline.is_rounding(piece) {
        on(contour.before(piece)) && on(contour.after(piece))
    } else {
        on(piece)
    }
}

/// Where the outline goes on without a corner, there is no place for one bend to end and another to begin.
fn check_smooth(outline: &Outline, bents: &[Option<Bent<'_>>], wrong: &mut Contradictions<'_, '_>) {
    for after in 0..outline.count() {
        let before = outline.contour.before(after);
        let (Some(a), Some(b)) = (&bents[before], &bents[after]) else {
            continue;
        };
        let alike = a.bend == b.bend && a.flange.direction == b.flange.direction;
        if outline.contour.is_smooth(after) && !alike {
            wrong.tell(b.flange.at, format!(
                "panel.flange: {} runs on into {} without a corner, expected one angle, radius and direction for the flanges \
                 on both",
                outline.name(before), outline.name(after)
            ));
        }
    }
}
