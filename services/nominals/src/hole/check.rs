//! Where holes contradict the outline they lie in, or one another.

use super::{Hole, Row};
use crate::draft::mm;
use crate::form::At;
use crate::measure::Measure;
use crate::polygon::Polygon;

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
        let key = hole.group.split('.').next().unwrap_or_default();
        let outside = hole.spine().iter().any(|place| !polygon.contains(*place));
        let cut = (0..polygon.count()).find(|edge| hole.clear_of_edge(polygon, *edge) <= 0.0);
        let [from, to] = hole.spine();
        let middle = if from == to { "centre" } else { "centre line" };
        if outside {
            found.push((
                hole.at,
                format!(
                    "{family}.{key}: the {middle} of {} lies outside the outline, expected it inside",
                    hole.called
                ),
            ));
        } else if let Some(edge) = cut {
            let away = hole.clear_of_edge(polygon, edge) + hole.room();
            let what = if hole.room() > hole.radius() {
                "half the breadth of its bend"
            } else {
                "its radius"
            };
            found.push((
                hole.at,
                format!(
                    "{family}.{key}: the {middle} of {} lies {} from {}, so that it breaks through, expected more than \
                     {what} of {}",
                    hole.called,
                    mm(Measure::computed(away)),
                    named(edge),
                    mm(Measure::computed(hole.room()))
                ),
            ));
        }
        for earlier in &holes[..index] {
            if hole.clear_of_hole(earlier) <= 0.0 {
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
