//! Dimensions as lines and arrowheads, and where their rings would best stand.

use shared_types::{Characteristic, DimensionShape, PartPlan, View};

use crate::frame::{Frame, dimension_line};
use crate::stroke::pair;
use crate::{Mark, Style};

/// An arrowhead is slim, like a scriber's point.
const HEAD_LONG: f64 = 7.0;
const HEAD_HALF: f64 = 1.7;
/// The arrowheads of the marked dimension show from farther away.
const HEAD_DUE: f64 = 1.5;
/// How far a witness line passes the dimension line, and how far it keeps from the piece.
const PASS: f64 = 2.5;
const KEEP: f64 = 1.5;
/// How far a dimension line goes on where its arrowheads stand outside.
const TAIL: f64 = 13.0;

/// One dimension line; several characteristics share it where they are measured alike.
pub(crate) struct Drawn<'p> {
    pub(crate) lines: String,
    /// The same lines one by one, for what must keep clear of them.
    pub(crate) segments: Vec<Segment>,
    /// The arrowheads, from tip to back.
    pub(crate) tips: Vec<Segment>,
    pub(crate) heads: String,
    pub(crate) due: bool,
    pub(crate) rings: Vec<Ring<'p>>,
    /// Where the ring points to.
    pub(crate) anchor: [f64; 2],
    /// Where the first ring would best stand, and which way the others follow.
    pub(crate) best: [f64; 2],
    pub(crate) follow: [f64; 2],
    /// Whether the rings stand on the line itself, centred on it.
    pub(crate) centred: bool,
}

/// A straight line between two places of the drawing.
pub(crate) type Segment = [[f64; 2]; 2];

/// One characteristic of a dimension line.
pub(crate) struct Ring<'p> {
    pub(crate) characteristic: &'p Characteristic,
    pub(crate) due: bool,
    pub(crate) mark: Option<Mark>,
    pub(crate) value: Option<String>,
}

/// The view's dimensions; those of the same place joined.
pub(crate) fn gather<'p>(
    view: &View,
    plan: &'p PartPlan,
    style: &Style<'_>,
    frame: &Frame,
) -> Vec<Drawn<'p>> {
    let mut shapes: Vec<(DimensionShape, Vec<Ring<'p>>)> = Vec::new();
    for dimension in &view.dimensions {
        let Some(characteristic) = plan.characteristic(&dimension.characteristic) else {
            continue;
        };
        let due = style.due == Some(&characteristic.id);
        let ring = Ring {
            characteristic,
            due,
            mark: (style.marks)(&characteristic.id),
            value: due.then(|| shared_types::show(characteristic.nominal, style.units).to_string()),
        };
        match shapes
            .iter_mut()
            .find(|(shape, _)| *shape == dimension.shape)
        {
            Some((_, rings)) => rings.push(ring),
            None => shapes.push((dimension.shape, vec![ring])),
        }
    }
    shapes
        .into_iter()
        .map(|(shape, rings)| draw(&shape, rings, frame))
        .collect()
}

fn draw<'p>(shape: &DimensionShape, rings: Vec<Ring<'p>>, frame: &Frame) -> Drawn<'p> {
    let due = rings.iter().any(|ring| ring.due);
    let mut pen = Pen::new(due);
    let count = f64::from(u32::try_from(rings.len()).unwrap_or(1));
    let room = 2.0 * HEAD_LONG + 22.0 * count;
    let (anchor, best, follow, centred) = pen.shape(shape, room, frame);
    Drawn {
        lines: pen.lines,
        segments: pen.segments,
        tips: pen.tips,
        heads: pen.heads,
        due,
        rings,
        anchor,
        best,
        follow,
        centred,
    }
}

/// Lines and arrowheads of a dimension marked in a window of its own.
pub(crate) fn marked(shape: &DimensionShape, frame: &Frame) -> (String, String) {
    let mut pen = Pen::new(true);
    let _standing = pen.shape(shape, 0.0, frame);
    (pen.lines, pen.heads)
}

/// Where rings go: what they point to, where the first stands, which way others follow, whether they
/// stand on the line, centred.
type Standing = ([f64; 2], [f64; 2], [f64; 2], bool);

struct Pen {
    due: bool,
    lines: String,
    segments: Vec<Segment>,
    tips: Vec<Segment>,
    heads: String,
}

impl Pen {
    const fn new(due: bool) -> Self {
        Self {
            due,
            lines: String::new(),
            segments: Vec::new(),
            tips: Vec::new(),
            heads: String::new(),
        }
    }

    /// `room` is what a linear dimension needs to carry its rings on its line.
    fn shape(&mut self, shape: &DimensionShape, room: f64, frame: &Frame) -> Standing {
        match *shape {
            DimensionShape::Linear { from, to, offset } => {
                let ends = dimension_line(from, to, offset).map(|end| frame.place(end));
                self.witness(frame.point(from), ends[0]);
                self.witness(frame.point(to), ends[1]);
                self.linear(ends, room)
            }
            DimensionShape::Diameter { centre, radius } => {
                self.diameter(frame.point(centre), frame.length(radius))
            }
            DimensionShape::Angle { vertex, from, to } => {
                self.angle(frame.point(vertex), frame.point(from), frame.point(to))
            }
        }
    }

