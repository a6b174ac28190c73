//! The outline of a panel, flat or formed, with its corners cut out to the relief holes.

use shared_types::{Layer, Stroke, StrokeShape};

use super::shape::Shape;
use super::{AXES, CORNERS, Corner, Edge};
use crate::measure::Measure;
use crate::pen::{degrees, length, line, point};

/// A panel laid out: the web's flat with something beyond it on each edge.
#[derive(Debug)]
pub(super) struct Outline {
    /// How far the outline goes beyond the flat, by edge.
    pub(super) beyond: [f64; 4],
    flat: [f64; 2],
    /// Radius of the relief holes.
    relief: f64,
    notched: Vec<Corner>,
}

impl Outline {
    /// An outline reaching `beyond` the flat of `shape`.
    pub(super) fn new(shape: &Shape<'_>, beyond: [Measure; 4]) -> Self {
        let relief = shape.panel.relief.as_ref();
        Self {
            beyond: beyond.map(Measure::pm),
            flat: AXES.map(|axis| shape.flat(axis).pm()),
            relief: relief.map_or(0.0, |relief| relief.diameter.pm() as f64 / 2.0),
            notched: shape.relieved().collect(),
        }
    }

    /// Everything from left to right.
    pub(super) fn width(&self) -> f64 {
        self.flat[0] + self.beyond[Edge::Left.index()] + self.beyond[Edge::Right.index()]
    }

    /// Everything from bottom to top.
    pub(super) fn height(&self) -> f64 {
        self.flat[1] + self.beyond[Edge::Bottom.index()] + self.beyond[Edge::Top.index()]
    }

    /// The crossing of the web's tangent lines at a corner.
    pub(super) fn crossing(&self, corner: Corner) -> [f64; 2] {
        [self.tangent(corner.upright), self.tangent(corner.level)]
    }

    /// The web's tangent line of an edge, or the plain edge: along x for left and right, y otherwise.
    pub(super) fn tangent(&self, edge: Edge) -> f64 {
        match edge {
            Edge::Left | Edge::Bottom => self.beyond[edge.index()],
            Edge::Right => self.width() - self.beyond[edge.index()],
            Edge::Top => self.height() - self.beyond[edge.index()],
        }
    }

    /// The outermost line of an edge.
    pub(super) fn rim(&self, edge: Edge) -> f64 {
        match edge {
            Edge::Left | Edge::Bottom => 0.0,
            Edge::Right => self.width(),
            Edge::Top => self.height(),
        }
    }

    /// From where to where an edge runs: between the tangent lines of flanged neighbours.
    pub(super) fn run(&self, edge: Edge) -> [f64; 2] {
        let ends = match edge {
            Edge::Left | Edge::Right => [Edge::Bottom, Edge::Top],
            Edge::Bottom | Edge::Top => [Edge::Left, Edge::Right],
        };
        ends.map(|end| {
            let notched = self.notched.iter().any(|corner| {
                [corner.upright, corner.level]
                    .iter()
                    .all(|e| *e == edge || *e == end)
            });
            if notched {
                self.tangent(end)
            } else {
                self.rim(end)
            }
        })
    }

    /// A line along an edge, `inward` of its rim, over the edge's run.
    pub(super) fn along(&self, edge: Edge, inward: f64) -> StrokeShape {
        let [from, to] = self.run(edge);
        let at = match edge {
            Edge::Left | Edge::Bottom => inward,
            Edge::Right | Edge::Top => self.rim(edge) - inward,
        };
        match edge {
            Edge::Left | Edge::Right => line([at, from], [at, to]),
            Edge::Bottom | Edge::Top => line([from, at], [to, at]),
        }
    }

    /// Edges, corners and relief holes.
    pub(super) fn strokes(&self) -> Vec<Stroke> {
        let mut shapes: Vec<StrokeShape> = super::EDGES.map(|edge| self.along(edge, 0.0)).into();
        for corner in CORNERS {
            if self.notched.contains(&corner) {
                shapes.extend(self.notch(corner));
            }
        }
        shapes
            .into_iter()
            .map(|shape| Stroke {
                layer: Layer::Cut,
                shape,
            })
            .collect()
    }

    fn notch(&self, corner: Corner) -> Vec<StrokeShape> {
        let [x, y] = self.crossing(corner);
        let (rim_x, rim_y) = (self.rim(corner.upright), self.rim(corner.level));
        // A hole larger than what stands beyond the flat opens the corner by itself.
        if (rim_x - x).abs() <= self.relief || (rim_y - y).abs() <= self.relief {
            return vec![StrokeShape::Circle {
                centre: point(x, y),
                radius: length(self.relief),
            }];
        }
        let outward_x = self.relief.copysign(rim_x - x);
        let outward_y = self.relief.copysign(rim_y - y);
        // The quarter that looks outward is cut away with the corner.
        let start = match (corner.upright, corner.level) {
            (Edge::Left, Edge::Bottom) => 270,
            (Edge::Right, Edge::Bottom) => 0,
            (Edge::Right, _) => 90,
            _ => 180,
        };
        vec![
            line([rim_x, y], [x + outward_x, y]),
            line([x, rim_y], [x, y + outward_y]),
            StrokeShape::Arc {
                centre: point(x, y),
                radius: length(self.relief),
                start: degrees(start),
                sweep: degrees(270),
            },
        ]
    }
}
