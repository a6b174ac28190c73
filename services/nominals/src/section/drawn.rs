//! A section drawn: the strip with its tangent lines, and the cut face.

use shared_types::{Dimension, DimensionShape, Layer, Stage, Stroke, View};

use super::formed::{OVERALL, Overall, overall};
use super::solved::Solved;
use super::{Turn, hole};
use crate::pen::{self, line, linear, point};

/// Dimension lines stand this part of the view's larger side away.
const STEP: f64 = 0.09;

pub(super) fn views(solved: &Solved<'_>) -> Vec<View> {
    vec![blank(solved), formed(solved)]
}

fn blank(solved: &Solved<'_>) -> View {
    let (width, length) = (solved.developed().pm(), solved.section.length.pm() as f64);
    let step = STEP * width.max(length);
    let corners = [[0.0, 0.0], [width, 0.0], [width, length], [0.0, length]];
    let mut strokes: Vec<Stroke> = (0..4)
        .map(|at| Stroke {
            layer: Layer::Cut,
            shape: line(corners[at], corners[(at + 1) % 4]),
        })
        .collect();
    let mut dimensions = vec![
        linear("blank.width", corners[0], corners[1], -step),
        linear("blank.length", corners[1], corners[2], -step),
    ];
    let count = solved.bends.len() as f64;
    for (index, solid) in solved.bends.iter().enumerate() {
        let first = solved.line(index).pm();
        for x in [first, first + solid.allowance.pm()] {
            strokes.push(Stroke {
                layer: Layer::Bend,
                shape: line([x, 0.0], [x, length]),
            });
        }
        // One above the other, so that lines from the same edge do not lie on one another.
        let y = length * (index as f64 + 1.0) / (count + 1.0);
        let id = format!("blank.line.{}", index + 1);
        dimensions.push(linear(&id, [0.0, y], [first, y], 0.0));
    }
    let (holes, placed) = hole::drawn(solved);
    strokes.extend(holes);
    dimensions.extend(placed);
    View {
        stage: Stage::Blank,
        title: "blank, the side down that is down in the section".to_owned(),
        strokes,
        dimensions: dimensions.into_iter().flatten().collect(),
    }
}

/// The cut face at the stage that was solved.
pub(super) fn formed(solved: &Solved<'_>) -> View {
    let profile = &solved.profile;
    let [left, right, bottom, top] = profile.bounds();
    let step = STEP * (right - left).max(top - bottom);
    let mut dimensions: Vec<Option<Dimension>> = Vec::new();
    let all = solved.stage == Stage::Formed;
    for leg in (0..profile.legs.len()).filter(|leg| all || solved.is_trimmed(*leg)) {
        dimensions.push(of_leg(solved, leg, step));
    }
    for bend in (0..solved.bends.len()).filter(|_| all) {
        dimensions.push(angle(solved, bend));
    }
    let trimmed = (0..profile.legs.len()).any(|leg| solved.is_trimmed(leg));
    for over in OVERALL
        .into_iter()
        .filter(|over| (all || trimmed) && overall(solved, *over).is_some())
    {
        let id = format!("{}.{}", solved.stage, over.id());
        dimensions.push(match over {
            Overall::Along => linear(&id, [left, bottom], [right, bottom], -2.2 * step),
            Overall::Square => linear(&id, [right, bottom], [right, top], -2.2 * step),
        });
    }
    let strokes = profile.strokes().into_iter().map(|shape| Stroke {
        layer: Layer::Section,
        shape,
    });
    View {
        stage: solved.stage,
        title: if all { "section" } else { "section, trimmed" }.to_owned(),
        strokes: strokes.collect(),
        dimensions: dimensions.into_iter().flatten().collect(),
    }
}

/// The trimmed section from above, where its length is trimmed.
pub(super) fn length(solved: &Solved<'_>) -> Option<View> {
    solved.section.finished.length?;
    let [left, right, ..] = solved.profile.bounds();
    let length = solved.section.length.pm() as f64;
    let step = STEP * (right - left).max(length);
    let corners = [[left, 0.0], [right, 0.0], [right, length], [left, length]];
    let strokes = (0..4).map(|at| Stroke {
        layer: Layer::Cut,
        shape: line(corners[at], corners[(at + 1) % 4]),
    });
    let dimension = linear("trimmed.length", corners[1], corners[2], -step);
    Some(View {
        stage: solved.stage,
        title: "section from above, trimmed to length".to_owned(),
        strokes: strokes.collect(),
        dimensions: dimension.into_iter().collect(),
    })
}

fn of_leg(solved: &Solved<'_>, index: usize, step: f64) -> Option<Dimension> {
    let id = format!("{}.leg.{}", solved.stage, index + 1);
    let (legs, t) = (&solved.profile.legs, solved.profile.thickness);
    let leg = &legs[index];
    let [before, after] = solved.ends(index);
    if let Some(neighbour) = solved.is_square_to_neighbour(index) {
        // From the neighbour's outer face up (or down) to the farther corner of the free edge.
        let solid = before.or(after)?;
        let along = if before.is_some() { leg.flat } else { 0.0 };
        let on = &legs[neighbour];
        let (face, sign) = match solid.turn {
            Turn::Up => (0.0, 1.0),
            Turn::Down => (t, -1.0),
        };
        let height = |place: [f64; 2]| {
            let from = on.place(0.0, face);
            let up = on.up();
            sign * ((place[0] - from[0]) * up[0] + (place[1] - from[1]) * up[1])
        };
        let tips = [0.0, t].map(|up| leg.place(along, up));
        let tip = if height(tips[0]) > height(tips[1]) {
            tips[0]
        } else {
            tips[1]
        };
        let up = on.up();
        let far = height(tip) * sign;
        let foot = [tip[0] - far * up[0], tip[1] - far * up[1]];
        // Away from the neighbour: right of the way up beyond a last leg, left of it before a first.
        let away = if before.is_some() { -sign } else { sign };
        return linear(&id, foot, tip, away * step);
    }
    let (lower, outward) = match before.or(after)?.turn {
        Turn::Up => (0.0, -step),
        Turn::Down => (t, step),
    };
    let reach =
        |solid: Option<&super::solved::Solid>| solid.map_or(0.0, |solid| solid.reach().pm());
    let from = leg.place(-reach(before), lower);
    let to = leg.place(leg.flat + reach(after), lower);
    linear(&id, from, to, outward)
}

fn angle(solved: &Solved<'_>, bend: usize) -> Option<Dimension> {
    let (legs, t) = (&solved.profile.legs, solved.profile.thickness);
    let solid = &solved.bends[bend];
    let (one, other) = (&legs[bend], &legs[bend + 1]);
    let setback = solid.setback.pm();
    let outer = match solid.turn {
        Turn::Up => 0.0,
        Turn::Down => t,
    };
    let vertex = one.place(one.flat + setback, outer);
    let reach = 0.8 * (one.flat.min(other.flat) + setback);
    let away = |way: [f64; 2], far: f64| point(vertex[0] + far * way[0], vertex[1] + far * way[1]);
    let (back, on) = (away(one.way, -reach), away(other.way, reach));
    let (from, to) = match solid.turn {
        Turn::Up => (on, back),
        Turn::Down => (back, on),
    };
    let shape = DimensionShape::Angle {
        vertex: point(vertex[0], vertex[1]),
        from,
        to,
    };
    pen::dimension(&format!("formed.angle.{}", bend + 1), shape)
}
