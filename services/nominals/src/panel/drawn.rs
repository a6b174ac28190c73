//! What to draw of a panel: the blank, the formed panel from outside, a section of each flange.

use shared_types::{Dimension, DimensionShape, Layer, Stage, Stroke, StrokeShape, View};

use super::formed::{Level, outward, runs};
use super::outline::Outline;
use super::shape::Shape;
use super::{AXES, Axis, Bent, EDGES, Edge, words};
use crate::diagonal;
use crate::flange::{self, Direction, Shown, row};
use crate::measure::Measure;
use crate::pen::{self, length, point};

/// Dimension lines stand this part of the view's larger side apart.
const STEP: f64 = 0.07;

pub(super) fn views(shape: &Shape<'_>) -> Vec<View> {
    let mut views = vec![blank(shape)];
    if shape.bent().next().is_some() {
        views.push(outside(shape, Stage::Formed));
        views.extend(sections(shape, Stage::Formed));
        views.extend(row::views(&runs(shape), Stage::Formed));
    }
    if shape
        .panel
        .flanges
        .iter()
        .any(|flange| flange.finished.is_some())
    {
        views.push(outside(shape, Stage::Trimmed));
        views.extend(sections(shape, Stage::Trimmed));
        views.extend(row::views(&runs(shape), Stage::Trimmed));
    }
    views
}

fn sections(shape: &Shape<'_>, stage: Stage) -> Vec<View> {
    let flanges = shape.panel.flanges.iter();
    flanges
        .filter(|flange| stage == Stage::Formed || flange.finished.is_some())
        .filter_map(|flange| {
            let edges: Vec<Edge> = EDGES
                .into_iter()
                .filter(|edge| flange.edges.contains(edge))
                .collect();
            let bent = shape.side(*edges.first()?).bent.as_ref()?;
            let plural = if edges.len() == 1 { "" } else { "s" };
            let title = format!("section through the {} flange{plural}", words(&edges));
            let ids: Vec<String> = edges.iter().map(ToString::to_string).collect();
            let shown = Shown {
                heights: ids.clone(),
                angles: ids,
                title,
            };
            Some(flange::section(shown, bent, stage))
        })
        .collect()
}

/// A view being drawn.
struct Sheet {
    outline: Outline,
    strokes: Vec<Stroke>,
    dimensions: Vec<Dimension>,
}

impl Sheet {
    fn new(shape: &Shape<'_>, outline: Outline, stage: Stage) -> Self {
        let strokes = outline.strokes();
        let mut sheet = Self {
            outline,
            strokes,
            dimensions: Vec::new(),
        };
        for hole in &shape.panel.holes {
            let centre = sheet.hole_centre(shape, hole);
            sheet.strokes.extend(hole.strokes(stage, centre));
        }
        sheet
    }

    fn hole_centre(&self, shape: &Shape<'_>, hole: &crate::hole::Hole) -> [f64; 2] {
        AXES.map(|axis| self.outline.tangent(axis.edges()[0]) + shape.hole_on_flat(hole, axis).pm())
    }

    fn stroke(&mut self, layer: Layer, shape: StrokeShape) {
        self.strokes.push(Stroke { layer, shape });
    }

    fn dimension(&mut self, id: &str, shape: DimensionShape) {
        self.dimensions.extend(pen::dimension(id, shape));
    }

    fn linear(&mut self, id: &str, from: [f64; 2], to: [f64; 2], offset: f64) {
        let shape = DimensionShape::Linear {
            from: point(from[0], from[1]),
            to: point(to[0], to[1]),
            offset: length(offset),
        };
        self.dimension(id, shape);
    }

    /// Over everything along an axis, `steps` away: below for the width, to the right for the height.
    fn overall(&mut self, id: &str, axis: Axis, steps: f64) {
        let [a, b] = axis.edges();
        let (from, to) = (self.outline.rim(a), self.outline.rim(b));
        self.between(id, axis, [from, to], steps);
    }