    fn line(&mut self, from: [f64; 2], to: [f64; 2]) {
        self.lines
            .push_str(&format!("M{}L{}", pair(from), pair(to)));
        self.segments.push([from, to]);
    }

    /// An arrowhead with its tip at `tip`, pointing along `way`.
    fn head(&mut self, tip: [f64; 2], way: [f64; 2]) {
        let size = if self.due { HEAD_DUE } else { 1.0 };
        let back = along(tip, way, -HEAD_LONG * size);
        self.tips.push([tip, back]);
        let side = [-way[1], way[0]];
        let (a, b) = (
            along(back, side, HEAD_HALF * size),
            along(back, side, -HEAD_HALF * size),
        );
        self.heads
            .push_str(&format!("M{}L{}L{}Z", pair(tip), pair(a), pair(b)));
    }

    fn witness(&mut self, piece: [f64; 2], end: [f64; 2]) {
        let (way, long) = direction(piece, end);
        if long > KEEP {
            self.line(along(piece, way, KEEP), along(end, way, PASS));
        }
    }

    fn linear(&mut self, [from, to]: [[f64; 2]; 2], room: f64) -> Standing {
        let (way, long) = direction(from, to);
        let back = way.map(|part| -part);
        let middle = along(from, way, long / 2.0);
        if long >= room {
            self.line(from, to);
            self.head(from, back);
            self.head(to, way);
            // Rings on a line are read like text, from the left or from the top.
            let follow = if way[0] + way[1] < 0.0 { back } else { way };
            return (middle, middle, follow, true);
        }
        let size = if self.due { HEAD_DUE } else { 1.0 };
        if long >= 2.0 * HEAD_LONG * size + 4.0 {
            self.line(along(from, back, TAIL), to);
            self.head(from, back);
            self.head(to, way);
        } else {
            // Too short for arrowheads between: they stand outside and point at what is measured.
            self.line(along(from, back, TAIL), along(to, way, TAIL * 0.8));
            self.head(from, way);
            self.head(to, back);
        }
        let stand = along(from, back, TAIL);
        (stand, stand, back, false)
    }

    fn diameter(&mut self, centre: [f64; 2], radius: f64) -> Standing {
        let way = [
            std::f64::consts::FRAC_1_SQRT_2,
            -std::f64::consts::FRAC_1_SQRT_2,
        ];
        let back = way.map(|part| -part);
        let (near, far) = (along(centre, way, radius), along(centre, back, radius));
        let stand = along(near, way, TAIL);
        if radius > HEAD_LONG * HEAD_DUE {
            self.line(far, stand);
            self.head(near, way);
            self.head(far, back);
        } else {
            self.line(near, stand);
            self.head(near, back);
        }
        (stand, stand, way, false)
    }

    fn angle(&mut self, vertex: [f64; 2], from: [f64; 2], to: [f64; 2]) -> Standing {
        let (first, long) = direction(vertex, from);
        let (second, other) = direction(vertex, to);
        let radius = 0.75 * long.min(other);
        // On the screen y goes down, so that counter-clockwise on the part is negative here.
        let start = first[1].atan2(first[0]);
        let mut sweep = second[1].atan2(second[0]) - start;
        while sweep > 0.0 {
            sweep -= std::f64::consts::TAU;
        }
        let on = |part: f64| {
            let at = start + sweep * part;
            along(vertex, [at.cos(), at.sin()], radius)
        };
        for (step, part) in (0..=32).map(|step| (step, f64::from(step) / 32.0)) {
            self.lines.push(if step == 0 { 'M' } else { 'L' });
            self.lines.push_str(&pair(on(part)));
            self.segments.push([on(part), on(part + 1.0 / 32.0)]);
        }
        for (tip, inner) in [(on(0.0), on(0.12)), (on(1.0), on(0.88))] {
            let (way, _) = direction(inner, tip);
            self.head(tip, way);
        }
        for leg in [from, to] {
            let (way, long) = direction(vertex, leg);
            self.line(along(vertex, way, long * 0.1), leg);
        }
        let middle = on(0.5);
        let (inward, _) = direction(middle, vertex);
        (
            middle,
            along(middle, inward, -14.0),
            inward.map(|part| -part),
            false,
        )
    }
}

/// A unit vector from one place to another, and how far it is.
pub(crate) fn direction(from: [f64; 2], to: [f64; 2]) -> ([f64; 2], f64) {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let long = dx.hypot(dy);
    if long < 1e-9 {
        ([1.0, 0.0], 0.0)
    } else {
        ([dx / long, dy / long], long)
    }
}

pub(crate) fn along([x, y]: [f64; 2], way: [f64; 2], far: f64) -> [f64; 2] {
    [x + way[0] * far, y + way[1] * far]
}
