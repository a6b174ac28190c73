//! The form blocks of a panel of corners: faces as large as the web between the inside mold lines of its bends.

use std::collections::BTreeMap;

use shared_types::{Dimension, Layer, Sheet, Springback, Stage, Stroke, View};

use super::blank::{laid, pair_id};
use super::curved::Arc;
use super::drawn::angle_at;
use super::facing::{Facing, facing};
use super::formed::has_angle;
use super::shape::Shape;
use super::{Bent, millimetres};
use crate::block::{self, Block, Named};
use crate::contour::Contour;
use crate::draft::{Draft, Nominal, deg, mm};
use crate::family::Family;
use crate::flange::Direction;
use crate::form::Table;
use crate::measure::Measure;
use crate::pen::linear;

type Side = block::Side<usize>;

/// Of every bend whose angle is measured on the block and on the piece.
pub(super) type Springbacks = BTreeMap<usize, Springback>;

/// Dimension lines stand this part of the block's larger side away from it.
const STEP: f64 = 0.09;

/// Everything about the blocks. Nothing where a contradiction has been told.
pub(super) fn blocks(
    shape: &Shape<'_>,
    block: &Block,
    sheet: &Sheet,
    root: &Table<'_>,
) -> Option<(Family, Springbacks)> {
    let named = |piece: usize| Named {
        id: shape.id(piece),
        edge: shape.outline().bare(piece),
        side: format!("side at {}", shape.name(piece)),
    };
    let words = |pieces: &[usize]| shape.names(pieces);
    let bents: Vec<(usize, &Bent<'_>)> = shape.bent().collect();
    let sides = block::sides(block, sheet, &bents, named, words, root)?;
    let mut family = Family {
        warnings: block::trust(&sides, sheet, words),
        ..Family::default()
    };
    for direction in [Direction::Up, Direction::Down] {
        let worked: Vec<&Side> = sides
            .iter()
            .filter(|side| side.direction == direction)
            .collect();
        if worked.is_empty() {
            continue;
        }
        let face = Face::new(shape, worked, direction, block, root)?;
        family.drafts.extend(face.sizes(block));
        for side in &face.worked {
            family.drafts.extend(block::radius(side, block));
            // The blade of an angle gauge finds no room round a corner.
            if has_angle(shape, side.edge) {
                family.drafts.push(block::bevel(side, block));
            }
        }
        family.views.push(face.view());
        for flange in &shape.panel.flanges {
            let pieces = shape.alike(flange);
            let alike: Vec<&Side> = face
                .worked
                .iter()
                .copied()
                .filter(|side| pieces.contains(&side.edge))
                .collect();
            let straight = |piece: usize| has_angle(shape, piece);
            family
                .views
                .extend(block::section(&alike, &shape.names(&pieces), straight));
        }
    }
    let known = sides
        .iter()
        .filter(|side| has_angle(shape, side.edge))
        .filter_map(|side| Some((side.edge, side.springback()?)));
    let springbacks = known.collect();
    Some((family, springbacks))
}

/// The face of one block.
struct Face<'s, 'p> {
    shape: &'s Shape<'p>,
    worked: Vec<&'s Side>,
    direction: Direction,
    contour: Contour,
    facing: Vec<Facing>,
}

impl<'s, 'p> Face<'s, 'p> {
    fn new(
        shape: &'s Shape<'p>,
        worked: Vec<&'s Side>,
        direction: Direction,
        block: &Block,
        root: &Table<'_>,
    ) -> Option<Self> {
        // A plain edge ends flush, and before a flange that goes the other way the block ends at its tangent line.
        let outs: Vec<f64> = (0..shape.count())
            .map(|piece| {
                let side = worked.iter().find(|side| side.edge == piece);
                side.map_or(0.0, |side| side.overhang().pm())
            })
            .collect();
        let contour = shape.web.moved(&outs).ok();
        let Some(contour) = contour.filter(|contour| contour.polygon().is_some()) else {
            root.tell(
                block.at,
                "panel.block: the block's rim, R tan(Ai/2) outside the bend tangent lines, meets itself, expected larger arcs \
                 or smaller bend radii",
            );
            return None;
        };
        Some(Self {
            facing: facing(shape.outline(), &contour),
            shape,
            worked,
            direction,
            contour,
        })
    }

    fn works(&self, piece: usize) -> bool {
        self.worked.iter().any(|side| side.edge == piece)
    }

    fn has_ends(&self, piece: usize) -> bool {
        !self.shape.is_smooth(piece) && !self.shape.is_smooth(self.contour.after(piece))
    }

    /// Pieces whose edge of the block is made, with ends to measure between.
    fn edges(&self) -> impl Iterator<Item = usize> {
        (0..self.contour.count()).filter(|piece| {
            self.works(*piece) && self.has_ends(*piece) && self.contour.piece(*piece).is_line()
        })
    }

    fn arcs(&self) -> impl Iterator<Item = (usize, Arc)> {
        (0..self.contour.count())
            .filter(|piece| self.works(*piece))
            .filter_map(|piece| {
                Some((
                    piece,
                    Arc::of(self.contour.piece(piece), self.has_ends(piece))?,
                ))
            })
    }

    /// Pairs of edges of which one at least is made.
    fn pairs(&self) -> impl Iterator<Item = &Facing> {
        let worked = |facing: &&Facing| facing.pair.iter().any(|piece| self.works(*piece));
        self.facing.iter().filter(worked)
    }

    /// How far the face goes beyond the tangent lines, with the edges where that differs.
    fn overhangs(&self) -> String {
        let mut told: Vec<(&Side, Vec<usize>)> = Vec::new();
        for side in &self.worked {
            match told.iter_mut().find(|(other, _)| other.tool == side.tool) {
                Some((_, pieces)) => pieces.push(side.edge),
                None => told.push((side, vec![side.edge])),
            }
        }
        let each: Vec<String> = told
            .iter()
            .map(|(side, pieces)| {
                let at = if told.len() == 1 {
                    String::new()
                } else {
                    format!(" at {}", self.shape.names(pieces))
                };
                format!(
                    "{} beyond the tangent line{at} = R tan(Ai/2) at Ai {} turned through",
                    mm(side.overhang()),
                    deg(side.tool.angle)
                )
            })
            .collect();
        each.join(", ")
    }

    fn sizes(&self, block: &Block) -> Vec<Draft> {
        let shape = self.shape;
        let outline = shape.outline();
        let whole = self.direction.block();
        let draft = |id: String, name: String, nominal: Nominal| {
            block::draft(self.direction, id, name, nominal, block)
        };
        let over = self.overhangs();
        let once = "once the sides are bevelled and before the edges are rounded";
        let mut drafts: Vec<Draft> = self
            .edges()
            .map(|piece| {
                let name = outline.name(piece);
                Draft {
                    rule: format!(
                        "of the flat web's edge of {}, moved out with its neighbours: {over}",
                        mm(shape.web.length(piece))
                    ),
                    how: format!(
                        "Outside jaws over the two ends of {name} at the face of the {whole}, {once}."
                    ),
                    ..draft(
                        format!("edge.{}", outline.id(piece)),
                        format!("length of {name} of the form {whole} at its face"),
                        Nominal::Length(self.contour.length(piece)),
                    )
                }
            })
            .collect();
        for (piece, arc) in self.arcs() {
            let rule = format!(
                "arc of radius {} at the bend tangent line, moved out: {over}",
                millimetres(shape.web.bow(piece).unwrap_or_default().abs())
            );
            let whole = format!("of the form {whole} at its face");
            let base = |id: String, name: String, nominal: Measure, _| {
                draft(id, name, Nominal::Length(nominal))
            };
            drafts.extend(arc.drafts(outline, piece, &whole, &rule, "arc", base));
        }
        drafts.extend(self.pairs().map(|pair| {
            let [a, b] = pair.pair.map(|piece| outline.name(piece));
            Draft {
                rule: format!(
                    "flat web {} between tangent lines, plus {over}",
                    shape
                        .facing
                        .iter()
                        .find(|web| web.pair == pair.pair)
                        .map_or_else(String::new, |web| millimetres(web.across))
                ),
                how: format!(
                    "Tips of the outside jaws over {a} and {b} at the face of the {whole}, the side that lies on the web, {once}; {}.",
                    laid(shape, pair)
                ),
                ..draft(
                    format!("across.{}", pair_id(shape, pair)),
                    format!("form {whole} from {a} to {b} at its face"),
                    Nominal::Length(Measure::computed(pair.across)),
                )
            }
        }));
        drafts.extend(self.corners().filter_map(|corner| {
            let angle = outline.angle(&corner)?;
            let [a, b] = corner.edges.map(|piece| outline.name(piece));
            Some(Draft {
                rule: "as between the plan's edges".to_owned(),
                how: format!(
                    "One blade of the angle gauge along each of the two edges at the face of the {whole}. It should show {}.",
                    deg(angle)
                ),
                ..draft(
                    format!("corner.{}", outline.corner_id(corner.number)),
                    format!("angle between {a} and {b} of the form {whole} at its face"),
                    Nominal::Angle(angle, shape.shorter(&corner)),
                )
            })
        }));
        drafts
    }

    /// Corners that are made: both of their edges are.
    fn corners(&self) -> impl Iterator<Item = super::outline::Corner> {
        let corners = self.shape.outline().corners();
        corners.filter(|corner| {
            self.shape.outline().angle(corner).is_some()
                && corner.edges.iter().all(|piece| self.works(*piece))
        })
    }

    fn view(&self) -> View {
        let (shape, id) = (self.shape, self.direction.block_id());
        let mut strokes: Vec<Stroke> = (0..self.contour.count())
            .map(|piece| Stroke {
                layer: Layer::Cut,
                shape: self.contour.piece(piece).stroke(),
            })
            .collect();
        // Where the rounding begins: the web's bend tangent lines.
        strokes.extend(self.worked.iter().map(|side| Stroke {
            layer: Layer::Bend,
            shape: shape.web.piece(side.edge).stroke(),
        }));
        let [left, right, bottom, top] = self.contour.bounds();
        let away = STEP * (right - left).max(top - bottom);
        let offset = if self.contour.is_counter_clockwise() {
            -away
        } else {
            away
        };
        let mut dimensions: Vec<Option<Dimension>> = Vec::new();
        for piece in self.edges() {
            let [from, to] = [0.0, 1.0].map(|part| self.contour.piece(piece).at(part));
            let id = format!("{id}.edge.{}", shape.id(piece));
            dimensions.push(linear(&id, from, to, offset));
        }
        for (piece, arc) in self.arcs() {
            let line = self.contour.piece(piece);
            let offset = offset + arc.beyond(self.contour.bow(piece)).copysign(offset);
            dimensions.extend(arc.dimensions(id, "arc", &shape.id(piece), line, offset));
        }
        for pair in self.pairs() {
            let to = [0, 1].map(|axis| pair.from[axis] - pair.across * pair.outward[axis]);
            let id = format!("{id}.across.{}", pair_id(shape, pair));
            dimensions.push(linear(&id, pair.from, to, 0.0));
        }
        for corner in self.corners() {
            let id = format!("{id}.corner.{}", shape.outline().corner_id(corner.number));
            dimensions.push(angle_at(shape, &self.contour, &id, &corner));
        }
        View {
            stage: Stage::Blocks,
            title: format!("face of the form {}", self.direction.block()),
            strokes,
            dimensions: dimensions.into_iter().flatten().collect(),
        }
    }
}