    fn between(&mut self, id: &str, axis: Axis, [from, to]: [f64; 2], steps: f64) {
        let away = steps * STEP * self.outline.width().max(self.outline.height());
        match axis {
            // The witness lines start where the outline ends: at the corners of the flanges.
            Axis::Width => {
                let y = self.outline.run(Edge::Left)[0];
                self.linear(id, [from, y], [to, y], -(y + away));
            }
            Axis::Height => {
                let x = self.outline.run(Edge::Bottom)[1];
                let beyond = self.outline.width() - x;
                self.linear(id, [x, from], [x, to], -(beyond + away));
            }
        }
    }

    fn view(self, stage: Stage, title: &str) -> View {
        View {
            stage,
            title: title.to_owned(),
            strokes: self.strokes,
            dimensions: self.dimensions,
        }
    }
}

fn blank(shape: &Shape<'_>) -> View {
    let beyond = EDGES.map(|edge| shape.side(edge).extent());
    let mut sheet = Sheet::new(shape, Outline::new(shape, beyond), Stage::Blank);
    sheet.overall("blank.width", Axis::Width, 2.2);
    sheet.overall("blank.height", Axis::Height, 2.2);
    for (edge, bent) in shape.bent() {
        bend_lines(&mut sheet, edge, bent);
    }
    relief_places(shape, &mut sheet);
    hole_places(shape, &mut sheet);
    if shape.panel.diagonals && shape.bent().next().is_none() {
        diagonal_places(shape, &mut sheet, Stage::Blank);
    }
    sheet.view(Stage::Blank, "blank, outside face up")
}

fn bend_lines(sheet: &mut Sheet, edge: Edge, bent: &Bent<'_>) {
    let first = bent.line().pm();
    let second = first + bent.allowance.pm();
    for inward in [first, second] {
        let shape = sheet.outline.along(edge, inward);
        sheet.stroke(Layer::Bend, shape);
    }
    // Off the middle, where the hole dimensions of symmetrical parts run.
    let [from, to] = sheet.outline.run(edge);
    let at = from + 0.28 * (to - from);
    let rim = sheet.outline.rim(edge);
    let line = match edge {
        Edge::Left | Edge::Bottom => first,
        Edge::Right | Edge::Top => rim - first,
    };
    let id = format!("blank.line.{edge}");
    match edge {
        Edge::Left | Edge::Right => sheet.linear(&id, [rim, at], [line, at], 0.0),
        Edge::Bottom | Edge::Top => sheet.linear(&id, [at, rim], [at, line], 0.0),
    }
}

fn relief_places(shape: &Shape<'_>, sheet: &mut Sheet) {
    let Some(relief) = &shape.panel.relief else {
        return;
    };
    let radius = relief.diameter.pm() as f64 / 2.0;
    for (index, corner) in shape.relieved().enumerate() {
        let [x, y] = sheet.outline.crossing(corner);
        if index == 0 {
            let shape = DimensionShape::Diameter {
                centre: point(x, y),
                radius: length(radius),
            };
            sheet.dimension("blank.relief.diameter", shape);
        }
        let (rim_x, rim_y) = (
            sheet.outline.rim(corner.upright),
            sheet.outline.rim(corner.level),
        );
        let near_x = x + radius.copysign(rim_x - x);
        let near_y = y + radius.copysign(rim_y - y);
        // The dimension lines lie in the corner that is cut out, clear of the flanges.
        let down = 0.4 * (rim_y - y);
        let aside = 0.4 * (rim_x - x);
        // Left of a line drawn toward +x is +y; toward −x it is −y. The same holds, turned, for y.
        let turn_x = if rim_x < x { 1.0 } else { -1.0 };
        let turn_y = if rim_y < y { -1.0 } else { 1.0 };
        sheet.linear(
            &format!("blank.relief.{corner}.x"),
            [rim_x, y],
            [near_x, y],
            down * turn_x,
        );
        sheet.linear(
            &format!("blank.relief.{corner}.y"),
            [x, rim_y],
            [x, near_y],
            aside * turn_y,
        );
    }
}

