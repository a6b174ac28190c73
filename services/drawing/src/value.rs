//! Where the value of the marked dimension is written: beside its ring, where it covers least.

use shared_types::{Angle, Layer, StrokeShape, View};

use crate::dimension::{Drawn, Segment};
use crate::frame::Frame;
use crate::label::{Area, RADIUS_DUE};
use crate::stroke::arc_points;

/// Size of the written value, and the width of one of its characters in that size.
const HIGH: f64 = 16.0;
const CHAR: f64 = 0.68;
/// How near the border a value may stand.
const KEEP: f64 = 3.0;
/// What standing away from the ring costs, and what turning the head does.
const PAST_COSTS: f64 = 0.5;
const UPRIGHT_COSTS: f64 = 2.0;
/// What covering another ring costs: more than any line, for a number under a number is neither.
const RING_COSTS: f64 = 30.0;

/// A circle as an arc.
const FULL_TURN: Angle = Angle::from_mas(360 * 3_600_000).expect("a full turn is an angle");

/// The nominal value of the marked one, its place the middle of the text.
pub(crate) struct Value {
    pub(crate) at: [f64; 2],
    /// Half of what it covers: the line behind it is broken there, or it would read as a dash.
    pub(crate) half: [f64; 2],
    /// Written upward, along an upright line, where nothing else leaves the piece seen.
    pub(crate) upright: bool,
    pub(crate) text: String,
}

/// A line that a value should not cover, and what covering it costs.
pub(crate) struct Obstacle {
    line: Segment,
    costs: f64,
}

/// All lines of a drawing. What is measured must stay seen; a value on its own dimension line breaks the
/// line, as on any drawing.
pub(crate) fn obstacles(view: &View, drawn: &[Drawn<'_>], frame: &Frame) -> Vec<Obstacle> {
    let mut all = Vec::new();
    for stroke in &view.strokes {
        let costs = match stroke.layer {
            Layer::Cut | Layer::Section => 4.0,
            Layer::Bend | Layer::Hidden => 2.0,
        };
        let places = match stroke.shape {
            StrokeShape::Circle { centre, radius } => arc_points(&StrokeShape::Arc {
                centre,
                radius,
                start: Angle::ZERO,
                sweep: FULL_TURN,
            }),
            open => arc_points(&open),
        };
        all.extend(places.windows(2).map(|ends| Obstacle {
            line: [frame.place(ends[0]), frame.place(ends[1])],
            costs,
        }));
    }
    for one in drawn {
        let costs = if one.due { 0.7 } else { 2.0 };
        let lines = one.segments.iter().map(|line| (*line, costs));
        // Without its arrowhead a line does not say where the dimension ends.
        let tips = one.tips.iter().map(|line| (*line, 3.0));
        all.extend(
            lines
                .chain(tips)
                .map(|(line, costs)| Obstacle { line, costs }),
        );
    }
    all
}

/// The best place around a ring or past an end of its line: whole on the drawing, on as few lines and
/// rings as can be.
pub(crate) fn place(
    text: &str,
    ring: [f64; 2],
    tips: &[Segment],
    obstacles: &[Obstacle],
    frame: &Frame,
    taken: &mut Vec<Area>,
) -> Value {
    let half = [text.chars().count() as f64 * HIGH * CHAR / 2.0, HIGH / 2.0];
    let aside = RADIUS_DUE + half[0] + 4.0;
    let over = RADIUS_DUE + half[1] + 3.0;
    // Earlier ones win where nothing else decides: a value is looked for above its line, or right of it.
    let level = [
        [0.0, -over],
        [aside, 0.0],
        [-aside, 0.0],
        [0.0, over],
        [half[0], -over],
        [-half[0], -over],
        [half[0], over],
        [-half[0], over],
    ];
    let upright = [[0.0, -aside], [0.0, aside]];
    let turned = [half[1], half[0]];
    // Above the upper or below the lower end of an upright line.
    let ends = tips
        .iter()
        .filter(|[tip, back]| (tip[0] - back[0]).abs() < 1.0);
    let past = ends.map(|[tip, back]| {
        let away = (tip[1] - back[1]).signum() * (half[1] + 6.0);
        [tip[0] - ring[0], tip[1] + away - ring[1]]
    });
    let around = level
        .into_iter()
        .map(|offset| (offset, half, 0.0))
        .chain(past.map(|offset| (offset, half, PAST_COSTS)))
        .chain(
            upright
                .into_iter()
                .map(|offset| (offset, turned, UPRIGHT_COSTS)),
        );
    let mut best: Option<(f64, Area)> = None;
    for ([dx, dy], half, more) in around {
        let area = Area {
            at: kept([ring[0] + dx, ring[1] + dy], half, frame),
            half,
        };
        let lines: f64 = obstacles
            .iter()
            .filter_map(|obstacle| {
                let covered = inside(&obstacle.line, &area)?;
                Some(obstacle.costs * (0.5 + covered / HIGH))
            })
            .sum();
        let rings: f64 = taken.iter().map(|other| area.covers(other)).sum();
        let cost = more + lines + RING_COSTS * rings;
        if best.is_none_or(|(least, _)| cost < least - 0.01) {
            best = Some((cost, area));
        }
    }
    let area = best.map_or(Area { at: ring, half }, |(_, area)| area);
    taken.push(area);
    Value {
        at: area.at,
        half: area.half,
        upright: area.half[0] < area.half[1],
        text: text.to_owned(),
    }
}

fn kept(at: [f64; 2], half: [f64; 2], frame: &Frame) -> [f64; 2] {
    let keep = |place: f64, half: f64, side: f64| {
        let least = half + KEEP;
        place.clamp(least, (side - least).max(least))
    };
    [
        keep(at[0], half[0], frame.width),
        keep(at[1], half[1], frame.height),
    ]
}

/// How much of a line lies in an area, if any does.
fn inside([from, to]: &Segment, area: &Area) -> Option<f64> {
    let (mut enters, mut leaves) = (0.0_f64, 1.0_f64);
    for axis in 0..2 {
        let way = to[axis] - from[axis];
        let low = area.at[axis] - area.half[axis] - from[axis];
        let high = area.at[axis] + area.half[axis] - from[axis];
        if way.abs() < 1e-9 {
            if low > 0.0 || high < 0.0 {
                return None;
            }
            continue;
        }
        let (a, b) = (low / way, high / way);
        enters = enters.max(a.min(b));
        leaves = leaves.min(a.max(b));
    }
    if enters >= leaves {
        return None;
    }
    Some((leaves - enters) * (to[0] - from[0]).hypot(to[1] - from[1]))
}