/// Corner to corner, or from relief hole to relief hole.
fn diagonal_places(shape: &Shape<'_>, sheet: &mut Sheet, stage: Stage) {
    let corners = [Edge::Left, Edge::Right].map(|upright| {
        [Edge::Bottom, Edge::Top]
            .map(|level| [upright, level].map(|edge| sheet.outline.tangent(edge)))
    });
    let relief = shape.panel.relief.as_ref();
    let short = relief.map_or(0.0, |relief| relief.diameter.pm() as f64 / 2.0);
    let drawn = diagonal::dimensions(stage, corners, short);
    sheet.dimensions.extend(drawn.into_iter().flatten());
}

fn hole_places(shape: &Shape<'_>, sheet: &mut Sheet) {
    for hole in &shape.panel.holes {
        let [x, y] = sheet.hole_centre(shape, hole);
        let own = hole.own_dimensions([x, y]);
        sheet.dimensions.extend(own.into_iter().flatten());
        if hole.is_placed() {
            let [across, high] = AXES.map(|axis| hole.reach(axis.way()).pm());
            sheet.linear(&hole.place_id("x"), [0.0, y], [x - across, y], 0.0);
            sheet.linear(&hole.place_id("y"), [x, 0.0], [x, y - high], 0.0);
        }
    }
}

/// The panel seen on its outside face, flanges away from the eye.
fn outside(shape: &Shape<'_>, stage: Stage) -> View {
    let beyond = EDGES.map(|edge| silhouette(shape, edge, stage));
    let mut sheet = Sheet::new(shape, Outline::new(shape, beyond), stage);
    for (edge, bent) in shape.bent() {
        let reach = sheet.outline.beyond[edge.index()];
        let tangent = sheet.outline.along(edge, reach);
        sheet.stroke(Layer::Bend, tangent);
        // The inner face of a flange stands behind the web, unless the flange opens outward.
        if bent.bend.cos() <= 0.0 {
            let inner = sheet.outline.along(edge, bent.bend.thickness.pm() as f64);
            // Before the web where it is turned down.
            let layer = match bent.flange.direction {
                Direction::Up => Layer::Hidden,
                Direction::Down => Layer::Cut,
            };
            sheet.stroke(layer, inner);
        }
    }
    for axis in AXES {
        let finished = axis.edges().into_iter().any(|edge| {
            let bent = shape.side(edge).bent.as_ref();
            bent.is_some_and(|bent| bent.flange.finished.is_some())
        });
        let flanged = axis
            .edges()
            .into_iter()
            .any(|edge| shape.side(edge).bent.is_some());
        if stage == Stage::Formed && flanged {
            across(shape, &mut sheet, axis, Level::Root, stage, 1.0);
        }
        if (stage == Stage::Formed && flanged) || (stage == Stage::Trimmed && finished) {
            across(shape, &mut sheet, axis, Level::Free, stage, 2.2);
        }
    }
    if stage == Stage::Formed && shape.panel.diagonals {
        diagonal_places(shape, &mut sheet, stage);
    }
    sheet.view(stage, "seen from outside")
}

/// How far a side reaches beyond its tangent line, seen from outside: to the flange's free edge where it
/// opens outward, to the bulge of the bend where it does not.
fn silhouette(shape: &Shape<'_>, edge: Edge, stage: Stage) -> Measure {
    shape
        .side(edge)
        .bent
        .as_ref()
        .map_or(Measure::ZERO, |bent| {
            if bent.bend.cos() > 0.0 {
                bent.setback + outward(shape, edge, Level::Free, stage)
            } else {
                Measure::exact(bent.bend.radius) + Measure::exact(bent.bend.thickness)
            }
        })
}

fn across(
    shape: &Shape<'_>,
    sheet: &mut Sheet,
    axis: Axis,
    level: Level,
    stage: Stage,
    steps: f64,
) {
    let place = |edge: Edge| {
        let reach = (shape.side(edge).setback() + outward(shape, edge, level, stage)).pm();
        let tangent = sheet.outline.tangent(edge);
        match edge {
            Edge::Left | Edge::Bottom => tangent - reach,
            Edge::Right | Edge::Top => tangent + reach,
        }
    };
    let places = axis.edges().map(place);
    let level = match level {
        Level::Root => "root",
        Level::Free => "free",
    };
    sheet.between(
        &format!("{stage}.across.{}.{level}", axis.word()),
        axis,
        places,
        steps,
    );
}
